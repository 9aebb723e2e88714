"""What rests out of its season: loads that work only between two outdoor temperatures."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.domain.behaviour import Cycle, Seasonal

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

ON_S, OFF_S = 0, 1
ABOVE_F, BELOW_F, FULL_F = 3, 4, 5
"""Columns of ``params``: mean turns; outdoors between which what keeps to a season works, and
where it no longer rests, not a number where the weather does not lengthen its turns."""


def season_row(behaviour: Seasonal) -> tuple[float, float]:
    """Outdoor temperatures it works above and below, without bound where none is given. [F]"""
    above, below = behaviour.only_above_f, behaviour.only_below_f
    return (-np.inf if above is None else above, np.inf if below is None else below)


def full_at(behaviour: Cycle) -> float:
    """Outdoor temperature at which it no longer rests, not a number without one. [F]"""
    return np.nan if behaviour.full_at_f is None else behaviour.full_at_f


@njit(cache=True)
def turn_s(params: Floats, outdoor_f: float, on: float, available: float) -> float:
    """Mean length of the turn that begins now, on where ``on`` is 1, off where 0. [s]

    Share on = (edge of the season - outdoors) / (edge - full), from 0 to 1, of a whole turn as long
    as ever: heat by degrees below a balance point, common practice, no source. With a part of its
    watts alone, ``available``, what heats is on for longer of it, so that it gives as much.
    """
    whole_s, full_f = params[ON_S] + params[OFF_S], params[FULL_F]
    on_s = params[ON_S]
    if not np.isnan(full_f):
        edge_f = params[BELOW_F] if full_f < params[BELOW_F] < np.inf else params[ABOVE_F]
        on_s = whole_s * min(max((edge_f - outdoor_f) / (edge_f - full_f), 0.0), 1.0)
    if 0.0 < available < 1.0:
        on_s = min(on_s / available, whole_s)
    return float(on_s if on > 0.5 else whole_s - on_s)


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
