"""Starts that a scenario lists for the seconds in which a switch is thrown or a set takes over.

Whoever begins a wash at ten and finds the switch in motion begins it when power is back; nobody
lets the day go for it. A longer outage is another matter: what falls into one is lost.
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
    packed: PackedLoads, segment_start_s: Floats, segment_s: Floats, available: Floats
) -> PackedLoads:
    """The same loads, each listed start in a short stretch without power moved to its end.

    ``segment_start_s`` and ``segment_s`` are (segments,) [s], ``available`` (segments, loads).
    Starts drawn by habit keep their moments.
    """
    starts = packed.starts.copy()
    end_s = segment_start_s + segment_s
    for load in np.flatnonzero(packed.model == Model.TIMED):
        first, last = int(packed.start_ptr[load]), int(packed.start_ptr[load + 1])
        if last == first or (available[:, load] > 0.0).all():
            continue
        for begin, end in _stretches(segment_start_s, end_s, available[:, load] <= 0.0):
            if end - begin <= LONGEST_S and end < packed.span_s:
                own = starts[first:last, 0]
                own[(own >= begin) & (own < end)] = end
    return packed._replace(starts=starts)


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
