"""What rests out of its season: loads that work only between two outdoor temperatures."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.domain.behaviour import Seasonal

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

ABOVE_F, BELOW_F = 3, 4
"""Columns of ``params``: outdoors between which what keeps to a season works."""


def season_row(behaviour: Seasonal) -> tuple[float, float]:
    """Outdoor temperatures it works above and below, without bound where none is given. [F]"""
    above, below = behaviour.only_above_f, behaviour.only_below_f
    return (-np.inf if above is None else above, np.inf if below is None else below)


@njit(cache=True)
def out_of_season(params: Floats, outdoor_f: Floats, asked: Singles, took: Singles) -> None:
    """Rest in the cells whose outdoors is not between the two temperatures.

    ``params`` is the row of one load; ``outdoor_f`` [F], ``asked`` and ``took`` [W] are (cells,).
    """
    above_f, below_f = params[ABOVE_F], params[BELOW_F]
    if above_f == -np.inf and below_f == np.inf:
        return
    for c in range(outdoor_f.shape[0]):
        if not above_f < outdoor_f[c] < below_f:
            asked[c] = took[c] = 0.0
