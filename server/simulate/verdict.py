"""The answer in one sentence."""

from __future__ import annotations

from datetime import datetime

from server.domain.lengths import dark_words, span_words, wait_words
from server.domain.scenario import Scenario
from server.physics.fuel_guess import GUESS_SHARE
from server.simulate.alike import folded
from server.simulate.pit_over import PitOver
from server.simulate.results import CircuitService, FuelNeed, LimitResult, Verdict

LEAST_WAIT_MIN = 1.0
"""Shorter waits, such as for a generator to start, are not told. [min]"""


def goes_without(service: tuple[CircuitService, ...]) -> tuple[CircuitService, ...]:
    """The circuits that asked for power for a minute or more in all and got none."""
    return tuple(s for s in service if s.unserved_min >= LEAST_WAIT_MIN)


def moment(at: datetime | None) -> str:
    """A local time as people say it; nothing for none.

    >>> moment(datetime(2026, 11, 26, 17, 40))
    'Thu 26 Nov 17:40'
    """
    return "" if at is None else f"{at:%a} {at.day} {at:%b} {at:%H:%M}"


def into_outage(scenario: Scenario, at: datetime) -> str:
    """A moment by the clock, with the hours since the utility went out where it has.

    Counted from the last outage that began by then, as the harm clock counts.
    """
    begun = [w.start for w in scenario.outages if w.start <= at]
    if not begun:
        return moment(at)
    hours = (at - max(begun)).total_seconds() / 3600.0
    return f"{hours:.1f} h into the outage, {moment(at)}"


def _rank(result: LimitResult) -> tuple[bool, float]:
    return result.point.kind != "circuit_breaker", result.worst.percent


def _on(result: LimitResult) -> str:
    """Which leg, but for a neutral, which is neither."""
    return "" if result.point.kind == "feeder_neutral" else f" on {result.worst.leg}"


def judge(
    scenario: Scenario,
    limits: tuple[LimitResult, ...],
    service: tuple[CircuitService, ...],
    fuel: tuple[FuelNeed, ...] = (),
    pits: tuple[PitOver, ...] = (),
    *,
    cars_short: int = 0,
) -> Verdict:
    """Holds when no limit is passed, no pit over, nothing dark too long, and no set runs dry.

    A medical device that is dark too long is told first, then limits, pits, fuel and other
    circuits. ``cars_short`` chargers have a car that leaves with less than was wanted.
    """
    dry = tuple(f for f in fuel if f.runs_dry)
    gaps_min = (s.dead_min if s.in_use_only else s.longest_gap_min for s in service)
    dark_min = min(gaps_min, default=0.0)
    over = tuple(sorted((r for r in limits if r.status == "over"), key=_rank, reverse=True))
    gaps = tuple(sorted((s for s in service if s.gap_exceeded), key=_gap_rank))
    shared = [r for r in limits if r.point.kind != "circuit_breaker"]
    worst = over[0] if over else max(shared, key=_rank, default=None)
    dark = worst is not None and worst.worst.peak_a == 0.0 and dark_min > 0.0
    faults = _faults(scenario, over, pits, dry, gaps)
    if faults:
        sentence, details = f"Does not hold. {faults[0]}", list(faults[1:])
        if not over:
            details.append("Every limit in amps holds.")
    elif worst is None:
        sentence, details = "Nothing to judge yet: the site has no source and no panel.", []
    elif dark:
        sentence = f"Does not hold. No circuit has power for {span_words(dark_min)}."
        details = ["No source carries the house while the utility is out."]
    elif worst.worst.peak_a == 0.0:
        sentence = "Holds, but nothing draws power in this scenario."
        details = ["Add appliances to the circuits to see what they need."]
    else:
        top = worst.worst
        sentence = (
            f"{_holds(service, cars_short)} The nearest limit is {worst.point.name}: "
            f"{top.peak_a:.1f} A of {worst.point.leg_rating_a:.1f} A{_on(worst)}, {moment(top.at)}."
        )
        details = ["Every service, feeder, switch, panel and generator limit holds."]
    details = [_guessed(scenario, f) for f in fuel if f.hangs_on_guess] + details
    details += [
        f"{f.name} eats into its reserve of {f.reserve_gal:.1f} gal."
        for f in fuel
        if f.eats_reserve and not f.runs_dry
    ]
    details += [
        f"The tank of {f.name} had no room for {f.left_over_gal:.1f} gal delivered."
        for f in fuel
        if f.left_over_gal > 0.05
    ]
    return Verdict(
        fits=not faults and not dark,
        sentence=sentence,
        detail=" ".join(details),
        faults=(sentence.partition(". ")[2],) if dark and not faults else faults,
        worst=worst,
        over=over,
        gaps=gaps,
        pits=pits,
    )


def _holds(service: tuple[CircuitService, ...], cars_short: int) -> str:
    """That it holds, and what some circuits pay for it.

    A circuit that only its load manager held off waits, with power at its breaker.
    """
    without = goes_without(service)
    cars = "a car leaves" if cars_short == 1 else f"{cars_short} cars leave"
    short = f"{cars} with less than was wanted" if cars_short else ""
    if not without:
        return f"Holds, but {short}." if short else "Holds."
    also = f", and {short}" if short else ""
    if all(s.unserved_min <= s.held_min + LEAST_WAIT_MIN for s in without):
        return f"Holds, but a load manager makes some circuits wait{also}."
    return f"Holds, but some circuits get no power{also}."


def _gap_rank(fared: CircuitService) -> tuple[bool, float]:
    return not fared.device, -fared.longest_gap_min


def _faults(
    scenario: Scenario,
    over: tuple[LimitResult, ...],
    pits: tuple[PitOver, ...],
    dry: tuple[FuelNeed, ...],
    gaps: tuple[CircuitService, ...],
) -> tuple[str, ...]:
    """What fails, each in a sentence or two, what harms first in front."""
    devices = tuple(g for g in gaps if g.device)
    others = tuple(g for g in gaps if not g.device)
    found = [_dark(g) for g in devices]
    if over:
        found.append(_passed(over))
    found += [
        f"The pit of {pit.name} runs over {into_outage(scenario, pit.at)}: {_gallons(pit)} gal on "
        "the floor in this scenario."
        for pit in pits
    ]
    found += [
        f"{f.name} runs out of fuel {into_outage(scenario, f.dry_at)}, and stops: it needs "
        f"{f.needs} in this scenario; {f.there_gal:.1f} gal are there."
        for f in dry
        if f.dry_at is not None
    ]
    if others:
        found.append(_dark(others[0]))
    if len(others) > 1:
        are, they = ("circuits are", "they") if len(others) > 2 else ("circuit is", "it")
        found.append(f"{len(others) - 1} other {are} dark longer than {they} can wait too.")
    return tuple(found)


def _gallons(pit: PitOver) -> str:
    return f"{pit.spilt_gal:.0f}" if pit.spilt_gal >= 9.5 else f"{pit.spilt_gal:.1f}"


def _guessed(scenario: Scenario, need: FuelNeed) -> str:
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


def _dark(fared: CircuitService) -> str:
    return (
        f"{fared.subject} is without power for "
        f"{dark_words(fared.longest_gap_min, fared.dark_min, fared.drawn_min)}"
        f"{fared.while_words}; "
        f"{wait_words(fared.bears_min, max(fared.longest_gap_min, fared.drawn_min))}."
    )
