"""A run as the plot in the browser asks for it: what to draw as JSON, every step as bytes."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.simulate.results import Run
from server.web.drawing.gauge import OFF_SCALE, Gauge, dead_stretches, gauges
from server.web.drawing.strip import day_spans
from server.web.run_charts import lanes

FULL = 65_535
"""The largest whole number of two bytes: what the tallest step of a chart is written as."""


def plot_data(run: Run) -> dict[str, Any]:
    """Everything a plot needs but the amps: names, limits, dead stretches, lanes of supply.

    ``unit_a`` of a chart is the amps of one count in :func:`plot_steps`.
    """
    step_s = run.scenario.step_s
    return {
        "start": run.scenario.start.isoformat(),
        "step_s": step_s,
        "steps": run.steps,
        "span_s": run.steps * step_s,
        "days_s": [a * step_s for a, _ in day_spans(run)],
        "lanes": [
            {"name": lane.name, "style": lane.style, "spans": lane.seconds} for lane in lanes(run)
        ],
        "charts": [_chart(gauge, step_s) for gauge in gauges(run)],
    }


def _chart(gauge: Gauge, step_s: int) -> dict[str, Any]:
    return {
        "id": gauge.id,
        "name": gauge.name,
        "kind": gauge.kind,
        "point": gauge.point_id,
        "off_scale": OFF_SCALE,
        "unit_a": _unit_a(gauge),
        "limits": [
            {"from": s.first * step_s, "to": s.last * step_s, "a": s.limit_a, "text": s.text}
            for s in gauge.stretches
        ],
        "dead": [[a * step_s, b * step_s] for a, b in dead_stretches(gauge)],
        "dead_word": gauge.dead_word,
        "hatched": not gauge.rests,
        "never": gauge.never_ran,
    }


def _unit_a(gauge: Gauge) -> float:
    return max(float(gauge.legs.max(initial=0.0)), 1.0) / FULL


def plot_steps(run: Run) -> bytes:
    """Amps of every step: for each chart L1, then L2, as little-endian counts of two bytes."""
    return b"".join(_counts(gauge).tobytes() for gauge in gauges(run))


def _counts(gauge: Gauge) -> NDArray[np.uint16]:
    return np.clip(np.round(gauge.legs / _unit_a(gauge)), 0, FULL).astype("<u2")
