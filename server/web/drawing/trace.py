"""Amps over time as SVG paths: L1 up, L2 down from the neutral line, red past the limit."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.web.drawing.gauge import Gauge, dead_stretches

Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Box:
    """Where on the drawing a trace lies. [px]"""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> float:
        """The neutral line."""
        return self.y + self.height / 2

    @property
    def right(self) -> float:
        """The right edge."""
        return self.x + self.width


@dataclass(frozen=True)
class LimitLine:
    """A limit over part of the trace, above and below the neutral; ``beyond`` is off the scale."""

    x1: float
    x2: float
    up: float
    down: float
    text: str
    beyond: bool = False


@dataclass(frozen=True)
class Hatch:
    """A dead stretch."""

    x: float
    width: float


@dataclass(frozen=True)
class Trace:
    """Paths ready for ``d`` attributes; empty where nothing is to be drawn.

    ``hatched`` says whether its dead stretches are hatched, as those of a set at rest are not.
    """

    box: Box
    l1: str
    l2: str
    l1_over: str
    l2_over: str
    limits: tuple[LimitLine, ...]
    dead: tuple[Hatch, ...]
    hatched: bool = True


def trace(
    gauge: Gauge, *, first: int, last: int, box: Box, top_a: float, column_px: float = 2.0
) -> Trace:
    """Draw steps ``first`` up to ``last`` (not included) into a box.

    Each column of ``column_px`` shows the highest step in it, so that no peak is lost.
    """
    steps = max(last - first, 1)
    columns = int(min(steps, max(box.width // column_px, 1)))
    starts = first + (np.arange(columns) * steps) // columns
    edges = box.x + np.arange(columns + 1) * (box.width / columns)
    per_amp = box.height / 2 / top_a
    tops, tops_over, limits = _columns(gauge, starts, last)
    drawn = [
        (
            _outline(edges, box.middle, box.middle + side * tops[leg] * per_amp),
            _patches(
                edges,
                box.middle + side * limits[leg] * per_amp,
                box.middle + side * tops[leg] * per_amp,
                tops_over[leg],
            ),
        )
        for leg, side in ((0, -1.0), (1, 1.0))
    ]
    scale = box.width / steps

    def at(step: int) -> float:
        return box.x + (min(max(step, first), last) - first) * scale

    return Trace(
        box=box,
        l1=drawn[0][0],
        l2=drawn[1][0],
        l1_over=drawn[0][1],
        l2_over=drawn[1][1],
        limits=tuple(
            _limit_line(box, at(s.first), at(s.last), s.limit_a * per_amp, s.text)
            for s in gauge.stretches
            if s.first < last and s.last > first
        ),
        dead=tuple(
            Hatch(at(a), max(at(b) - at(a), 1.0))
            for a, b in dead_stretches(gauge)
            if a < last and b > first
        ),
        hatched=not gauge.rests,
    )


def _limit_line(box: Box, x1: float, x2: float, rise: float, text: str) -> LimitLine:
    if rise <= box.height / 2:
        return LimitLine(x1, x2, box.middle - rise, box.middle + rise, text)
    said = f"{text}, above this scale"
    return LimitLine(x1, x2, box.y, box.y + box.height, said, beyond=True)


def _columns(
    gauge: Gauge, starts: NDArray[np.intp], last: int
) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Per leg and column: highest amps, whether any step is over, and the limit to draw from."""
    legs = gauge.legs[:, :last]
    tops = np.maximum.reduceat(legs, starts, axis=1)
    past = np.where((legs > gauge.limit[:last]) & ~gauge.dead[:last], legs, 0.0)
    peaks = np.maximum.reduceat(past, starts, axis=1)
    lowest = np.minimum.reduceat(gauge.limit[:last], starts)
    return tops, peaks > 0, np.broadcast_to(lowest, tops.shape)


def _outline(edges: Floats, base: float, heights: Floats) -> str:
    if np.allclose(heights, base, atol=0.05):
        return ""
    turns = np.flatnonzero(np.diff(np.round(heights, 1))) + 1
    turned = zip(edges[turns].tolist(), heights[turns].tolist(), strict=True)
    steps = "".join(f"H{x:.1f}V{y:.1f}" for x, y in turned)
    return f"M{edges[0]:.1f} {base:.1f}V{heights[0]:.1f}{steps}H{edges[-1]:.1f}V{base:.1f}Z"


def _patches(edges: Floats, limit: Floats, heights: Floats, over: NDArray[np.bool_]) -> str:
    return "".join(
        f"M{edges[i]:.1f} {limit[i]:.1f}V{heights[i]:.1f}H{edges[i + 1]:.1f}V{limit[i]:.1f}Z"
        for i in np.flatnonzero(over)
    )


def nice_ticks(top: float, *, about: int = 3) -> tuple[float, ...]:
    """Round figures from 0 to at most ``top``.

    >>> nice_ticks(130)
    (0.0, 50.0, 100.0)
    """
    raw = max(top, 1e-9) / about
    power = 10.0 ** np.floor(np.log10(raw))
    step = next((m * power for m in (1, 2, 2.5, 5, 10) if m * power >= raw), 10 * power)
    return tuple(float(step * i) for i in range(int(top / step + 1e-9) + 1))


def spread(levels: list[float], gap: float) -> list[float]:
    """The same levels pushed apart so that neighbours keep at least ``gap``.

    >>> spread([0.0, 1.0, 30.0], 10.0)
    [0.0, 10.0, 30.0]
    """
    order = sorted(range(len(levels)), key=levels.__getitem__)
    moved = list(levels)
    for before, after in pairwise(order):
        moved[after] = max(moved[after], moved[before] + gap)
    return moved
