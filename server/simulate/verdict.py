"""The answer in one sentence."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from server.domain.lengths import dark_words, span_words, wait_words
from server.domain.scenario import Scenario
from server.physics.fuel_guess import GUESS_SHARE
from server.simulate.alike import folded
from server.simulate.begun_dark import begun_dark
from server.simulate.fuel_need import FuelNeed
from server.simulate.fuel_untold import UntoldFuel
from server.simulate.harm_told import HarmTold
from server.simulate.outside import not_run_words, partly_run_words
from server.simulate.pit_over import PitOver
from server.simulate.results import CircuitService, LimitResult, Verdict
from server.simulate.weighed import GRAVE, no_power_clause, soft_harms

LEAST_WAIT_MIN = 1.0
"""Shorter waits, such as for a generator to start, are not told. [min]"""

_HARMS_TOLD = 3
MOST_NAMED = 3
_FINE_STEP_S = 60
ON_THE_CLOCK = "the harm clock lists them"


def goes_without(service: tuple[CircuitService, ...]) -> tuple[CircuitService, ...]:
    """The circuits that asked for power for a minute or more in all and got none."""
    return tuple(s for s in service if s.unserved_min >= LEAST_WAIT_MIN)


def moment(at: datetime | None) -> str:
    """A local time as people say it; nothing for none.

    >>> moment(datetime(2026, 11, 26, 17, 40))
    'Thu 26 Nov 17:40'
    """
    return "" if at is None else f"{at:%a} {at.day} {at:%b} {at:%H:%M}"


_AT_ONCE_H = 0.02
"""What is so within a minute of an outage has not come of it."""


def into_outage(scenario: Scenario, at: datetime) -> str:
    """A moment by the clock, with the hours since the utility went out, or was back, where it has.

    Counted from the last outage that began by then, as the harm clock counts. What stands so as a
    run begins inside an outage came before it, ``by`` then where its hour is not known.
    """
    begun = [w for w in scenario.whole_outages if w.start <= at]
    if not begun:
        return moment(at)
    last = max(begun, key=lambda w: w.start)
    before = "before this run begins, " if scenario.stood_before(at) else ""
    if at > last.end:
        after_h = (at - last.end).total_seconds() / 3600.0
        return f"{before}{after_h:.1f} h after the utility was back, {moment(at)}"
    hours = (at - last.start).total_seconds() / 3600.0
    by = "by " if before and at >= scenario.start else ""
    if hours < _AT_ONCE_H and not before:
        return f"already as the utility goes out, {moment(at)}"
    return f"{before}{by}{hours:.1f} h into the outage, {moment(at)}"


def _rank(result: LimitResult) -> tuple[bool, float]:
    return result.point.kind != "circuit_breaker", result.worst.percent


def _decisive(limits: tuple[LimitResult, ...]) -> tuple[LimitResult, ...]:
    """Shared limits that what is planned can move; those of solar only where there is no other.

    A breaker of solar carries what the sun gives, a share of it that its sizing set once.
    """
    shared = tuple(r for r in limits if r.point.kind != "circuit_breaker")
    return tuple(r for r in shared if r.point.kind != "solar_breaker") or shared


def _on(result: LimitResult) -> str:
    """Which leg, but for a neutral, which is neither."""
    return "" if result.point.kind == "feeder_neutral" else f" on {result.worst.leg}"


def judge(
    scenario: Scenario,
    limits: tuple[LimitResult, ...],
    service: tuple[CircuitService, ...],
    *,
    fuel: tuple[FuelNeed, ...] = (),
    pits: tuple[PitOver, ...] = (),
    harms: tuple[HarmTold, ...] = (),
    cars_short: int = 0,
    left: tuple[str, ...] = (),
    harmless_before: bool = False,
    uncounted: tuple[str, ...] = (),
    untold: tuple[UntoldFuel, ...] = (),
    tanks: frozenset[str] = frozenset(),
) -> Verdict:
    """Holds when nobody and nothing comes to harm, no limit is passed and no set runs dry.

    A medical device that is dark too long is told first, then other harms as they come, then
    limits, fuel and other circuits. Harms that fail nothing are told as what holding costs.
    ``cars_short`` chargers have a car that leaves with less than was wanted; ``left`` is what
    outages before the run left, ``harmless_before`` where nothing failed in them; ``uncounted``
    says what of the site it counts nothing of, ``untold`` which sets burn fuel nobody told of,
    ``tanks`` which circuits heat water.
    """
    dry = tuple(f for f in fuel if f.runs_dry)
    gaps_min = (s.dead_min if s.in_use_only else s.longest_gap_min for s in service)
    dark_min = min(gaps_min, default=0.0)
    over = tuple(sorted((r for r in limits if r.status == "over"), key=_rank, reverse=True))
    gaps = tuple(sorted((s for s in service if s.gap_exceeded), key=_gap_rank))
    worst = over[0] if over else max(_decisive(limits), key=_rank, default=None)
    idle = worst is not None and worst.worst.peak_a == 0.0
    harmed = _harmed(scenario, pits, harms, {g.circuit_id for g in gaps if g.device})
    faults = _faults(scenario, over, harmed, dry, gaps)
    not_run = not_run_words(scenario)
    if idle and dark_min > 0.0:
        faults = (*faults, f"No circuit has power for {span_words(dark_min)}.")
    rest, instead, buts = (
        "",
        "",
        (
            *(one.clause for one in untold),
            *_buts(
                scenario,
                service,
                harms,
                cars_short,
                left,
                tanks=tanks,
                harmless_before=harmless_before,
            ),
        ),
    )
    if faults:
        rest, details = faults[0], []
        if idle:
            details.append("No source carries the house while the utility is out.")
        elif not over:
            details.append("Every limit in amps holds.")
    elif worst is None:
        instead, details = "Nothing to judge yet: the site has no source and no panel.", []
    elif idle:
        buts = ("nothing draws power in this scenario",)
        details = ["Add appliances to the circuits to see what they need."]
    else:
        top = worst.worst
        rest = (
            f"The nearest limit is {worst.point.name}: "
            f"{top.peak_a:.1f} A of {worst.point.leg_rating_a:.1f} A{_on(worst)}, {moment(top.at)}."
        )
        details = ["Every service, feeder, switch, panel and generator limit holds."]
        details = [] if not_run else details
    details = [guessed_burn(scenario, f) for f in fuel if f.hangs_on_guess] + details
    details = [*begun_dark(scenario), *(one.note for one in untold), *details, *uncounted]
    if faults and harms:
        details += _besides(scenario, harms)
    if faults and left:
        details = [f"It begins with what was before it: {'; '.join(left)}.", *details]
    if scenario.step_s > _FINE_STEP_S:
        details.append(
            f"Peaks here are means of {scenario.step_s // 60} min, and shorter ones are not seen: "
            "by steps of 60 s the answer can be another."
        )
    if any(one.kind == "pipes" for one in harms):
        details.append(
            "Pipes that freeze give no water and may burst as they thaw; this run goes on as if "
            "they did not: shut the water off at the main and drain them before."
        )
    details += [
        f"{f.name} eats into its reserve of {f.reserve_gal:.1f} gal: {f.least_gal:.1f} gal are "
        "left at the least."
        for f in fuel
        if f.eats_reserve and not f.runs_dry
    ]
    details += [
        f"The tank of {f.name} had no room for {f.left_over_gal:.1f} gal delivered."
        for f in fuel
        if f.left_over_gal > 0.05
    ]
    earlier_gal = sum(d.gallons for d in scenario.deliveries if d.at < scenario.start)
    if fuel and earlier_gal:
        details.append(
            f"{earlier_gal:.1f} gal delivered before this run begins are not counted: what is in "
            "the tank then is told by the scenario’s fuel at the start."
        )
    if not_run:
        instead, rest = not_run, faults[0] if faults else ""
    return Verdict(
        fits=not faults and not not_run,
        rest=rest,
        notes=tuple(details),
        faults=faults,
        worst=worst,
        over=over,
        gaps=gaps,
        pits=pits,
        harms=harms,
        buts=() if faults else buts,
        instead=instead,
    )


def _buts(
    scenario: Scenario,
    service: tuple[CircuitService, ...],
    harms: tuple[HarmTold, ...],
    cars_short: int,
    left: tuple[str, ...],
    *,
    tanks: frozenset[str],
    harmless_before: bool,
) -> tuple[str, ...]:
    """What some pay for its holding, the gravest harm in front, one of minutes after circuits.

    A circuit that only its load manager held off waits, with power at its breaker.
    """
    without = goes_without(service)
    weighty, trifles = soft_harms(scenario, harms)
    found = [_begins_with(left)] if left else []
    found += _soft_words(scenario, (*weighty, *trifles)) if weighty else ()
    if without and all(0.0 < s.held_min >= s.unserved_min - LEAST_WAIT_MIN for s in without):
        found.append("a load manager makes some circuits wait")
    elif without:
        found.append(no_power_clause(without, tanks))
    found += _soft_words(scenario, trifles) if not weighty else ()
    if cars_short:
        cars = "a car leaves" if cars_short == 1 else f"{cars_short} cars leave"
        found.append(f"{cars} with less than was wanted")
    found += filter(None, (partly_run_words(scenario),))
    over = any(w.end <= scenario.start for w in scenario.outages_before)
    if over and not (left or harmless_before):
        found.append("what the outage before it did is told by a run that holds it")
    return tuple(found)


def _besides(scenario: Scenario, harms: tuple[HarmTold, ...]) -> tuple[str, ...]:
    """Harms that fail nothing, where something else does: the gravest, and how many more."""
    weighty, trifles = soft_harms(scenario, harms)
    said = _soft_words(scenario, (*weighty, *trifles))
    return tuple(f"Besides, {one}." for one in said)


def _soft_words(scenario: Scenario, soft: tuple[HarmTold, ...]) -> tuple[str, ...]:
    """The first of such harms with its moment, and how many more there are."""
    if not soft:
        return ()
    first, many = soft[0], len(soft) - 1
    more = f", with {many} more harm{'s' if many > 1 else ''} on the harm clock" if many else ""
    since = ", from" if first.kind == "water" else ""
    return (f"{first.clause}{since} {into_outage(scenario, first.at)}{more}",)


def _begins_with(left: tuple[str, ...]) -> str:
    """What a run begins with, no more than are told of harms.

    >>> _begins_with(("House at 36.7 °F", "food in Freezer unsafe"))
    'it begins with House at 36.7 °F and food in Freezer unsafe'
    """
    told, more = list(left[:_HARMS_TOLD]), len(left) - _HARMS_TOLD
    if more > 0:
        told.append(f"{more} more on the harm clock")
    *first, last = told
    return f"it begins with {', '.join(first)} and {last}" if first else f"it begins with {last}"


def _gap_rank(fared: CircuitService) -> tuple[bool, float]:
    return not fared.device, -fared.longest_gap_min


def _late_words(scenario: Scenario, need: FuelNeed) -> str:
    """That not all of the fuel of a run is there as it first ends; empty where it is."""
    if need.used_gal <= need.there_gal:
        return ", but come too late"
    due = scenario.deliveries_to(need.generator_id)
    later = any(need.dry_at is not None and d.at > need.dry_at for d in due)
    return ", with what comes after that" if later else ""


def _faults(
    scenario: Scenario,
    over: tuple[LimitResult, ...],
    harmed: list[str],
    dry: tuple[FuelNeed, ...],
    gaps: tuple[CircuitService, ...],
) -> tuple[str, ...]:
    """What fails, each in a sentence or two, what harms first in front."""
    devices = tuple(g for g in gaps if g.device)
    others = tuple(g for g in gaps if not g.device)
    found = [*(dark_sentence(g) for g in devices), *harmed]
    if over:
        found.append(_passed(over))
    found += [
        f"{f.name} runs out of fuel {_times(f)}{into_outage(scenario, f.dry_at)}, and stops: "
        f"it needs {f.needs} in this scenario; {f.there_gal:.1f} gal are there"
        f"{_late_words(scenario, f)}."
        for f in dry
        if f.dry_at is not None
    ]
    if others:
        found.append(dark_sentence(others[0]))
    if len(others) > 1:
        found.append(more_dark(others[1:]))
    return tuple(found)


def _times(need: FuelNeed) -> str:
    return f"{len(need.again_at) + 1} times, first " if need.again_at else ""


def more_dark(others: Sequence[CircuitService]) -> str:
    """Which circuits besides the one told are dark too long, counted where they are many."""
    are, they = ("circuits are", "they") if len(others) > 1 else ("circuit is", "it")
    few = len(others) <= MOST_NAMED
    who = f": {', '.join(one.with_what for one in others)}" if few else ""
    return f"{len(others)} other {are} dark longer than {they} can wait too{who}."


def _harmed(
    scenario: Scenario,
    pits: tuple[PitOver, ...],
    harms: tuple[HarmTold, ...],
    told: set[str],
) -> list[str]:
    """Pits that run over and the other harms that fail, as they come; not a device told before.

    Of more than are told the first is, and then the gravest.
    """
    found = [
        (
            pit.at,
            GRAVE.index("sump"),
            f"The pit of {pit.name} runs over {into_outage(scenario, pit.at)}: {pit.on_floor}.",
        )
        for pit in pits
    ]
    found += [
        (
            one.at,
            GRAVE.index(one.kind),
            f"{one.clause}{', from' if one.kind == 'water' else ''} "
            f"{into_outage(scenario, one.at)}{f': {one.why}' if one.why else ''}.",
        )
        for one in harms
        if one.fails and not (one.kind == "medical" and one.circuit_id in told)
    ]
    first, rest = sorted(found)[:1], sorted(found)[1:]
    gravest = sorted(rest, key=lambda one: (one[1], one[0]))[: _HARMS_TOLD - 1]
    words = [text for _, _, text in (*first, *sorted(gravest))]
    more = len(found) - len(words)
    if more > 0:
        come = "harm comes" if more == 1 else "harms come"
        words.append(f"{more} more {come}; {ON_THE_CLOCK}.")
    return words


def guessed_burn(scenario: Scenario, need: FuelNeed) -> str:
    """That the answer hangs on a guessed burn, and what it would be by the low and the high one."""
    at = need.dry_by_high_at
    ends = "" if at is None else into_outage(scenario, at)
    share = f"{GUESS_SHARE * 100:.0f} %"
    return (
        f"What {need.name} burns is a guess: by the low guess, {share} less, its fuel lasts to the "
        f"end; by the high, {share} more, it ends {ends}. Enter three points of its sheet first."
    )


def _passed(over: tuple[LimitResult, ...]) -> str:
    first, *others = folded(over)
    result, top = first.result, first.result.worst
    minutes = max(leg.minutes_over_100 for leg in result.legs)
    along = f" ({first.along})" if first.others else ""
    words = (
        f"{result.point.name} must carry {top.peak_a:.1f} A{_on(result)} at {moment(top.at)}; "
        f"its limit is {result.point.leg_rating_a:.1f} A{along}. Over for {span_words(minutes)} "
        "in all."
    )
    if others:
        count = len(others)
        words += f" {count} other limit{'s are' if count > 1 else ' is'} passed too."
    return words


def dark_sentence(fared: CircuitService) -> str:
    """How long a circuit is dark, and how long it can wait."""
    waits = wait_words(
        fared.bears_min,
        max(fared.longest_gap_min, fared.drawn_min),
        battery_min=fared.battery_min,
    )
    dark = dark_words(
        fared.longest_gap_min, fared.dark_min, fared.drawn_min, in_use_only=fared.in_use_only
    )
    return f"{fared.subject} is without power for {dark}{fared.while_words}; {waits}."
