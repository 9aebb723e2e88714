"""The series of a run as a plot asks for them: no more points than it has pixels."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.simulate.results import Run
from server.web.drawing.gauge import Gauge, dead_stretches, gauges, on_generator, positions
from server.web.drawing.strip import day_spans

MOST_PX = 4_000


def plot_data(run: Run, *, from_s: float, to_s: float, px: int) -> dict[str, Any]:
    """Amps of every bus between two times, with limits and dead stretches.

    Parameters
    ----------
    from_s, to_s : float   Seconds from the start of the run, clipped to it. [s]
    px : int               Width of the plot; longer series keep the lowest and highest step of
                           each pixel, in the order they came.
    """
    step_s = run.scenario.step_s
    first = min(max(int(from_s // step_s), 0), run.steps - 1)
    last = min(max(int(np.ceil(to_s / step_s)), first + 1), run.steps)
    px = min(max(px, 50), MOST_PX)
    return {
        "start": run.scenario.start.isoformat(),
        "step_s": step_s,
        "span_s": run.steps * step_s,
        "from_s": first * step_s,
        "to_s": last * step_s,
        "days_s": [a * step_s for a, _ in day_spans(run)],
        "lanes": _lanes(run),
        "charts": [_chart(gauge, first, last, px, step_s) for gauge in gauges(run)],
    }


def _chart(gauge: Gauge, first: int, last: int, px: int, step_s: int) -> dict[str, Any]:
    steps, l1, l2 = thinned(gauge.legs[:, first:last], px)
    return {
        "id": gauge.id,
        "name": gauge.name,
        "kind": gauge.kind,
        "point": gauge.point_id,
        "top": round(gauge.top_a, 1),
        "x": [*((steps + first) * step_s).round(1).tolist(), last * step_s],
        "l1": [*np.round(l1, 2).tolist(), 0.0],
        "l2": [*np.round(l2, 2).tolist(), 0.0],
        "limits": [
            {"from": s.first * step_s, "to": s.last * step_s, "a": s.limit_a, "text": s.text}
            for s in gauge.stretches
        ],
        "dead": [[a * step_s, b * step_s] for a, b in dead_stretches(gauge)],
    }


def thinned(
    legs: NDArray[np.float64], px: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Steps and amps of both legs, at most two for each pixel.

    >>> steps, l1, l2 = thinned(np.array([[1.0, 9.0, 2.0, 3.0], [0.0, 0.0, 5.0, 4.0]]), 1)
    >>> l1.tolist(), l2.tolist()
    ([1.0, 9.0], [0.0, 5.0])
    """
    count = legs.shape[1]
    if count <= 2 * px:
        return np.arange(count, dtype=np.float64), legs[0], legs[1]
    starts = (np.arange(px) * count) // px
    ends = np.append(starts[1:], count)
    middles = (starts + ends) / 2
    steps = np.column_stack((starts, middles)).ravel()
    both = [_ends_of(leg, starts, ends) for leg in legs]
    return steps.astype(np.float64), both[0], both[1]


def _ends_of(
    leg: NDArray[np.float64], starts: NDArray[np.int64], ends: NDArray[np.int64]
) -> NDArray[np.float64]:
    low = np.minimum.reduceat(leg, starts)
    high = np.maximum.reduceat(leg, starts)
    rising = leg[starts] <= leg[ends - 1]
    return np.where(rising, (low, high), (high, low)).T.ravel()


def _lanes(run: Run) -> list[dict[str, Any]]:
    """Utility, generator and double-throws, as stretches of time."""
    start, span_s = run.scenario.start, run.steps * run.scenario.step_s

    def seconds(at: Any) -> float:
        return float(min(max((at - start).total_seconds(), 0.0), span_s))

    out = [[seconds(w.start), seconds(w.end)] for w in run.scenario.outages]
    lanes: list[dict[str, Any]] = [{"name": "utility", "style": "out", "spans": out}]
    if run.site.generators:
        used = np.zeros(run.steps, dtype=bool)
        for row in range(len(run.buses)):
            used |= on_generator(run, row)
        lanes.append({"name": "generator", "style": "on", "spans": _spans(used, run)})
    for throw in run.site.double_throws:
        thrown = _spans(positions(run, throw.id), run)
        lanes.append({"name": f"{throw.name} on BACKED-UP", "style": "on", "spans": thrown})
    return lanes


def _spans(flags: NDArray[np.bool_], run: Run) -> list[list[int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    step_s = run.scenario.step_s
    return [
        [int(a) * step_s, int(b) * step_s] for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
