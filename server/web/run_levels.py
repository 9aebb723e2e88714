"""What the run page shows of what is stored: a plot of each, and the same in figures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from server.simulate.levels import Level, levels
from server.simulate.results import Run
from server.web import format as fmt
from server.web.drawing.level_trace import LevelTrace, level_trace
from server.web.run_charts import LaneSpan, Mark, Shown, time_marks

OPEN_MOST = 2
"""With more plots than these they are folded away until asked for."""


@dataclass(frozen=True)
class LevelRow:
    """A level in figures. ``passed`` says how long it is past each of its limits."""

    start: str
    lowest: str
    lowest_at: datetime
    highest: str
    highest_at: datetime
    end: str
    passed: tuple[str, ...]


@dataclass(frozen=True)
class LevelChart:
    """One level: its plot, where it has no power, and its row of the table."""

    id: str
    name: str
    what: str
    unit: str
    trace: LevelTrace
    ticks: tuple[Mark, ...]
    dead: tuple[LaneSpan, ...]
    row: LevelRow
    outdoors: bool

    @property
    def label(self) -> str:
        """The plot in words."""
        row = self.row
        text = (
            f"{self.name}, {self.what}: lowest {row.lowest}, highest {row.highest} {self.unit}, "
            f"{row.end} at the end"
        )
        return "; ".join((text, *row.passed))


@dataclass(frozen=True)
class LevelsView:
    """Every level of a run over its whole length."""

    charts: tuple[LevelChart, ...]
    hours: tuple[Mark, ...]
    folded: bool


def levels_view(run: Run) -> LevelsView:
    """A chart of every room, store and tank of fuel."""
    found = levels(run)
    whole = Shown(0, run.steps, run.steps, run.scenario.step_s)
    return LevelsView(
        charts=tuple(_chart(run, level) for level in found),
        hours=_named(tuple(time_marks(run, whole)), days=run.scenario.span_h > 48),
        folded=len(found) > OPEN_MOST,
    )


def _named(marks: tuple[Mark, ...], *, days: bool) -> tuple[Mark, ...]:
    """Marks of which so few keep their words that a narrow plot has room: days, or every other."""
    kept = [not mark.text[:1].isdigit() if days else i % 2 == 0 for i, mark in enumerate(marks)]
    return tuple(Mark(m.at, m.text if k else "") for m, k in zip(marks, kept, strict=True))


def _chart(run: Run, level: Level) -> LevelChart:
    drawn = level_trace(level)
    span_s = run.steps * float(run.scenario.step_s)
    digits = 0 if max(abs(t) for _, t in drawn.ticks or ((0.0, 10.0),)) >= 10.0 else 1
    return LevelChart(
        id=level.id,
        name=level.name,
        what=level.what,
        unit=level.unit,
        trace=drawn,
        ticks=tuple(Mark(at, fmt.number(value, digits)) for at, value in drawn.ticks),
        dead=tuple(
            LaneSpan(100.0 * a / span_s, 100.0 * (min(b, span_s) - a) / span_s)
            for a, b in level.dead
            if min(b, span_s) > a
        ),
        row=_row(run, level),
        outdoors=level.beside is not None,
    )


def _row(run: Run, level: Level) -> LevelRow:
    values = level.values
    low, high = int(np.argmin(values)), int(np.argmax(values))

    def at(step: int) -> datetime:
        return run.scenario.start + timedelta(seconds=(step + 1) * run.scenario.step_s)

    return LevelRow(
        start=fmt.number(float(values[0])),
        lowest=fmt.number(float(values[low])),
        lowest_at=at(low),
        highest=fmt.number(float(values[high])),
        highest_at=at(high),
        end=fmt.number(float(values[-1])),
        passed=tuple(_passed(run, level)),
    )


def _passed(run: Run, level: Level) -> Iterator[str]:
    for line in level.lines:
        count = int(level.past(line).sum())
        if count:
            yield f"{line.text}: {fmt.duration(count * run.scenario.step_s / 60.0)}"
