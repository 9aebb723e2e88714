"""The strip of a whole run, and the strip of its days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from server.simulate.results import Run
from server.web.drawing.gauge import Gauge
from server.web.drawing.trace import Box, Trace, trace
from server.web.format import amps, day, duration, number

_FLAGS_MOST = 40


@dataclass(frozen=True)
class Tick:
    """A place on the time line with its words."""

    x: float
    text: str


@dataclass(frozen=True)
class Band:
    """A stretch of the line that says whether the utility is there."""

    x: float
    width: float
    out: bool


@dataclass(frozen=True)
class Strip:
    """The run from end to end with a cursor."""

    width: float
    height: float
    trace: Trace
    days: tuple[Tick, ...]
    bands: tuple[Band, ...]
    flags: tuple[float, ...]
    cursor: float | None
    label: str


@dataclass(frozen=True)
class DayCell:
    """One day of the strip of days.

    ``dead``: the bus has no supply all day; ``dead_for``: how long it has none in part of it.
    """

    name: str
    at: datetime
    trace: Trace
    bands: tuple[Band, ...]
    peak: str
    over_min: str
    over: bool
    dead: bool
    dead_for: str
    current: bool
    cursor: float | None


def bands(run: Run, *, first: int, last: int, box: Box) -> tuple[Band, ...]:
    """Utility on and out between two steps."""
    per_step = box.width / max(last - first, 1)

    def at(when: datetime) -> float:
        seconds = (when - run.scenario.start).total_seconds()
        step = min(max(seconds / run.scenario.step_s, first), last)
        return box.x + (step - first) * per_step

    found: list[Band] = []
    edge = box.x
    for window in sorted(run.scenario.outages, key=lambda w: w.start):
        start, end = at(window.start), at(window.end)
        if end <= start:
            continue
        if start > edge:
            found.append(Band(edge, start - edge, out=False))
        found.append(Band(start, end - start, out=True))
        edge = end
    if edge < box.right:
        found.append(Band(edge, box.right - edge, out=False))
    return tuple(found)


def over_starts(gauge: Gauge) -> tuple[int, ...]:
    """First step of every stretch past the limit."""
    over = gauge.over.astype(np.int8)
    return tuple(int(i) for i in np.flatnonzero(np.diff(np.concatenate(([0], over))) == 1))


def run_strip(run: Run, gauge: Gauge, *, step: int | None, width: float = 1216.0) -> Strip:
    """The whole run of one bus, L1 up and L2 down, the cursor at a step."""
    left = 28.0 if width > 600 else 0.0
    box = Box(left, 4.0, width - left, 116.0)
    per_step = box.width / run.steps
    drawn = trace(gauge, first=0, last=run.steps, box=box, top_a=gauge.top_a)
    flags = over_starts(gauge)
    apart: list[float] = []
    for flag in flags:
        x = box.x + flag * per_step
        if not apart or x - apart[-1] > 12:
            apart.append(x)
    return Strip(
        width=width,
        height=150.0,
        trace=drawn,
        days=tuple(
            Tick(box.x + first * per_step, day(run.time_of(first))) for first, _ in day_spans(run)
        )
        if run.scenario.span_h <= 24 * 8 or width > 600
        else (),
        bands=bands(run, first=0, last=run.steps, box=box),
        flags=tuple(apart[:_FLAGS_MOST]),
        cursor=None if step is None else box.x + (step + 0.5) * per_step,
        label=f"{gauge.name}, amps over the run, L1 above the neutral and L2 below",
    )


def day_spans(run: Run) -> tuple[tuple[int, int], ...]:
    """First and last-plus-one step of each calendar day in a run."""
    found = []
    first = 0
    while first < run.steps:
        at = run.time_of(first)
        midnight = datetime.combine(at.date() + timedelta(days=1), datetime.min.time())
        left = (midnight - run.scenario.start).total_seconds() / run.scenario.step_s
        last = min(int(np.ceil(left)), run.steps)
        found.append((first, last))
        first = last
    return tuple(found)


def day_cells(run: Run, gauge: Gauge, *, step: int) -> tuple[DayCell, ...]:
    """A small trace for each day, with its peaks and minutes over."""
    box = Box(0.0, 0.0, 290.0, 64.0)
    over = gauge.over
    top_a = gauge.top_a
    found = []
    for first, last in day_spans(run):
        legs = gauge.legs[:, first:last]
        top = int(np.argmax(legs.max(axis=0)))
        minutes = float(over[first:last].sum()) * run.scenario.step_s / 60
        per_step = box.width / (last - first)
        here = first <= step < last
        dark = int(gauge.dead[first:last].sum())
        found.append(
            DayCell(
                name=day(run.time_of(first)),
                at=run.time_of(first + top),
                trace=trace(gauge, first=first, last=last, box=box, top_a=top_a),
                bands=bands(run, first=first, last=last, box=box),
                peak=f"L1 {amps(float(legs[0].max()))}, L2 {amps(float(legs[1].max()))}",
                over_min=number(minutes, 0) if minutes >= 1 else "<1",
                over=minutes > 0,
                dead=dark == last - first,
                dead_for=duration(dark * run.scenario.step_s / 60) if dark else "",
                current=here,
                cursor=(step - first + 0.5) * per_step if here else None,
            )
        )
    return tuple(found)
