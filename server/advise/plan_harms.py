"""What is done about each harm that comes in a run, at the moment it comes or ahead of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from server.advise.begin.choices import is_medical
from server.advise.plan_later import far_longer, later
from server.advise.plan_moved import LEAD_H, fuel_end, moved_by, reason
from server.advise.plan_pits import drains_words, draws_water, wastes_of
from server.advise.plan_task import Task, joined
from server.domain.behaviour import Backed
from server.domain.catalogue import KINDS, pumps_waste
from server.domain.cautions import COOKING, FLOOD, FOOD, MEDICAL, OIL
from server.domain.circuit import BATTERY_MARGIN, Circuit
from server.domain.lengths import battery_words, span_words
from server.domain.stores import UNSAFE_FOOD_F
from server.simulate.harm import Harm
from server.simulate.harms import harms
from server.simulate.hours_before import under_way
from server.simulate.results import Run
from server.simulate.timeline import LONGEST_SERVICE_S
from server.simulate.verdict import moment


def medical_of(circuit: Circuit) -> list[str]:
    """Medical devices on a circuit, whatever class it was given."""
    return [a.name for a in circuit.appliances if _is_medical(a.kind)]


def _is_medical(kind: str) -> bool:
    found = KINDS.get(kind)
    return found is not None and is_medical(found)


def ways_on(kinds: set[str]) -> str:
    """What a medical device runs on without the house: oxygen comes in bottles, nothing else does.

    >>> ways_on({"sleep-apnea-machine"}), ways_on({"oxygen-concentrator"})
    ('a battery', 'a battery or an oxygen bottle')
    """
    return "a battery or an oxygen bottle" if "oxygen-concentrator" in kinds else "a battery"


def with_medical(circuit: Circuit) -> str:
    """A circuit's name, with the medical devices on it that the name does not tell of."""
    devices = [name for name in medical_of(circuit) if name not in circuit.name]
    return f"{circuit.name} ({joined(devices)})" if devices else circuit.name


def on_harms(run: Run) -> Iterator[Task]:
    """A step for each harm that comes; to move somebody is told ahead of it."""
    yield from _medical(run)
    yield from later(run)
    for harm in harms(run):
        over = bool(harm.spans) and all(end <= 0.0 for _, end in harm.spans)
        if harm.at is None or over:
            continue
        stood = run.scenario.stood_before(harm.at)
        said = _so_since(run, harm, harm.at) if stood else harm
        if harm.kind == "sump":
            told: tuple[str, str] | None = _flood(said, waste=_is_waste(run, harm))
        else:
            told = _words(said, _again(run, harm), stood=stood, dry=_dry(run, harm.at))
        if told is not None:
            text, caution = told
            ahead = timedelta(hours=LEAD_H) if harm.kind == "pipes" else timedelta()
            at = max(harm.at, run.scenario.start)
            yield Task(min(at, max(at - ahead, _first(run))), text, caution)


def _is_waste(run: Run, harm: Harm) -> bool:
    """Whether a harm is of a pit of what the house drains."""
    things = (a for c in run.site.circuits for a in c.appliances)
    return any(a.id == harm.element_id and pumps_waste(a) for a in things)


def _dry(run: Run, at: datetime) -> bool:
    """Whether the house has its water from wells, and none of their pumps has power then."""
    wells = [row for row, c in enumerate(run.site.circuits) if any(map(draws_water, c.appliances))]
    at_s = (at - run.scenario.start).total_seconds()
    return bool(wells) and all(
        any(begin <= at_s <= end for begin, end in run.served.dark(row)) for row in wells
    )


def _so_since(run: Run, harm: Harm, at: datetime) -> Harm:
    """A harm that came before the run, with its hour in what is said of it."""
    now = under_way(run.scenario, at)
    since = f" ({'so since' if now else 'before this run,'} {moment(at)})"
    return replace(harm, what=harm.what + since, clause=harm.clause + since)


def _first(run: Run) -> datetime:
    """When the first outage of a run begins, no earlier than the run."""
    now = run.scenario.start
    return max(now, min(w.start for w in run.scenario.outages if w.end > now))


def _medical(run: Run) -> Iterator[Task]:
    """Each device that cannot wait through its stretches without power, from an hour up.

    Shorter ones are the start and the service stops, which have tasks of their own. What rests in
    some hours, as what is worn at night, is seen to before it is put on, not while one sleeps.
    """
    first = _first(run)
    for row, circuit in enumerate(run.site.circuits):
        for device in circuit.appliances:
            if not _is_medical(device.kind):
                continue
            bears_min, battery_min = circuit.least_gap_min, circuit.battery_waited_on_min
            if isinstance(device.behaviour, Backed):
                battery_min = device.behaviour.battery_min
                bears_min = battery_min / BATTERY_MARGIN
            gaps = [
                (run.scenario.start + timedelta(seconds=round(gap.begin_s)), gap.wanted_s / 60.0)
                for gap in run.served.gaps(row)
                if gap.wanted_s > max(bears_min * 60.0, LONGEST_SERVICE_S)
            ]
            if not gaps:
                continue
            by = gaps[0][0] + timedelta(minutes=bears_min) - timedelta(hours=LEAD_H)
            by = min(by, gaps[0][0]) if run.served.quiet.get(row) else by
            why = f", {battery_words(battery_min)}" if battery_min else ""
            used = "in the hours it is used, " if run.served.quiet.get(row) else ""
            longest = span_words(max(minutes for _, minutes in gaps))
            ends = fuel_end(run, row, [at for at, _ in gaps])
            yield Task(
                moved_by(run, by, ends, first),
                f"Take whoever needs {device.name} to a place with power, or have "
                f"{ways_on({device.kind})} ready that lasts {longest}"
                f"{' each time' if len(gaps) > 1 else ''}: {circuit.name} has no power {used}"
                f"{_stretches(gaps)}, and {device.name} can wait {span_words(bears_min)}{why}."
                f"{reason(ends)}",
                str(MEDICAL),
            )


def _stretches(gaps: list[tuple[datetime, float]]) -> str:
    """When power is missing, and how long in minutes, in words."""
    begin, _ = gaps[0]
    if len(gaps) == 1:
        return f"from {moment(begin)} on for so long"
    whole = span_words(sum(minutes for _, minutes in gaps))
    return f"{len(gaps)} times, first from {moment(begin)} on, {whole} in all"


def _again(run: Run, harm: Harm) -> str:
    """Until when a harm lasts that passes by itself; empty where that is not within the run."""
    ends = [end for _, end in harm.spans if end > 0.0]
    if not ends or ends[0] >= run.scenario.steps * run.scenario.step_s:
        return ""
    back = moment(run.scenario.start + timedelta(seconds=ends[0]))
    long = len(far_longer(harm))
    more = len(ends) - 1 - long
    often = f", and {more} more time{'s' if more > 1 else ''} later" if more else ""
    hours = (
        f", and for far longer {'later' if long == 1 else f'{long} times later'}" if long else ""
    )
    return f"{back}{often}{hours}"


def _flood(harm: Harm, *, waste: bool) -> tuple[str, str]:
    """What to do about a pit that fills or runs over, ``waste`` of what the house drains."""
    if waste:
        return f"{drains_words(harm.what, [harm.element_id])} Keep off a wet floor.", str(FLOOD)
    return (
        f"{harm.what}. Keep off a wet floor, and touch no outlet, cord, panel or "
        "pump that stands in water or is reached through it. Ahead of it, carry off or pump "
        "out the water with what needs none of the house: by hand, a battery or water "
        "pressure.",
        str(FLOOD),
    )


def _words(harm: Harm, back: str, *, stood: bool, dry: bool) -> tuple[str, str] | None:
    """What to do about one harm, and its caution; None where another task has it.

    ``back`` is when it is over, empty where it is not known to end; ``stood`` is of one that came
    before the run; ``dry`` where no pump of a well has power then.
    """
    clause = harm.clause[:1].upper() + harm.clause[1:]
    if harm.kind == "pipes" and stood:
        return (
            f"{clause}: shut the water off where it comes in, drain the pipes and look along them "
            "for leaks; leave the house for a heated place.",
            "",
        )
    if harm.kind == "pipes":
        drip = "" if dry else ", or let the taps drip while water comes"
        return (
            f"Before {moment(harm.at)}, when {harm.clause}: shut the water off where it comes in "
            f"and drain the pipes{drip}; leave the house for a heated place.",
            "",
        )
    if harm.kind == "room_cold":
        return (
            f"{clause}: all into one room, warm clothes, doors and curtains shut; the old, the "
            "sick and small children to a heated place.",
            str(COOKING),
        )
    if harm.kind == "room_hot":
        return (
            f"{clause}: drink, shade the windows; the old, the sick and small children to a cool "
            "place.",
            "",
        )
    if harm.kind == "food":
        return _food(harm, clause)
    if harm.kind == "water":
        until = f"until about {back}" if back else "from here"
        return f"{clause} {until}: use what was drawn before.", ""
    if harm.kind == "internet":
        until = f" until {back}" if back else ""
        return f"{harm.what}{until}: keep a phone charged to call for help.", ""
    if harm.kind == "oil":
        return f"{harm.what}: stop it, let it cool and look at its oil before it runs on.", str(OIL)
    return None


_KEPT_COLD = (
    "look with a thermometer. What is at 40 °F or below, or has ice crystals in it still, may be "
    "kept; throw out what was above that for two hours or more."
)
"""Source: FoodSafety.gov and USDA FSIS on food in power outages, from memory."""


def _food(harm: Harm, clause: str) -> tuple[str, str]:
    if not harm.by_power:
        return f"{clause}: take out medicines and food that must not freeze.", ""
    given = f", if {harm.given}" if harm.given else ""
    warmest_f = next((t.value for t in harm.working.terms if t.name == "warmest"), None)
    if warmest_f is not None and warmest_f <= UNSAFE_FOOD_F:
        return (
            f"{clause} by its hours without power, though in this run it warms to "
            f"{warmest_f:.1f} °F at the most: {_KEPT_COLD}",
            str(FOOD),
        )
    return f"{clause}{given}: {_KEPT_COLD} Medicines that must stay cold too.", str(FOOD)


def after_flood(run: Run, at: datetime) -> Iterator[Task]:
    """What water has touched is seen to before power is put on it."""
    pits = [h for h in harms(run) if h.kind == "sump" and h.reached]
    if not pits:
        return
    wet = {pit.appliance_id: pit for pit in run.verdict.pits}
    over = [wet[h.element_id] for h in pits if h.element_id in wet]
    spilt, before = sum(p.spilt_gal for p in over), sum(p.before_gal for p in over)
    much = f" (about {spilt:,.0f} gal in this run)" if spilt >= 1.0 else ""
    if before >= 1.0:
        much = f" (about {spilt:,.0f} gal, {before:,.0f} of them before this run)"
    yield Task(
        at,
        f"Where water stood on the floor{much}: keep the breakers of what got wet off; have it "
        "dried and looked at by an electrician before power is put on it. Do not stand in water "
        "to reach a panel: call the utility.",
        str(FLOOD),
    )


def after_frost(run: Run, at: datetime) -> Iterator[Task]:
    """Pipes that were at risk are looked at while the water comes back."""
    if any(h.kind == "pipes" and h.reached for h in harms(run)):
        yield Task(at, "Let the water back slowly, and look along the pipes for leaks.")


def _over(run: Run, at: datetime) -> bool:
    """Whether a moment before a run lies in an outage that was over as it began."""
    return at < run.scenario.start and not under_way(run.scenario, at)


def before_flood(run: Run, at: datetime) -> Iterator[Task]:
    """A pit that runs over is seen to before the outage: it may do so within minutes of it."""
    for harm in harms(run):
        if harm.kind == "sump" and harm.at is not None and not _over(run, harm.at):
            since = ", since" if run.scenario.stood_before(harm.at) else ""
            do = (
                "have a pump ready that needs none of the house, on a battery or on water "
                "pressure, and lift off the floor what water spoils."
            )
            if _is_waste(run, harm):
                do = "once the power is out, flush and drain as little as can be."
            yield Task(at, f"{harm.what}{since} {moment(harm.at)}: {do}", str(FLOOD))


def before_leaving(run: Run, at: datetime) -> Iterator[Task]:
    """What nobody will be there to do when it comes."""
    if any(h.kind == "pipes" and h.reached for h in harms(run)):
        yield Task(at, "Shut the water off where it comes in and drain the pipes before leaving.")


def switched_off(circuits: list[Circuit]) -> str:
    """The circuits that are off until the end, and what it means for a medical device on one."""
    words = f"Switch off, and leave off until the end: {', '.join(map(with_medical, circuits))}."
    wastes = [name for c in circuits for name in wastes_of(c)]
    if wastes:
        is_off = "is off" if len(set(wastes)) == 1 else "are off"
        words += f" {drains_words(f'{joined(wastes)} {is_off} then', wastes)}"
    devices = [name for c in circuits for name in medical_of(c)]
    if not devices:
        return words
    has = "has" if len(set(devices)) == 1 else "have"
    return (
        f"{words} {joined(devices)} then {has} no power at all: leave that circuit on, or have "
        "what runs without it for the whole outage."
    )
