"""Harms to a generator: its fuel out, its oil due."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from server.domain.supply import FuelTank, Generator
from server.domain.working import Term
from server.physics.engine_set import UNIT_OF_FUEL
from server.simulate.burn import fuel_used, other_per_h, source_of
from server.simulate.harm import Harm, HarmClock
from server.simulate.served import Span

Floats = NDArray[np.float64]


def fuel(clock: HarmClock) -> Iterator[Harm]:
    """Each set with a tank that ran: each time it has burnt what is there."""
    for row, generator in enumerate(clock.run.site.generators):
        tank = generator.tank
        if tank is None or UNIT_OF_FUEL[generator.fuel] != "gal" or not _runs(clock, generator):
            continue
        yield from _fuel(clock, generator, tank, row)


def _fuel(clock: HarmClock, generator: Generator, tank: FuelTank, row: int) -> Iterator[Harm]:
    scenario, served = clock.run.scenario, clock.run.served
    end_s = served.cell_end_s
    start_s = np.append(0.0, end_s[:-1])
    run_h = run_hours(served.running[generator.id], end_s)
    cell_s = end_s - start_s
    running = np.diff(run_h, prepend=0.0) * 3600.0 / cell_s
    watts = served.set_w[row].astype(np.float64)
    used = fuel_used(generator, watts=watts, running=running, cell_s=cell_s)
    at_start = tank.capacity_gal * tank.fill_share * scenario.fuel_share_of(generator.id)
    need = next((f for f in clock.run.fuel if f.generator_id == generator.id), None)
    first = None if need is None else need.dry_at
    others = other_per_h(generator) * clock.span_s / 3600.0
    poured = 0.0 if need is None else max(need.there_gal - at_start, 0.0)
    left = max(0.0, at_start + poured - used.value - others)
    for n, at in enumerate((first, *(() if need is None else need.again_at))):
        yield clock.harm(
            "fuel",
            generator.id,
            f"{generator.name} out of fuel{' again' if n else ''}",
            None if at is None else (at - scenario.start).total_seconds(),
            formula="when what is burnt, minute by minute, passes the fuel there",
            terms=(
                Term("fuel at the start", at_start, "gal", "the tank and the scenario"),
                Term("delivered, as it found room", poured, "gal", "the scenario"),
                Term("burnt in the run", used.value, "gal", used.formula),
                *([Term("by others on the tank", others, "gal", "as entered")] if others else []),
                *used.terms,
            ),
            source=source_of(generator),
            why="" if at is None or need is None else f"{need.used_gal:.0f} gal are wanted in all",
            nearest=f"{left:.0f} gal left at the end",
        )


def oil(clock: HarmClock) -> Iterator[Harm]:
    """Each set whose oil interval is known: when its engine has run that long without a stop."""
    scenario = clock.run.scenario
    for generator in clock.run.site.generators:
        if generator.oil_check_h is None or not _runs(clock, generator):
            continue
        stops = [
            (w.start - scenario.start).total_seconds() for w in scenario.stops_of(generator.id)
        ]
        limit_s = generator.oil_check_h * 3600.0
        at_s, most_s, run_s = None, 0.0, 0.0
        tended = scenario.oil_stop_min is not None
        for begin, end in _reaching(clock.run.served.running[generator.id], clock.span_s):
            marks = [begin, *(s for s in stops if begin < s < end), end]
            for first, last in pairwise(marks):
                if any(abs(first - s) < 1e-6 for s in stops):
                    run_s = 0.0
                if tended and run_s >= limit_s - 1e-3:
                    run_s = 0.0
                if at_s is None and run_s + last - first > limit_s + 1e-3:
                    at_s = first + limit_s - run_s
                run_s += last - first
                most_s = max(most_s, run_s)
            if any(abs(end - s) < 1e-6 for s in stops):
                run_s = 0.0
        yield clock.harm(
            "oil",
            generator.id,
            f"{generator.name}, oil due",
            at_s,
            formula="when hours run since the start or the last stop pass the oil interval",
            terms=(
                Term("oil interval", generator.oil_check_h, "h", "the set"),
                Term("longest run between stops", most_s / 3600.0, "h", "this run"),
            ),
            source="The interval of the set’s own book; every stop of the scenario checks the oil.",
            why="" if at_s is None else "no stop of the scenario came before",
            nearest=f"{most_s / 3600.0:.1f} of {generator.oil_check_h:g} h between stops",
        )


def _runs(clock: HarmClock, generator: Generator) -> bool:
    return bool(_clipped(clock.run.served.running[generator.id], clock.span_s))


def _reaching(spans: tuple[Span, ...], span_s: float) -> tuple[Span, ...]:
    """Spans that reach into the run, with what they ran before it: the oil has that behind it."""
    return tuple((a, min(b, span_s)) for a, b in spans if b > 0.0 and a < span_s)


def _clipped(spans: tuple[Span, ...], span_s: float) -> tuple[Span, ...]:
    return tuple((max(a, 0.0), min(b, span_s)) for a, b in spans if b > 0.0 and a < span_s)


def run_hours(running: tuple[Span, ...], at_s: Floats) -> Floats:
    """Hours an engine has turned by each instant. [h]

    >>> run_hours(((0.0, 3600.0), (7200.0, 9000.0)), np.array([1800.0, 7200.0, 9999.0])).tolist()
    [0.5, 1.0, 1.5]
    """
    total = np.zeros(at_s.shape)
    for begin, end in running:
        total += np.clip(at_s - max(begin, 0.0), 0.0, max(0.0, end - max(begin, 0.0)))
    return total / 3600.0
