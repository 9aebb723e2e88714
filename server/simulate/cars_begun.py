"""What a car that came home before a run still wants as the run begins."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.simulate.loads import Model, PackedLoads
from server.simulate.models import S0, S1, S2

Floats = NDArray[np.float64]


def cars_begun(packed: PackedLoads, state: Floats) -> PackedLoads:
    """The loads of a run with each car as the hours before have left it.

    ``state`` (loads, states) is what those remember at their end. A session begun before a run is
    taken to have had all its watts since, so what is still wanted is put on top of that.
    """
    starts = packed.starts.copy()
    for i in np.flatnonzero(packed.model == Model.CHARGER):
        rows = slice(packed.start_ptr[i], packed.start_ptr[i + 1])
        sessions = starts[rows]
        begun = sessions[:, 0] < 0.0
        there = np.flatnonzero(begun & (sessions[:, 2] > 0.0))
        if not there.size or state[i, S2] != state[i, S0] + 1.0:
            continue
        sessions[begun, 1] = 0.0
        begin_s = sessions[there[-1], 0]
        sessions[there[-1], 1] = state[i, S1] - begin_s / 3600.0 * packed.load_w[i]
    return packed._replace(starts=starts)
