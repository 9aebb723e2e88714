"""Stops of a set for its oil, its fuel or a rest, and what is done before and after each."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np

from server.advise.plan_fuel import LEAST_GAL, runs_at
from server.advise.plan_harms import medical_of
from server.advise.plan_later import over_in
from server.advise.plan_pits import draws_water, has_sump
from server.advise.plan_task import Task, joined
from server.domain.appliance import Appliance
from server.domain.behaviour import SumpPump
from server.domain.cautions import FLOOD, OIL, REFUEL
from server.domain.scenario import Window
from server.domain.supply import Generator
from server.domain.topology import sources_of
from server.simulate.fuel_need import LIQUID
from server.simulate.harm_set import run_hours
from server.simulate.pit_water import inflow_gpm
from server.simulate.results import Run
from server.simulate.stops_made import ServiceStop, loses_power, stops_made
from server.simulate.timeline import LONGEST_SERVICE_S
from server.simulate.verdict import moment

_NEAR = timedelta(seconds=1)

_COOLS_MIN = 15.0
"""How long a small engine is left to cool before fuel goes into its tank; common practice, no
source. [min]"""

_DRAWN_MIN = 30.0
"""How long before a stop water is drawn; common practice, no source. [min]"""


def stops(
    run: Run, used: tuple[Generator, ...], outages: list[Window], *, away: bool
) -> Iterator[Task]:
    """Service stops by the clock, and what was burnt since the last, at the mean of the run.

    Those of the scenario and those for oil that the run makes; none of a set that stands still
    already, for a rest or for want of fuel.
    """
    since = dict.fromkeys((g.id for g in used), run.scenario.start)
    for stop in stops_made(run):
        if not any(w.start <= stop.start <= w.end for w in outages):
            continue
        of_stop = [g for g in used if g.id in stop.set_ids]
        running = [g for g in of_stop if runs_at(run, g, stop.start) and stop.start >= since[g.id]]
        burnt = _burnt(run, running, since, stop.start)
        since |= {g.id: max(since[g.id], stop.end) for g in of_stop}
        if not running:
            continue
        yield from _pits(run, stop)
        yield from _draw_water(run, stop, away=away)
        yield _stopped(stop, running, burnt, [] if away else _worn(run, stop))
        for at, back in _back(run, stop, running).items():
            if any(w.start <= at < w.end for w in outages):
                yield Task(at, _again(run, back))


def _stopped(stop: ServiceStop, running: list[Generator], burnt: str, medical: list[str]) -> Task:
    """A stop itself: of which sets, for how long and for what, and who is seen to before it."""
    names = joined([g.name for g in running])
    words = f"Stop {names} for {stop.minutes:.0f} min: oil level"
    if stop.for_oil:
        due = [f"{g.name} has then run its {g.oil_check_h:g} h" for g in running if g.oil_check_h]
        words = f"Stop {names} for {stop.minutes:.0f} min, no later ({joined(due)}): oil level"
    elif stop.minutes * 60.0 > LONGEST_SERVICE_S:
        words = f"Let {names} rest for {stop.minutes / 60.0:.3g} h, to save fuel: oil level"
    liquid = [g for g in running if g.fuel in LIQUID]
    if liquid:
        which = f" {joined([g.name for g in liquid])}" if len(liquid) < len(running) else ""
        words += f", then refuel{which} when cool{f' ({burnt})' if burnt else ''}"
        if stop.minutes < _COOLS_MIN:
            words += (
                f". {stop.minutes:.0f} min do not let it cool: leave it off {_COOLS_MIN:.0f} min "
                "before you pour, and count on so long without it"
            )
    if medical:
        them = "it" if len(medical) == 1 else "them"
        words += f". Before it, change {joined(medical)} over to what runs {them} alone"
    return Task(stop.start, f"{words}.", str(REFUEL if liquid else OIL))


def _back(run: Run, stop: ServiceStop, sets: list[Generator]) -> dict[datetime, list[Generator]]:
    """When sets turn again after a stop: at its end, or at that of one that goes on past it.

    None of a set that finds no fuel left: no stop ends when it next turns, if ever it does.
    """
    found: dict[datetime, list[Generator]] = {}
    for generator in sets:
        ends = {s.end for s in stops_made(run) if generator.id in s.set_ids}
        begins = (
            run.scenario.start + timedelta(seconds=begin)
            for begin, _ in run.served.running[generator.id]
        )
        again = next((at for at in begins if at >= stop.end - _NEAR), None)
        at = again and next((end for end in ends if abs(end - again) <= _NEAR), None)
        if at is not None:
            found.setdefault(at, []).append(generator)
    return found


def _burnt(run: Run, running: list[Generator], since: dict[str, datetime], until: datetime) -> str:
    """Liquid fuel that sets have burnt since their last stop, at the mean of the run; or empty."""
    of_run = {s.source_id: s for s in run.sources}
    told = []
    for generator in running:
        source = of_run[generator.id]
        used = source.fuel_used
        if generator.fuel not in LIQUID or used is None or used.unit != "gal":
            continue
        hours = _hours(run, generator, since[generator.id], until)
        gallons = hours * used.value / source.run_h
        if gallons >= LEAST_GAL:
            whose = f" by {generator.name}" if len(running) > 1 else ""
            told.append(f"about {gallons:.1f} gal were burnt{whose} since the last stop")
    return joined(told)


def _pits(run: Run, stop: ServiceStop) -> Iterator[Task]:
    """That a pit runs over in a stop, and what keeps it from it; told just before the stop."""
    for row, circuit in enumerate(run.site.circuits):
        for one in circuit.appliances if loses_power(run, row, stop) else ():
            at = over_in(run, one.id, stop) if isinstance(one.behaviour, SumpPump) else None
            if at is not None:
                bears_min = int((at - stop.start).total_seconds() // 60.0)
                yield Task(
                    stop.start,
                    f"Run the pit of {one.name} empty just before this stop: from as full as it "
                    f"is here it runs over after {bears_min} min{_from_empty(run, one, stop)}. "
                    f"Be done sooner, or start again and finish at another stop.",
                    str(FLOOD),
                )


def _from_empty(run: Run, pump: Appliance, stop: ServiceStop) -> str:
    """How long a pit bears from empty, where that is less than a stop."""
    pit = pump.behaviour
    assert isinstance(pit, SumpPump)  # noqa: S101 - asked of pits alone
    inflow = inflow_gpm(pump, pit, run.scenario)
    if inflow <= 0.0:
        return ""
    empty_min = (pit.cycle_gal + pit.reserve_gal) / inflow
    if empty_min >= stop.minutes:
        return ""
    return f", and even from empty after {int(empty_min)} min"


def _worn(run: Run, stop: ServiceStop) -> list[str]:
    """Medical devices of circuits that must be served, of those in use that lose power in a stop.

    What another set carries, or none did before, is not changed over for it.
    """
    begin_s, end_s = ((t - run.scenario.start).total_seconds() for t in (stop.start, stop.end))
    found = []
    for row, circuit in enumerate(run.site.circuits):
        quiet = run.served.quiet.get(row, ())
        rests = any(a <= begin_s and end_s <= b for a, b in quiet)
        if circuit.load_class == "must_serve" and not rests and loses_power(run, row, stop):
            found += medical_of(circuit)
    return found


def _draw_water(run: Run, stop: ServiceStop, *, away: bool) -> Iterator[Task]:
    """Water is drawn ahead of a stop that leaves a well without power which has it before."""
    names = [
        a.name
        for row, circuit in enumerate(run.site.circuits)
        if loses_power(run, row, stop)
        for a in circuit.appliances
        if draws_water(a)
    ]
    if names and not away:
        ahead = stop.start - timedelta(minutes=_DRAWN_MIN)
        first = max(w.start for w in run.scenario.outages if w.start <= stop.start)
        yield Task(
            max(ahead, first, run.scenario.start),
            f"Draw the water that is needed until {moment(stop.end)}: {joined(names)} "
            f"{'has' if len(names) == 1 else 'have'} no power in the stop at {stop.start:%H:%M}.",
        )


def _again(run: Run, running: list[Generator]) -> str:
    """That a set is started again, and that its loads are back."""
    by_hand = [g for g in running if g.start == "by_hand"]
    alone = [g for g in running if g.start != "by_hand"]
    words = []
    if by_hand:
        first = _first_closed(run, by_hand)
        words.append(
            f"Start {joined([g.name for g in by_hand])} again with nothing on it, and close "
            f"breakers one at a time{f', {first}' if first else ''}."
        )
    if alone:
        first = _first_closed(run, alone)
        them, they = ("it", "it takes") if len(alone) == 1 else ("them", "they take")
        words.append(
            f"Start {joined([g.name for g in alone])} again, set {them} back to automatic, and "
            f"see that {they} over. Close breakers that you opened one at a time"
            f"{f', {first}' if first else ''}."
        )
    return " ".join(words)


def _first_closed(run: Run, sets: list[Generator]) -> str:
    """Which breakers come first, where what they feed has a pit or a medical device."""
    kept_off = {k.circuit_id for k in run.scenario.kept_off}
    ids = {g.id for g in sets}
    fed = [
        c
        for c in run.site.circuits
        if c.outage_role != "off" and c.id not in kept_off and ids & sources_of(run.site, c)
    ]
    pits = ["pumps of a pit"] * any(map(has_sump, fed))
    told = pits + ["medical devices"] * any(map(medical_of, fed))
    return " and ".join(
        f"{what} {rank}" for what, rank in zip(told, ("first", "second"), strict=False)
    )


def _hours(run: Run, generator: Generator, since: datetime, until: datetime) -> float:
    """Hours an engine turned between two moments. [h]"""
    at_s = np.array([(t - run.scenario.start).total_seconds() for t in (since, until)])
    first, last = run_hours(run.served.running[generator.id], at_s)
    return max(float(last - first), 0.0)
