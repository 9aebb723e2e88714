"""Starts that fall into the seconds in which a switch is thrown or a set takes over.

Whoever begins a wash at ten and finds the switch in motion begins it when power is back; nobody
lets the day go for it, whether a scenario lists the start or a habit brings it. A longer outage is
another matter: what falls into one is lost. So is what is due with nobody there to wait.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.simulate.loads import Model, PackedLoads

Floats = NDArray[np.float64]

LONGEST_S = 300.0
"""So long somebody stands by: longer than a throw, shorter than a stop for fuel. Common practice,
no source. [s]"""


def after_dead_seconds(
    packed: PackedLoads,
    segment_start_s: Floats,
    segment_s: Floats,
    available: Floats,
    *,
    somebody: bool = True,
) -> PackedLoads:
    """The same loads with their short stretches without power, after which a start is made.

    ``segment_start_s`` and ``segment_s`` are (segments,) [s], ``available`` (segments, loads).
    Without ``somebody`` there only listed starts are: the scenario means them.
    """
    end_s = segment_start_s + segment_s
    found: list[list[tuple[float, float]]] = [[] for _ in packed.model]
    for load in np.flatnonzero(packed.model == Model.TIMED):
        listed = packed.start_ptr[load + 1] > packed.start_ptr[load]
        if (available[:, load] > 0.0).all() or not (listed or somebody):
            continue
        found[load] = [
            (begin, end)
            for begin, end in _stretches(segment_start_s, end_s, available[:, load] <= 0.0)
            if end - begin <= LONGEST_S and end < packed.span_s
        ]
    gaps = np.array([gap for gaps in found for gap in gaps], dtype=np.float64).reshape(-1, 2)
    pointers = np.append(0, np.cumsum([len(gaps) for gaps in found])).astype(np.int64)
    return packed._replace(gap_ptr=pointers, gaps=gaps)


def _stretches(
    start_s: Floats, end_s: Floats, dead: NDArray[np.bool_]
) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for k in np.flatnonzero(dead):
        if found and abs(found[-1][1] - start_s[k]) < 1e-6:
            found[-1] = found[-1][0], float(end_s[k])
        else:
            found.append((float(start_s[k]), float(end_s[k])))
    return found
