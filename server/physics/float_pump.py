"""A store of water with a pump that holds it between two marks: a pressure tank, a pit.

``want`` is the water the pump has yet to move: what a pressure tank lacks of full, or what stands
in a pit. It rises by the flow and falls by the pump; the pump runs from ``start`` until nothing is
left, and past ``brim`` water is missed (nothing from the tap) or spilt (the pit runs over). It goes
in straight lines between turns. Source: volume balance.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

START_GAL, BRIM_GAL, PUMP_GPH = range(3)
"""Columns of ``marks``."""

WANT, RUNS = range(2)
"""Columns of ``state``."""

_MOST_PARTS = 4000
_SHORTEST_H = 1.0 / 36_000.0


@njit(cache=True)
def float_pump(
    state: Floats,
    marks: Floats,
    load_w: float,
    flow_gph: float,
    dt_s: float,
    available: float,
    ledger: Floats,
) -> float:
    """Mean watts asked for over a stretch of time; advances the store. [W]

    ``ledger[3]`` counts starts of the pump, ``ledger[4]`` gallons missed or spilt.
    """
    start, brim, pump = marks[START_GAL], marks[BRIM_GAL], marks[PUMP_GPH] * available
    want, runs = state[WANT], state[RUNS] > 0.5
    left_h, on_h = dt_s / 3600.0, 0.0
    for _ in range(_MOST_PARTS):
        if left_h <= 1e-12:
            break
        if not runs and want >= start - 1e-9:
            runs = True
            ledger[3] += 1.0 if available > 0.0 else 0.0
        elif runs and want <= 1e-9 and available > 0.0:
            runs = False
        net = flow_gph - (pump if runs else 0.0)
        part_h = left_h
        if not runs and net > 0.0:
            part_h = (start - want) / net
        elif runs and net < 0.0:
            part_h = want / -net
        elif runs and net > 0.0 and want < brim:
            part_h = (brim - want) / net
        part_h = min(left_h, max(part_h, _SHORTEST_H))
        end = want + net * part_h
        if end > brim:
            ledger[4] += end - brim
            end = brim
        want = max(end, 0.0)
        on_h += part_h if runs else 0.0
        left_h -= part_h
    state[WANT], state[RUNS] = want, 1.0 if runs else 0.0
    return load_w * on_h / (dt_s / 3600.0)
