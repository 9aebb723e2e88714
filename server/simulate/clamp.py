"""Amps read with a clamp, beside what a run has at the same time of day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from server.domain.base import LEGS, Leg
from server.domain.survey import ClampReading
from server.simulate.results import LimitPoint, PointKind, Run

AROUND_MIN = 30
"""How far each side of a reading the run is looked at, since nobody cooks to the minute."""

NEAR_A = 1.0
"""Readings this near the run's range agree: about what a clamp on a household feeder can tell
(common practice, no source)."""

_PLACES: tuple[PointKind, ...] = (
    "service_main",
    "generator",
    "transfer_switch",
    "double_throw",
    "feeder_breaker",
    "feeder_conductor",
    "circuit_breaker",
)

Fit = Literal["inside", "above", "below"]


@dataclass(frozen=True)
class LegComparison:
    """One leg: what was read, the run at that minute, and its range around it. [A]"""

    leg: Leg
    read_a: float
    model_a: float
    least_a: float
    most_a: float

    @property
    def apart_a(self) -> float:
        """Reading less the run's minute."""
        return self.read_a - self.model_a

    @property
    def fit(self) -> Fit:
        """Whether the reading lies in the run's range, above or below it."""
        if self.read_a > self.most_a + NEAR_A:
            return "above"
        if self.read_a < self.least_a - NEAR_A:
            return "below"
        return "inside"


@dataclass(frozen=True)
class ClampComparison:
    """A reading beside a run; ``at`` is the minute of the run it is held against."""

    reading: ClampReading
    point: LimitPoint
    at: datetime
    legs: tuple[LegComparison, LegComparison]

    @property
    def fits(self) -> bool:
        """Whether both legs lie in the run's range."""
        return all(leg.fit == "inside" for leg in self.legs)


def places(run: Run) -> tuple[LimitPoint, ...]:
    """Where amps can be read, one point for each source, switch, feeder and circuit."""
    found: dict[str, LimitPoint] = {}
    for kind in _PLACES:
        for point in run.points:
            if point.kind == kind:
                found.setdefault(point.element_id, point)
    return tuple(found.values())


def same_time(run: Run, at: datetime) -> int | None:
    """The step of the run at this moment, else at this time of day; None where it has neither."""
    first, end = run.scenario.start, run.scenario.end
    if first <= at < end:
        return run.step_of(at)
    moved = datetime.combine(first.date(), at.time())
    if moved < first:
        moved += timedelta(days=1)
    return run.step_of(moved) if moved < end else None


def compare(run: Run, reading: ClampReading) -> ClampComparison | None:
    """The reading beside the run, None where its place is gone or the run has no such time.

    The range is taken over one-minute means (or the run's step, where that is longer) within
    ``AROUND_MIN`` each side.
    """
    point = next((p for p in places(run) if p.element_id == reading.element_id), None)
    step = same_time(run, reading.at)
    if point is None or step is None:
        return None
    index = run.points.index(point)
    around = max(1, AROUND_MIN * 60 // run.scenario.step_s)
    window = run.amps[index, :2, max(0, step - around) : step + around + 1]
    read = (reading.l1_a, reading.l2_a)
    first, second = (
        LegComparison(
            leg,
            read[row],
            float(run.amps[index, row, step]),
            float(np.min(window[row])),
            float(np.max(window[row])),
        )
        for row, leg in enumerate(LEGS)
    )
    return ClampComparison(reading, point, run.time_of(step), (first, second))
