"""The cells of a scenario: its steps, cut wherever the supply changes."""

from __future__ import annotations

from datetime import datetime
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from server.domain.scenario import Scenario

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Cells(NamedTuple):
    """The cells of a scenario.

    start_s, dt_s   (cells,)         Start from the scenario's start, and length. [s]
    weight          (cells,)         Share of its step.
    segment_cell    (segments + 1,)  First cell of each segment.
    step_cell       (steps + 1,)     First cell of each step.
    """

    start_s: Floats
    dt_s: Floats
    weight: Floats
    segment_cell: Ints
    step_cell: Ints


def midnight_s(start: datetime) -> float:
    """Seconds from the scenario's start back to its first midnight, zero or negative."""
    return -float(start.hour * 3600 + start.minute * 60 + start.second)


def cut_cells(
    scenario: Scenario, segment_start_s: Floats, *, every_s: float | None = None
) -> Cells:
    """Cells of a scenario whose supply changes at these seconds, the first of them 0.

    None is longer than ``every_s``, or crosses a multiple of it.
    """
    return _cut(
        scenario.steps,
        float(scenario.step_s),
        tuple(segment_start_s.tolist()),
        every_s,
    )


@lru_cache(maxsize=16)
def _cut(
    steps: int,
    step_s: float,
    segment_starts: tuple[float, ...],
    every_s: float | None,
) -> Cells:
    """Worked out once for each clock, as circuits are moved under it."""
    step_edges: Floats = np.arange(steps + 1, dtype=np.float64) * step_s
    cuts = [at for at in segment_starts if at % step_s]
    if every_s is not None and every_s % step_s:
        cuts += np.arange(0.0, step_edges[-1], every_s).tolist()
    marks = step_edges
    if cuts:
        marks = np.union1d(step_edges, cuts)
        marks = marks[np.append(True, np.diff(marks) > 1e-9)]
        marks = marks[marks <= step_edges[-1]]
    start_s: Floats = marks[:-1]
    dt_s: Floats = np.diff(marks)
    found = Cells(
        start_s=start_s,
        dt_s=dt_s,
        weight=dt_s / step_s,
        segment_cell=np.append(
            np.searchsorted(start_s, np.array(segment_starts) - 1e-9), start_s.shape[0]
        ),
        step_cell=np.searchsorted(marks, step_edges - 1e-9),
    )
    for part in found:
        part.setflags(write=False)
    return found
