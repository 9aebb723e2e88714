"""What a plan says of fuel: what is due and how much of it fits, where it ends."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import numpy as np

from server.advise.fuel_words import gal_words
from server.advise.plan_task import Task, joined
from server.domain.cautions import FUEL, REFUEL
from server.domain.scenario import Scenario
from server.domain.supply import Generator
from server.simulate.burn import burn_per_h, curve_of, other_per_h
from server.simulate.fuel_need import LIQUID
from server.simulate.harm_set import run_hours
from server.simulate.results import Run

LEAST_GAL = 0.05
"""Less than this reads as nothing to a tenth of a gallon. [gal]"""


def runs_at(run: Run, generator: Generator, at: datetime) -> bool:
    """Whether the engine of a set turns up to this moment."""
    at_s = (at - run.scenario.start).total_seconds()
    return any(begin < at_s - 1.0 <= end for begin, end in run.served.running[generator.id])


def fuel_ends(run: Run, generator: Generator) -> list[datetime]:
    """Every moment at which a set stops for want of fuel, as the run notes them."""
    return [e.at for e in run.events if e.text == f"{generator.name} runs out of fuel"]


def deliveries(run: Run, used: tuple[Generator, ...]) -> Iterator[Task]:
    """Fuel that is due, and how much of it the tanks have room for then."""
    scenario = run.scenario
    tanked = [g for g in used if g.tank is not None and g.fuel in LIQUID | {"propane"}]
    for at in sorted({d.at for d in scenario.deliveries_due}):
        due = {g.id: _due_gal(scenario, g, at) for g in tanked}
        filled = [g for g in tanked if due[g.id] > 0.0] or list(used)
        words = _due_words(scenario, [g for g in tanked if due[g.id] > 0.0], at)
        for generator in tanked:
            room = _room_gal(run, generator, at)
            if room < due[generator.id] - LEAST_GAL:
                whose = f" in the tank of {generator.name}" if len(tanked) > 1 else ""
                words += (
                    f" There is room for about {gal_words(room)} gal{whose} then. Keep the rest "
                    "in cans out of doors and fill it in at later stops; this run does not count "
                    "on it."
                )
        by_hand = [g for g in filled if g.start == "by_hand" and g.fuel in LIQUID]
        hot = [g.name for g in by_hand if runs_at(run, g, at)]
        if hot:
            words += (
                f" {joined(hot)} {'runs' if len(hot) == 1 else 'run'} then, and this run counts "
                f"the fuel as in {'its tank' if len(hot) == 1 else 'their tanks'} at once: pour "
                "none into a running or hot set, keep it in cans out of doors until the next stop."
            )
        empty = [g.name for g in filled if not runs_at(run, g, at) and _dry_before(run, g, at)]
        if empty and any(g.start == "by_hand" for g in filled if g.name in empty):
            words += (
                f" {joined(empty)} stood empty: fill {'it' if len(empty) == 1 else 'each'} up "
                f"cold, check its oil, start {'it' if len(empty) == 1 else 'each'} with nothing on "
                "it and close breakers one at a time."
            )
        yield Task(at, words, str(REFUEL if any(g.fuel in LIQUID for g in filled) else FUEL))


def ends(run: Run, used: tuple[Generator, ...]) -> Iterator[Task]:
    """Every stop of the run for want of fuel, and until when it then stands."""
    for generator in used:
        due = [d.at for d in run.scenario.deliveries_to(generator.id)]
        for at in fuel_ends(run, generator):
            after = next((d for d in due if d > at), None)
            until = (
                f"it stands still until the fuel of {after:%a %H:%M} is in"
                if after is not None
                else "without more it does not run again"
            )
            here = (
                "stops here unless more fuel was brought"
                if runs_at(run, generator, at)
                else "finds no fuel to start on here unless more was brought"
            )
            yield Task(at, f"{generator.name} {here}: {until}.")


def _dry_before(run: Run, generator: Generator, at: datetime) -> bool:
    return any(end <= at for end in fuel_ends(run, generator))


def _due_gal(scenario: Scenario, generator: Generator, at: datetime) -> float:
    """What arrives for the tank of a set at a moment. [gal]"""
    return sum(d.gallons for d in scenario.deliveries_to(generator.id) if d.at == at)


def _due_words(scenario: Scenario, sets: list[Generator], at: datetime) -> str:
    """How much fuel is due, for which set where one of several is meant."""
    here = [d for d in scenario.deliveries_due if d.at == at]
    if len(sets) < 2 and all(d.set_id is None for d in here):
        return f"{gal_words(sum(d.gallons for d in here))} gal of fuel are due."
    parts = [f"{gal_words(_due_gal(scenario, g, at))} gal for {g.name}" for g in sets]
    return f"Fuel is due: {joined(parts)}." if parts else "Fuel is due for a set not used here."


def _room_gal(run: Run, generator: Generator, at: datetime) -> float:
    """Room in the tank of a set just before the fuel of a moment comes. [gal]

    The tank is followed as the run does: what is burnt cell by cell, plus what others draw, less
    what came before and fitted.
    """
    scenario, served, tank = run.scenario, run.served, generator.tank
    assert tank is not None  # noqa: S101 - asked of sets with a tank alone
    end_s = served.cell_end_s
    cell_s = np.diff(end_s, prepend=0.0)
    row = run.site.generators.index(generator)
    turned_h = np.diff(run_hours(served.running[generator.id], end_s), prepend=0.0)
    rate = burn_per_h(
        curve_of(generator),
        watts=served.set_w[row].astype(np.float64),
        running=turned_h * 3600.0 / cell_s,
    )
    burnt = np.cumsum((rate + other_per_h(generator)) * cell_s / 3600.0)
    full = tank.capacity_gal * tank.fill_share
    left, before = full * scenario.fuel_share_of(generator.id), 0.0
    earlier = [d for d in scenario.deliveries_to(generator.id) if d.at < at]
    for moment_at, gallons in [*((d.at, d.gallons) for d in earlier), (at, 0.0)]:
        by = float(np.interp((moment_at - scenario.start).total_seconds(), end_s, burnt))
        left = max(left - (by - before), 0.0)
        before = by
        left = min(left + gallons, max(full, left))
    return full - left
