"""Amps read with a clamp, beside what a run has at the same time of day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from server.domain.appliance import Appliance
from server.domain.base import LEGS, Leg
from server.domain.circuit import Circuit
from server.domain.panel import leg_of_space
from server.domain.survey import ClampReading
from server.physics.legs import amps_per_watt
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
class Running:
    """What of a circuit draws as much as was read, by its own figures. ``amps`` by leg. [A]

    ``off`` tells that the run has the circuit off at that time.
    """

    name: str
    amps: tuple[float, float]
    off: bool


@dataclass(frozen=True)
class ClampComparison:
    """A reading beside a run; ``at`` is the minute of the run it is held against."""

    reading: ClampReading
    point: LimitPoint
    at: datetime
    legs: tuple[LegComparison, LegComparison]
    running: Running | None = None

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
    running = None
    if point.kind == "circuit_breaker" and "above" in (first.fit, second.fit):
        off = max(first.most_a, second.most_a) < NEAR_A
        running = _running(run.site.circuit(point.element_id), read, off=off)
    return ClampComparison(reading, point, run.time_of(step), (first, second), running)


def _running(circuit: Circuit, read: tuple[float, float], *, off: bool) -> Running | None:
    """One appliance of a circuit, or all of them, that fully on draws what was read."""
    each = [(a.name, _amps_on(circuit, a)) for a in circuit.appliances]
    if len(each) > 1:
        every = (sum(amps[0] for _, amps in each), sum(amps[1] for _, amps in each))
        each.append((f"everything on {circuit.name}", every))
    near = [
        (abs(amps[0] - read[0]) + abs(amps[1] - read[1]), Running(name, amps, off))
        for name, amps in each
        if abs(amps[0] - read[0]) <= NEAR_A and abs(amps[1] - read[1]) <= NEAR_A
    ]
    return min(near, key=lambda found: found[0])[1] if near else None


def _amps_on(circuit: Circuit, appliance: Appliance) -> tuple[float, float]:
    """Amps of an appliance fully on, by leg, at 120/240 V. [A]"""
    wires = [LEGS.index(leg_of_space(space)) for space in circuit.spaces]
    one = wires[min(appliance.on_pole, len(wires)) - 1]
    to_neutral = amps_per_watt(system="120/240", wire=one, power_factor=appliance.power_factor)
    across = amps_per_watt(system="120/240", wire=None, power_factor=appliance.power_factor)
    part_w = appliance.load_w if appliance.volts == 120 else appliance.part_120_w
    rest_w = appliance.load_w - part_w
    return (
        abs(part_w * to_neutral[0] + rest_w * across[0]),
        abs(part_w * to_neutral[1] + rest_w * across[1]),
    )
