"""What to do before, during and after the outages of a scenario, dated, read off its run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.advise.begin.choices import is_medical
from server.advise.fuel_words import LIQUID, bring_words, enough_words, storage_caution
from server.advise.plan_ahead import ahead, named, will_not_work
from server.advise.together import must_not_run_together
from server.domain.behaviour import Backed
from server.domain.catalogue import KINDS
from server.domain.cautions import (
    CO_ALARMS,
    EXHAUST,
    FOOD,
    MEDICAL,
    OIL,
    REFUEL,
    RESTORATION,
    THROWING,
)
from server.domain.circuit import Circuit
from server.domain.scenario import Window
from server.domain.site import Site
from server.domain.supply import Generator
from server.domain.topology import bus_of_circuit
from server.simulate.results import Run
from server.simulate.timeline import LONGEST_SERVICE_S

APART_MIN = 5
"""Between two heavy circuits that come back (common practice, no source: 1 to 5 minutes). [min]"""

HEAVY_W = 1000.0
"""What comes back one at a time (common practice, no source). [W]"""


@dataclass(frozen=True)
class Task:
    """One thing to do. ``at`` is its time, None where it goes for the whole part."""

    at: datetime | None
    text: str
    caution: str = ""


@dataclass(frozen=True)
class OutagePlan:
    """The tasks of a scenario in three parts, each in order of time."""

    before: tuple[Task, ...]
    during: tuple[Task, ...]
    after: tuple[Task, ...]


def outage_plan(run: Run) -> OutagePlan | None:
    """The plan of a run; None where the utility never goes out."""
    outages = sorted(run.scenario.outages, key=lambda w: w.start)
    if not outages:
        return None
    return OutagePlan(
        before=tuple(_timed(_before(run, outages[0]), outages[0].start)),
        during=tuple(_timed(_during(run, outages), outages[0].start)),
        after=tuple(_timed(_after(run, outages[-1]), outages[-1].end)),
    )


def _timed(tasks: Iterator[Task], first: datetime) -> list[Task]:
    """By the clock, what goes for the whole part first."""
    return sorted(tasks, key=lambda t: (t.at is not None, t.at or first))


def _out(outages: list[Window], at: datetime) -> Window | None:
    """The outage that a moment lies in."""
    return next((w for w in outages if w.start <= at <= w.end), None)


def _used(run: Run) -> tuple[Generator, ...]:
    """The sets that run in this scenario."""
    ran = {s.source_id for s in run.sources if s.kind == "generator" and s.run_h > 0.0}
    return tuple(g for g in run.site.generators if g.id in ran)


def _away(run: Run) -> bool:
    """Whether nobody is there, so that all must be done before they leave or once they are back."""
    return run.scenario.people == 0


def _before(run: Run, first: Window) -> Iterator[Task]:
    by = min(first.start, run.scenario.start) if _away(run) else first.start
    yield Task(by, "Test the CO alarms and put in fresh batteries.", str(CO_ALARMS))
    for need in run.fuel:
        caution = str(storage_caution(run.site, need))
        if need.runs_dry or need.eats_reserve:
            yield Task(by, bring_words(run.site, need), caution)
        else:
            yield Task(by, enough_words(need), caution)
    for generator in _used(run):
        yield Task(by, f"Check the oil of {generator.name}, and start it once.", str(OIL))
    medical = _medical(run.site)
    if medical:
        yield Task(
            by,
            f"Have what {', '.join(medical)} can run on alone at hand, for the whole outage: a "
            "battery, a bottle, another place to go.",
            str(MEDICAL),
        )
    charged = _charged(run.site)
    if charged:
        yield Task(by, f"Charge in full: {', '.join(charged)}.")
    if not _away(run):
        yield from (Task(by, text) for text in ahead(run))
    kept = {k.circuit_id for k in run.scenario.kept_off}
    yield from (task for at, task in _throws(run) if at < first.start)
    off = [c.name for c in run.site.circuits if c.outage_role == "off" or c.id in kept]
    if off and _used(run):
        yield Task(by, f"Switch off, and leave off until the end: {', '.join(off)}.")


def _charged(site: Site) -> list[str]:
    """What has a battery of its own."""
    own = [a.name for c in site.circuits for a in c.appliances if isinstance(a.behaviour, Backed)]
    return own + [
        f"what has a battery on {c.name}"
        for c in site.circuits
        if c.own_battery_min is not None and not _alarms_alone(c)
    ]


def _alarms_alone(circuit: Circuit) -> bool:
    """Whether its batteries are those of alarms, which are put in fresh: lights have none."""
    kinds = {a.kind for a in circuit.appliances}
    return "smoke-alarms" in kinds and kinds <= {"smoke-alarms", "lighting"}


def _during(run: Run, outages: list[Window]) -> Iterator[Task]:
    shut = _boxes(run.site)
    if shut and not _away(run):
        yield Task(None, f"Keep shut but for the moment of taking out: {', '.join(shut)}.")
    dark = "" if _away(run) else will_not_work(run)
    if dark:
        yield Task(None, dark)
    yield from _together(run)
    for window in outages:
        for generator in _used(run):
            yield Task(window.start, _start_words(run, generator), str(EXHAUST))
    yield from _stops(run, outages)
    yield from _by_hand(run, outages)
    first, last = outages[0].start, max(w.end for w in outages)
    yield from (task for at, task in _throws(run) if first <= at <= last)
    for delivery in run.scenario.deliveries:
        yield Task(delivery.at, f"{delivery.gallons:g} gal of fuel are due.")
    for need in run.fuel:
        if need.dry_at is not None:
            yield Task(need.dry_at, f"{need.name} stops here unless more fuel was brought.")


def _throws(run: Run) -> Iterator[tuple[datetime, Task]]:
    """Every move of a double-throw that a person makes, with its moment."""
    stands = {throw.id: throw.resting for throw in run.site.double_throws}
    for move in sorted(run.scenario.switch_moves, key=lambda m: m.at):
        if stands.get(move.switch_id) == move.position:
            continue
        stands[move.switch_id] = move.position
        to = move.position.replace("_", "-")
        name = run.site.name_of[move.switch_id]
        words = f"Open the load breakers behind {name}, throw it to {to}, then "
        yield move.at, Task(move.at, f"{words}close them one at a time.", str(THROWING))


def _together(run: Run) -> Iterator[Task]:
    """What never runs at once, which of it stays on, and that what else runs is not in it."""
    must = {c.id: c.name for c in run.site.circuits if c.load_class == "must_serve"}
    for one in must_not_run_together(run):
        for clash in one.clashes:
            stays = [must[i] for i in clash.circuit_ids if i in must]
            keep = f"; {', '.join(stays)} stays on" if stays else ""
            yield Task(None, f"Never all at once on {one.name}: {clash.sentence}{keep}.")
        heavy = _heavy(run, fed_in_outage=True) if one.clashes else []
        stays = [name for name in heavy if name in must.values()]
        turns = [name for name in heavy if name not in stays]
        if len(turns) > 1:
            beside = f" beside {named(stays)}" if stays else ""
            yield Task(
                None,
                f"What else is on comes on top of these, so run only one of them at a time on "
                f"{one.name}{beside}: {named(turns)}.",
            )


def _medical(site: Site) -> list[str]:
    """Medical devices of circuits that must be served."""
    return [
        a.name
        for c in site.circuits
        if c.load_class == "must_serve"
        for a in c.appliances
        if (kind := KINDS.get(a.kind)) is not None and is_medical(kind)
    ]


def _boxes(site: Site) -> list[str]:
    """What keeps food cold, those of one name with their circuits."""
    pairs = [
        (a.name, c.name)
        for c in site.circuits
        for a in c.appliances
        if a.behaviour.model == "cold_box"
    ]
    count = Counter(name for name, _ in pairs)
    return [name if count[name] == 1 else f"{name} on {of}" for name, of in pairs]


def _start_words(run: Run, generator: Generator) -> str:
    if generator.start == "automatic":
        sees = "nobody is there to see whether it does" if _away(run) else "see that it does"
        return f"{generator.name} starts by itself; {sees}."
    return (
        f"Start {generator.name} with nothing on it, outdoors; change over about "
        f"{run.scenario.hand_start_min:g} min after the power fails and close breakers one at a "
        "time, what must be served first."
    )


def _stops(run: Run, outages: list[Window]) -> Iterator[Task]:
    """Service stops by the clock, and what was burnt since the last, at the mean of the run.

    None where no set runs, and none from when every one has ended with its fuel until more is due.
    """
    if not _used(run):
        return
    liquid = [g for g in _used(run) if g.fuel in LIQUID]
    of_run = {s.source_id: s for s in run.sources}
    mean_gal = {
        g.id: s.fuel_used.value / s.run_h
        for g in liquid
        if (s := of_run[g.id]).fuel_used is not None and s.fuel_used.unit == "gal"
    }
    names = ", ".join(g.name for g in _used(run))
    medical = [] if _away(run) else _medical(run.site)
    since = outages[0].start
    dry = {need.generator_id: need.dry_at for need in run.fuel if need.dry_at is not None}
    ends = [dry[g.id] for g in _used(run) if g.id in dry]
    over = max(ends) if ends and len(ends) == len(_used(run)) else None
    due = sorted(d.at for d in run.scenario.deliveries)
    again = next((at for at in due if over is not None and at > over), None)
    for stop in sorted(run.scenario.generator_stops, key=lambda w: w.start):
        outage = _out(outages, stop.start)
        if outage is None:
            continue
        if stop.start < since:  # it stands still already
            since = max(since, stop.end)
            continue
        if over is not None and stop.start >= over:
            if again is None or stop.start < again:
                continue
            since = max(since, again)
        since = max(since, outage.start)
        minutes = (stop.end - stop.start).total_seconds() / 60.0
        hours = max((stop.start - since).total_seconds(), 0.0) / 3600.0
        since = stop.end
        words = f"Stop {names} for {minutes:.0f} min: oil level"
        if minutes * 60.0 > LONGEST_SERVICE_S:
            words = f"Let {names} rest for {minutes / 60.0:.3g} h, to save fuel: oil level"
        if liquid:
            poured = " and ".join(
                f"about {rate * hours:.1f} gal were burnt since the last stop"
                for rate in mean_gal.values()
            )
            words += f", then refuel when cool{f' ({poured})' if poured else ''}"
        if medical:
            them = "it" if len(medical) == 1 else "them"
            words += f". Before it, change {', '.join(medical)} over to what runs {them} alone"
        yield Task(stop.start, f"{words}.", str(REFUEL if liquid else OIL))


def _of_the_weather(circuit: Circuit) -> bool:
    """Whether it feeds only what heats or cools, which asks for nothing out of season."""
    return all(a.behaviour.model == "room" for a in circuit.appliances)


def _by_hand(run: Run, outages: list[Window]) -> Iterator[Task]:
    """Circuits that are on by hand, those of the same hours of the day in one task.

    The hours of one that is off for good, by its role or in this scenario, do not count.
    """
    hand = {c.id for c in run.site.circuits if c.outage_role == "by_hand"}
    hand -= {k.circuit_id for k in run.scenario.kept_off}
    asks = zip(run.wanted_w, run.site.circuits, strict=True)
    hand -= {c.id for wanted, c in asks if _of_the_weather(c) and not wanted.any()}
    found: dict[tuple[str, str], list[tuple[datetime, str]]] = {}
    for one in run.scenario.hand_windows:
        if _out(outages, one.window.start) is None or one.circuit_id not in hand:
            continue
        hours = (f"{one.window.start:%H:%M}", f"{one.window.end:%H:%M}")
        name = run.site.circuit(one.circuit_id).name
        found.setdefault(hours, []).append((one.window.start, name))
    for (begin, end), pairs in found.items():
        days = {at.date() for at, _ in pairs}
        names = ", ".join(dict.fromkeys(name for _, name in pairs))
        often = f"On {len(days)} days, " if len(days) > 1 else ""
        yield Task(min(pairs)[0], f"{often}{begin} to {end}: on by hand, then off again: {names}.")


def _after(run: Run, last: Window) -> Iterator[Task]:
    heavy = [] if _away(run) else _heavy(run)
    if not _away(run):
        yield Task(
            last.end,
            f"Before the power is due, switch off: {named(heavy)}."
            if heavy
            else "Leave one lamp on to see the power return.",
            str(RESTORATION),
        )
    for generator in _used(run):
        if generator.start == "by_hand":
            yield Task(
                last.end,
                f"Wait for steady volts, about {run.scenario.hand_return_min:g} min; change back; "
                f"let {generator.name} cool {generator.cool_down_min:g} min without load, then "
                "stop it.",
            )
    if heavy:
        yield Task(last.end, f"Then switch on, one every {APART_MIN} min or more: {named(heavy)}.")
    boxes = _boxes(run.site)
    if boxes:
        yield Task(last.end, f"Look at the food in {', '.join(boxes)}.", str(FOOD))
    end = max(w.end for w in run.scenario.outages)
    yield from (task for at, task in _throws(run) if at > end)
    if any(need.used_gal > 0.0 for need in run.fuel):
        yield Task(last.end, "Fill up the fuel that was burnt, and write down the hours it ran.")


def _heavy(run: Run, *, fed_in_outage: bool = False) -> list[str]:
    """The circuits that ask for most in this run, most first; all, or those on from a set.

    A car that is plugged in asks as soon as there is power, whenever this run plugs it in.
    """
    bus_of = bus_of_circuit(run.site)
    asks = [
        (
            float(w.max(initial=0.0))
            if fed_in_outage
            else max(float(w.max(initial=0.0)), _car_w(c)),
            c,
        )
        for w, c in zip(run.wanted_w, run.site.circuits, strict=True)
        if not fed_in_outage
        or (c.outage_role in ("on", "by_hand") and bus_of[c.id].kind != "normal")
    ]
    heavy = sorted((p for p in asks if p[0] >= HEAVY_W), key=lambda p: -p[0])
    return [c.name for _, c in heavy]


def _car_w(circuit: Circuit) -> float:
    """What the car chargers of a circuit take. [W]"""
    return sum(a.load_w for a in circuit.appliances if a.behaviour.model == "charger")
