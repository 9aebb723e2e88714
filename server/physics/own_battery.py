"""A device with a battery of its own. Source: energy balance of one store of charge."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FULL_H, RECHARGE_H, EFFICIENCY = range(3)
"""Columns of ``battery``: hours it carries the device from full, hours to fill it, share kept."""


@njit(cache=True)
def own_battery(
    state: Floats,
    battery: Floats,
    device_w: float,
    dt_s: float,
    available: float,
    ledger: Floats,
) -> float:
    """Mean watts asked for over a stretch of time; advances the hours left in ``state[0]``. [W]

    With power it draws its own watts and, until full, those that fill the battery:
    device_w x FULL_H / (RECHARGE_H x EFFICIENCY). Without, the battery carries it; ``ledger[4]``
    counts the hours in which neither does.
    """
    hours, left = dt_s / 3600.0, state[0]
    if available <= 0.0:
        state[0] = max(0.0, left - hours)
        ledger[4] += max(0.0, hours - left)
        return float(device_w)
    filled_h = min(hours, (battery[FULL_H] - left) * battery[RECHARGE_H] / battery[FULL_H])
    state[0] = min(battery[FULL_H], left + filled_h * battery[FULL_H] / battery[RECHARGE_H])
    filling_w = device_w * battery[FULL_H] / (battery[RECHARGE_H] * battery[EFFICIENCY])
    return float(device_w + filling_w * filled_h / hours)
