"""What a plan says of fuel: stops to refuel, what is due and how much of it fits, where it ends."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import numpy as np

from server.advise.fuel_words import gal_words
from server.advise.plan_task import Task, joined
from server.domain.cautions import FUEL, OIL, REFUEL
from server.domain.scenario import Window
from server.domain.supply import Generator
from server.simulate.burn import burn_per_h, curve_of, other_per_h
from server.simulate.fuel_need import LIQUID
from server.simulate.harm_set import run_hours
from server.simulate.results import Run
from server.simulate.timeline import LONGEST_SERVICE_S

_LEAST_GAL = 0.05
"""Less than this reads as nothing to a tenth of a gallon. [gal]"""

_COOLS_MIN = 15.0
"""How long a small engine is left to cool before fuel goes into its tank; common practice, no
source. [min]"""


def runs_at(run: Run, generator: Generator, at: datetime) -> bool:
    """Whether the engine of a set turns up to this moment."""
    at_s = (at - run.scenario.start).total_seconds()
    return any(begin < at_s - 1.0 <= end for begin, end in run.served.running[generator.id])


def fuel_ends(run: Run, generator: Generator) -> list[datetime]:
    """Every moment at which a set stops for want of fuel, as the run notes them."""
    return [e.at for e in run.events if e.text == f"{generator.name} runs out of fuel"]


def deliveries(run: Run, used: tuple[Generator, ...]) -> Iterator[Task]:
    """Fuel that is due, and how much of it the tanks have room for then."""
    room = _rooms(run, used)
    for at in sorted({d.at for d in run.scenario.deliveries_due}):
        gallons = sum(d.gallons for d in run.scenario.deliveries_due if d.at == at)
        words = f"{gal_words(gallons)} gal of fuel are due."
        found = room.get(at)
        if found is not None and found < gallons - _LEAST_GAL:
            words = (
                f"{words} There is room for about {gal_words(found)} gal then. Keep the rest in "
                "cans out of doors and fill it in at later stops; this run does not count on it."
            )
        by_hand = [g for g in used if g.start == "by_hand" and g.fuel in LIQUID]
        hot = [g.name for g in by_hand if runs_at(run, g, at)]
        if hot:
            words += (
                f" {joined(hot)} runs then, and this run counts the fuel as in its tank at once: "
                "pour none into a running or hot set, keep it in cans out of doors until the next "
                "stop."
            )
        empty = [g.name for g in used if not runs_at(run, g, at) and _dry_before(run, g, at)]
        if empty and any(g.start == "by_hand" for g in used if g.name in empty):
            words += (
                f" {joined(empty)} stood empty: fill it up cold, check its oil, start it with "
                "nothing on it and close breakers one at a time."
            )
        yield Task(at, words, str(REFUEL if any(g.fuel in LIQUID for g in used) else FUEL))


def ends(run: Run, used: tuple[Generator, ...]) -> Iterator[Task]:
    """Every stop of the run for want of fuel, and until when it then stands."""
    due = sorted(d.at for d in run.scenario.deliveries_due)
    for generator in used:
        for at in fuel_ends(run, generator):
            after = next((d for d in due if d > at), None)
            until = (
                f"it stands still until the fuel of {after:%a %H:%M} is in"
                if after is not None
                else "without more it does not run again"
            )
            yield Task(at, f"{generator.name} stops here unless more fuel was brought: {until}.")


def _dry_before(run: Run, generator: Generator, at: datetime) -> bool:
    return any(end <= at for end in fuel_ends(run, generator))


def _rooms(run: Run, used: tuple[Generator, ...]) -> dict[datetime, float]:
    """What the fullest use of each delivery is: the room of all tanks at its moment. [gal]

    A tank is followed as the run does: what is burnt cell by cell, less what others draw, plus
    what came and fitted.
    """
    scenario, served = run.scenario, run.served
    end_s = served.cell_end_s
    cell_s = np.diff(end_s, prepend=0.0)
    due = sorted({d.at for d in scenario.deliveries_due})
    room = dict.fromkeys(due, 0.0)
    rows = {g.id: row for row, g in enumerate(run.site.generators)}
    for generator in used:
        tank = generator.tank
        if tank is None or generator.fuel not in LIQUID | {"propane"}:
            continue
        turned_h = np.diff(run_hours(served.running[generator.id], end_s), prepend=0.0)
        rate = burn_per_h(
            curve_of(generator),
            watts=served.set_w[rows[generator.id]].astype(np.float64),
            running=turned_h * 3600.0 / cell_s,
        )
        burnt = np.cumsum((rate + other_per_h(generator)) * cell_s / 3600.0)
        full = tank.capacity_gal * tank.fill_share
        left, before = full * scenario.fuel_at_start_share, 0.0
        for at in due:
            by = float(np.interp((at - scenario.start).total_seconds(), end_s, burnt))
            left = max(left - (by - before), 0.0)
            before = by
            room[at] += full - left
            left = min(left + sum(d.gallons for d in scenario.deliveries_due if d.at == at), full)
    return room


def stops(
    run: Run, used: tuple[Generator, ...], outages: list[Window], medical: list[str]
) -> Iterator[Task]:
    """Service stops by the clock, and what was burnt since the last, at the mean of the run.

    None of a set that stands still already, for a rest or for want of fuel.
    """
    of_run = {s.source_id: s for s in run.sources}
    since = run.scenario.start
    for stop in sorted(run.scenario.generator_stops, key=lambda w: w.start):
        running = [g for g in used if runs_at(run, g, stop.start)]
        inside = any(w.start <= stop.start <= w.end for w in outages)
        if not running or not inside or stop.start < since:
            since = max(since, stop.end) if inside else since
            continue
        minutes = (stop.end - stop.start).total_seconds() / 60.0
        names = joined([g.name for g in running])
        words = f"Stop {names} for {minutes:.0f} min: oil level"
        if minutes * 60.0 > LONGEST_SERVICE_S:
            words = f"Let {names} rest for {minutes / 60.0:.3g} h, to save fuel: oil level"
        liquid = [g for g in running if g.fuel in LIQUID]
        if liquid:
            poured = []
            for generator in liquid:
                source = of_run[generator.id]
                if source.fuel_used is None or source.fuel_used.unit != "gal":
                    continue
                gallons = _hours(run, generator, since, stop.start) * (
                    source.fuel_used.value / source.run_h
                )
                if gallons >= _LEAST_GAL:
                    poured.append(f"about {gallons:.1f} gal were burnt since the last stop")
            words += f", then refuel when cool{f' ({joined(poured)})' if poured else ''}"
            if minutes < _COOLS_MIN:
                words += (
                    f". {minutes:.0f} min do not let it cool: leave it off {_COOLS_MIN:.0f} min "
                    "before you pour, and count on so long without it"
                )
        since = stop.end
        if medical:
            them = "it" if len(medical) == 1 else "them"
            words += f". Before it, change {joined(medical)} over to what runs {them} alone"
        yield from _pits(run, stop)
        yield Task(stop.start, f"{words}.", str(REFUEL if liquid else OIL))
        if any(w.start <= stop.end < w.end for w in outages):
            yield Task(stop.end, _again(running))


def _pits(run: Run, stop: Window) -> Iterator[Task]:
    """That a pit runs over in a stop, and what keeps it from it; told just before the stop."""
    for pit in run.verdict.pits:
        if stop.start <= pit.at <= stop.end:
            bears_min = int((pit.at - stop.start).total_seconds() // 60.0)
            yield Task(
                stop.start,
                f"Run the pit of {pit.name} empty just before this stop: from as full as it is "
                f"here it runs over after {bears_min} min. Be done sooner, or start again and "
                "finish at another stop.",
            )


def _again(running: list[Generator]) -> str:
    """That a set is started again, and that its loads are back."""
    by_hand = [g.name for g in running if g.start == "by_hand"]
    alone = [g.name for g in running if g.start != "by_hand"]
    words = []
    if by_hand:
        words.append(
            f"Start {joined(by_hand)} again with nothing on it, and close breakers one at a time, "
            "pumps of a pit first and medical devices second."
        )
    if alone:
        words.append(
            f"Start {joined(alone)} again, set it back to automatic, and see that it takes over. "
            "Of breakers you opened, close those of pits first and of medical devices second, one "
            "at a time."
        )
    return " ".join(words)


def _hours(run: Run, generator: Generator, since: datetime, until: datetime) -> float:
    """Hours an engine turned between two moments. [h]"""
    at_s = np.array([(t - run.scenario.start).total_seconds() for t in (since, until)])
    first, last = run_hours(run.served.running[generator.id], at_s)
    return max(float(last - first), 0.0)
