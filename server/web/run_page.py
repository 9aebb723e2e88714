"""What the run page lists beside its plots: stretches over a limit, hourly peaks, who went dark."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from server.advise.advice import advice_on, judged
from server.domain.working import Working
from server.simulate.alike import Folded, folded
from server.simulate.positions import either_position
from server.simulate.results import Run, Status
from server.web import format as fmt
from server.web.drawing.gauge import Gauge
from server.web.fuel_view import burnt_words

STRETCHES_MOST = 60


@dataclass(frozen=True)
class Stretch:
    """A stretch of time past one limit; ``along`` says where the same limit comes again."""

    limit: str
    along: str
    limit_a: str
    day: str
    start: str
    end: str
    minutes: str
    leg: str
    worst: str
    over_by: str
    heaviest: str
    at: str
    point_id: str


@dataclass(frozen=True)
class HourRow:
    """Highest amps of one hour on each bus and leg."""

    hour: str
    cells: tuple[tuple[str, bool], ...]


@dataclass(frozen=True)
class DarkRow:
    """A circuit that asked for power and got none: asked in all, dark at the longest and in all.

    ``in_use_only`` where the dark hours count only while what must be served on it is in use.
    """

    name: str
    asked: str
    gap: str
    too_long: bool
    dark: str = ""
    in_use_only: bool = False


@dataclass(frozen=True)
class HeldRow:
    """A circuit that a load manager controls."""

    name: str
    manager: str
    times: str
    minutes: str


@dataclass(frozen=True)
class PositionRow:
    """A double-throw held in one position throughout."""

    name: str
    status: Status
    answer: str
    worst: str
    percent: str


@dataclass(frozen=True)
class SourceRow:
    """Energy through one source."""

    name: str
    given: str
    taken: str
    hours: str
    fuel: str
    guess: bool
    working: Working | None


def stretches(run: Run) -> tuple[tuple[Stretch, ...], int]:
    """Stretches past a shared limit in order of time, and how many there are in all."""
    rows = {point.id: i for i, point in enumerate(run.points)}
    found: list[tuple[int, int, Folded]] = []
    for one in folded(run.verdict.over):
        point = one.result.point
        over = (run.amps[rows[point.id], :2] > point.leg_rating_a).any(axis=0)
        edges = np.flatnonzero(np.diff(np.concatenate(([0], over.astype(np.int8), [0]))))
        found += [(int(a), int(b), one) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    found.sort(key=lambda s: (s[0], s[2].result.point.name))
    shown = tuple(
        _stretch(run, rows[one.result.point.id], one, a, b) for a, b, one in found[:STRETCHES_MOST]
    )
    return shown, len(found)


def _stretch(run: Run, row: int, one: Folded, first: int, last: int) -> Stretch:
    point = one.result.point
    legs = run.amps[row, :2, first:last]
    place, offset = np.unravel_index(int(np.argmax(legs)), legs.shape)
    step, worst = first + int(offset), float(legs[place, offset])
    who = run.who_was_on(point.id, ("L1", "L2")[place], step)[:3]
    return Stretch(
        limit=point.name,
        along=one.along,
        limit_a=fmt.amps(point.leg_rating_a),
        day=fmt.day(run.time_of(first)),
        start=fmt.clock(run.time_of(first)),
        end=fmt.clock(run.time_of(last)),
        minutes=fmt.minutes_or_dash((last - first) * run.scenario.step_s / 60),
        leg=("L1", "L2")[place],
        worst=fmt.amps(worst),
        over_by=fmt.amps(worst - point.leg_rating_a),
        heaviest=", ".join(f"{c.appliance_name} {fmt.amps(c.amps_a)}" for c in who),
        at=fmt.field_time(run.time_of(step)),
        point_id=point.id,
    )


def hourly(run: Run, found: tuple[Gauge, ...]) -> tuple[HourRow, ...]:
    """Highest amps of each hour, bus and leg; true beside a cell that is past its limit."""
    firsts = np.arange(0, run.steps, max(3600 // run.scenario.step_s, 1))
    columns: list[list[tuple[str, bool]]] = []
    for gauge in found:
        dead = np.logical_and.reduceat(gauge.dead, firsts)
        off_word = "off" if gauge.rests else "dead"
        for leg in (0, 1):
            peaks = np.maximum.reduceat(gauge.legs[leg], firsts)
            over = np.logical_or.reduceat(gauge.legs[leg] > gauge.limit, firsts)
            columns.append(
                [
                    (off_word, False) if off else (fmt.amps_or_dash(peak), past)
                    for peak, past, off in zip(
                        peaks.tolist(), over.tolist(), dead.tolist(), strict=True
                    )
                ]
            )
    return tuple(
        HourRow(fmt.short_when(run.time_of(int(first))), tuple(cells))
        for first, *cells in zip(firsts, *columns, strict=True)
    )


def went_dark(run: Run) -> tuple[DarkRow, ...]:
    """Circuits that asked and got nothing, longest first; those beyond their allowed gap lead."""
    asked = [s for s in run.service if s.unserved_min >= 1 or s.gap_exceeded]
    asked.sort(key=lambda s: (not s.gap_exceeded, -s.unserved_min))
    return tuple(
        DarkRow(
            s.name,
            fmt.duration(s.unserved_min),
            fmt.duration(s.longest_gap_min) if s.longest_gap_min > 0 else "never",
            s.gap_exceeded,
            fmt.duration(s.dark_min) if s.dark_min > 0 else "never",
            s.in_use_only,
        )
        for s in asked
    )


def held_off(run: Run) -> tuple[HeldRow, ...]:
    """What load managers did in this run, what was held off longest first."""
    name_of = {g.id: g.name for g in run.site.energy_groups}
    manager = {c.id: name_of.get(c.energy_group_id or "") for c in run.site.circuits}
    rows = sorted((s for s in run.service if manager[s.circuit_id]), key=lambda s: -s.held_min)
    return tuple(
        HeldRow(
            s.name,
            manager[s.circuit_id] or "",
            str(s.times_held) if s.times_held else fmt.NOTHING,
            fmt.minutes_or_dash(s.held_min),
        )
        for s in rows
    )


def positions_held(run: Run) -> tuple[PositionRow, ...]:
    """Each position of the double-throws held throughout, with its answer."""
    made = []
    for result in either_position(run.site, run.scenario):
        verdict = judged(result.run)
        worst = verdict.worst
        answer = verdict.answer(advice_on(result.run).provided)
        made.append(
            PositionRow(
                name=result.name,
                status="over" if not verdict.fits else worst.status if worst else "within",
                answer=answer.rstrip("."),
                worst=worst.point.name if worst else "",
                percent=fmt.percent(worst.worst.percent) if worst else fmt.NOTHING,
            )
        )
    return tuple(made)


def sources(run: Run) -> tuple[SourceRow, ...]:
    """Energy and hours of every source."""
    return tuple(
        SourceRow(
            s.name,
            fmt.number(s.in_kwh),
            fmt.number(s.out_kwh) if s.out_kwh >= 0.05 else fmt.NOTHING,
            fmt.number(s.run_h) if s.kind == "generator" else "",
            burnt_words(s.fuel_used.value, s.fuel_used.unit) if s.fuel_used else "",
            s.fuel_guess,
            s.fuel_used if s.run_h > 0 else None,
        )
        for s in run.sources
    )
