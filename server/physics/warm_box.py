"""One heat store held by a thermostat, cold or warm: a refrigerator, a freezer, a hot tub.

    C dT/dt = q + cop x P_on - UA k (T - T_around)

with q what comes in besides and k how much more it loses when open; P_on is taken out instead where
it cools. The thermostat turns at half a deadband either side of what is kept; between turns the
exponential is exact. Source: energy balance of one lumped store (see ``server.physics.newton``).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.newton import BTU_PER_WH, advance, crossing_h

Floats = NDArray[np.float64]

STORE, LOSS, KEPT_F, BAND_F, COP, SIGN = range(6)
"""Columns of ``box``: Btu/F, Btu/h F, F, F, heat for each watt, 1 warms and -1 cools."""

TEMP, ON = range(2)
"""Columns of ``state``."""

_MOST_PARTS = 4000
_SHORTEST_H = 1.0 / 3600.0


class Surround(NamedTuple):
    """What a box stands in: air [F], heat that comes in besides [Btu/h], times its usual loss."""

    around_f: float
    extra_btuh: float
    loss_times: float


@njit(cache=True)
def warm_box(
    state: Floats,
    box: Floats,
    load_w: float,
    surround: Surround,
    dt_s: float,
    available: float,
    ledger: Floats,
) -> float:
    """Mean watts asked for over a stretch of time; advances the box and its ledger. [W]

    ``ledger``: heat in by its own and besides, lost and stored [Wh], and its starts.
    """
    store, sign = box[STORE], box[SIGN]
    loss = box[LOSS] * surround.loss_times
    rate = loss / store
    far, near = box[KEPT_F] - sign * box[BAND_F] / 2.0, box[KEPT_F] + sign * box[BAND_F] / 2.0
    temp, on = state[TEMP], state[ON] > 0.5
    left_h, asked_wh, begin_f = dt_s / 3600.0, 0.0, state[TEMP]
    for _ in range(_MOST_PARTS):
        if left_h <= 1e-12:
            break
        if not on and sign * (temp - far) <= 1e-9:
            on = True
            ledger[3] += 1.0 if available > 0.0 else 0.0
        elif on and sign * (temp - near) >= -1e-9:
            on = False
        moved = sign * box[COP] * load_w * BTU_PER_WH * available if on else 0.0
        settle = surround.around_f + (surround.extra_btuh + moved) / loss
        slope, part_h = rate * (settle - temp), left_h
        temp_end, area = advance(temp, slope, rate, part_h)
        if (sign * (temp_end - near) >= 0.0) if on else (sign * (temp_end - far) <= 0.0):
            turn_h = crossing_h(temp, settle, rate, near if on else far)
            part_h = min(left_h, max(turn_h, _SHORTEST_H))
            temp_end, area = advance(temp, slope, rate, part_h)
        ledger[0] += (moved + surround.extra_btuh) * part_h / BTU_PER_WH
        ledger[1] += loss * (area - surround.around_f * part_h) / BTU_PER_WH
        asked_wh += load_w * part_h if on else 0.0
        temp = temp_end
        left_h -= part_h
    state[TEMP], state[ON] = temp, 1.0 if on else 0.0
    ledger[2] += store * (temp - begin_f) / BTU_PER_WH
    return asked_wh / (dt_s / 3600.0)
