"""The plots of a run drawn on the server: one chart a bus, lanes of supply, any stretch of time.

Everything across is in per cent of the plot's width and everything up and down in per cent of its
height, so one drawing serves every width.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.domain.topology import BusKind
from server.simulate.results import Run
from server.web import format as fmt
from server.web.drawing.gauge import Gauge, on_generator, positions
from server.web.drawing.strip import day_spans
from server.web.drawing.trace import Box, Trace, nice_ticks, trace

BOX = Box(0.0, 0.0, 1000.0, 144.0)
"""The plot inside a chart; the page stretches it to the width that there is."""
LONG_DEAD_S = 3600
"""Longer without power than a start or a change of source takes; common practice, no source."""
SHORTEST_S = 600
_TICK_HOURS = (1 / 12, 0.25, 0.5, 1, 2, 3, 6, 12, 24, 48)
_TICKS_MOST = 9


@dataclass(frozen=True)
class Mark:
    """Words at a place, in per cent of a width or height."""

    at: float
    text: str


@dataclass(frozen=True)
class Words:
    """Words inside a plot, in per cent of its width and height."""

    x: float
    y: float
    text: str


@dataclass(frozen=True)
class Chart:
    """One bus over a stretch of time; ``never`` is of a set that feeds nothing in all the run."""

    name: str
    kind: BusKind
    trace: Trace
    amps: tuple[Mark, ...]
    hours: tuple[Mark, ...]
    limits: tuple[Words, ...]
    dead: tuple[Mark, ...]
    cursor: float | None
    never: bool


@dataclass(frozen=True)
class LaneSpan:
    """A stretch of a lane, in per cent of its width."""

    x: float
    width: float


@dataclass(frozen=True)
class Lane:
    """One thing of the supply over time: ``out`` is hatched while gone, ``on`` solid while on."""

    name: str
    style: Literal["out", "on"]
    seconds: tuple[tuple[float, float], ...]

    def spans(self, from_s: float, to_s: float) -> tuple[LaneSpan, ...]:
        """The stretches between two times of the run."""
        length = max(to_s - from_s, 1.0)
        cut = [(max(a, from_s), min(b, to_s)) for a, b in self.seconds if b > from_s and a < to_s]
        return tuple(
            LaneSpan(100 * (a - from_s) / length, 100 * (b - a) / length) for a, b in cut if b > a
        )


@dataclass(frozen=True)
class Shown:
    """The stretch of a run that is drawn: steps ``first`` up to ``last``, not included."""

    first: int
    last: int
    steps: int
    step_s: int

    @property
    def from_s(self) -> float:
        """Seconds from the start of the run."""
        return float(self.first * self.step_s)

    @property
    def to_s(self) -> float:
        """Seconds from the start of the run."""
        return float(self.last * self.step_s)

    @property
    def whole(self) -> bool:
        """Whether it is the whole run."""
        return self.first == 0 and self.last == self.steps

    def around(self, middle: float, length: float) -> Shown:
        """A stretch of so many steps about a middle, kept inside the run."""
        least = min(max(SHORTEST_S // self.step_s, 10), self.steps)
        wide = int(min(max(round(length), least), self.steps))
        first = int(min(max(round(middle - wide / 2), 0), self.steps - wide))
        return Shown(first, first + wide, self.steps, self.step_s)


def whole_run(run: Run) -> Shown:
    """The run from end to end."""
    return Shown(0, run.steps, run.steps, run.scenario.step_s)


def shown_stretch(run: Run, step: int, begin: datetime | None, end: datetime | None) -> Shown:
    """The stretch asked for; the day of ``step`` where none is and the run has several days.

    Where no limit is passed, but what the generator feeds stays dead, it is the day that begins.
    """
    whole = whole_run(run)
    if begin is None or end is None or end <= begin:
        if run.scenario.span_h <= 24:
            return whole
        seen = _goes_dead(run, step) if begin is None else step
        first, last = next(s for s in day_spans(run) if s[0] <= seen < s[1])
        return Shown(first, last, run.steps, run.scenario.step_s)
    first = int((begin - run.scenario.start).total_seconds() // run.scenario.step_s)
    last = int(np.ceil((end - run.scenario.start).total_seconds() / run.scenario.step_s))
    return whole.around((first + last) / 2, last - first)


def _goes_dead(run: Run, step: int) -> int:
    """Where a bus that is not of the utility alone first goes dead for long, else ``step``."""
    worst = run.verdict.worst
    if worst is None or worst.status == "over" or step != run.step_of(worst.worst.at):
        return step
    least = LONG_DEAD_S // run.scenario.step_s
    begins = []
    for row, bus in enumerate(run.buses):
        if bus.kind == "normal":
            continue
        dead = np.concatenate(([0], (run.bus_live[row] < 0.5).astype(np.int8), [0]))
        edges = np.flatnonzero(np.diff(dead))
        begins += [int(a) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= least]
    return min(begins, default=step)


def charts(
    run: Run, found: tuple[Gauge, ...], shown: Shown, step: int, *, box: Box = BOX
) -> tuple[Chart, ...]:
    """A chart of every bus; ``step`` is where the cursor stands, if it is in the stretch."""
    hours = tuple(time_marks(run, shown))
    inside = shown.first <= step < shown.last
    cursor = 100 * (step + 0.5 - shown.first) / (shown.last - shown.first) if inside else None
    return tuple(_chart(gauge, shown, hours, cursor, box) for gauge in found)


def _chart(
    gauge: Gauge, shown: Shown, hours: tuple[Mark, ...], cursor: float | None, box: Box
) -> Chart:
    top_a = gauge.top_within(shown.first, shown.last)
    drawn = trace(gauge, first=shown.first, last=shown.last, box=box, top_a=top_a)
    ticks = nice_ticks(top_a)
    share = [50 * t / top_a for t in ticks]
    marks = [Mark(50 - s, fmt.number(t, 0)) for s, t in zip(share, ticks, strict=True)]
    marks += [Mark(50 + s, fmt.number(t, 0)) for s, t in zip(share[1:], ticks[1:], strict=True)]
    across, down = 100 / box.width, 100 / box.height
    limits = [
        Words(limit.x1 * across, limit.up * down, limit.text)
        for limit in drawn.limits
        if (limit.x2 - limit.x1) * across > _least_width(limit.text)
    ]
    dead = [
        Mark((hatch.x + hatch.width / 2) * across, gauge.dead_word)
        for hatch in drawn.dead
        if hatch.width * across > max(8, len(gauge.dead_word))
    ]
    return Chart(
        name=gauge.name,
        kind=gauge.kind,
        trace=drawn,
        amps=tuple(marks),
        hours=hours,
        limits=tuple(limits),
        dead=tuple(dead),
        cursor=cursor,
        never=gauge.never_ran,
    )


def _least_width(text: str) -> float:
    """Room that words over a chart need, so that they do not run into the next. [%]"""
    return max(16.0, 1.05 * len(text))


def time_marks(run: Run, shown: Shown) -> Iterator[Mark]:
    """Round times under a plot; midnight is written as its day."""
    length_s = shown.to_s - shown.from_s
    hours = next((h for h in _TICK_HOURS if length_s / 3600 / h <= _TICKS_MOST), 48)
    every = timedelta(hours=hours)
    start = run.scenario.start
    begin = start + timedelta(seconds=shown.from_s)
    end = start + timedelta(seconds=shown.to_s)
    midnight = begin.replace(hour=0, minute=0, second=0, microsecond=0)
    at = midnight + every * -((midnight - begin) // every)
    while at <= end:
        place = 100 * (at - begin).total_seconds() / length_s
        yield Mark(place, fmt.day(at) if at.hour + at.minute == 0 else fmt.clock(at))
        at += every


def lanes(run: Run) -> tuple[Lane, ...]:
    """Utility, generators and double-throws over the whole run."""
    start, span_s = run.scenario.start, float(run.steps * run.scenario.step_s)

    def seconds(at: datetime) -> float:
        return min(max((at - start).total_seconds(), 0.0), span_s)

    out = tuple((seconds(w.start), seconds(w.end)) for w in run.scenario.outages)
    name = "utility, hatched while out" if any(b > a for a, b in out) else "utility"
    found = [Lane(name, "out", out)]
    if run.site.generators:
        used = np.zeros(run.steps, dtype=bool)
        for row in range(len(run.buses)):
            used |= on_generator(run, row)
        named = "generator" if used.any() else "generator, did not run"
        found.append(Lane(named, "on", _stretches(used, run)))
    for throw in run.site.double_throws:
        thrown = _stretches(positions(run, throw.id), run)
        found.append(Lane(f"{throw.name} on BACKED-UP", "on", thrown))
    return tuple(found)


def _stretches(flags: NDArray[np.bool_], run: Run) -> tuple[tuple[float, float], ...]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    step_s = run.scenario.step_s
    return tuple(
        (float(a) * step_s, float(b) * step_s) for a, b in zip(edges[::2], edges[1::2], strict=True)
    )
