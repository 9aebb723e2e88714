"""Compiled sum of a run in stages, some of which turn on and off as by a thermostat."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@njit(cache=True)
def _square_on_s(upto_s: float, on_s: float, off_s: float) -> float:
    """Seconds on in [0, upto) of a square wave that begins on."""
    period = on_s + off_s
    whole = math.floor(upto_s / period)
    return whole * on_s + min(upto_s - whole * period, on_s)


@njit(cache=True)
def stage_share_s(
    stages: Floats, first: int, last: int, begin_s: float, end_s: float, has: float
) -> float:
    """Integral of the share over [begin, end) seconds after a run's start.

    ``has`` is the share of its watts that the supply gives while it is on, 1 or 0 for all of them:
    at less a stage that turns on and off, as by a thermostat, is on for longer, and first makes up
    for what the stages before it lacked.
    """
    total, stage_start, owed_s = 0.0, 0.0, 0.0
    less = 0.0 < has < 1.0
    for k in range(first, last):
        length, share = stages[k, 0], stages[k, 1]
        low, high = max(begin_s, stage_start), min(end_s, stage_start + length)
        on_s, off_s = stages[k, 2], stages[k, 3]
        turns = on_s > 0.0 and off_s > 0.0
        catch_s = 0.0
        if less and turns and share > 0.0:
            duty = on_s / (on_s + off_s)
            catch_s = length
            if has > duty:
                catch_s = min(length, owed_s / (share * (has - duty)))
            owed_s = max(0.0, owed_s - catch_s * share * (has - duty))
            longer_s = min(on_s / has, on_s + off_s)
            off_s = on_s + off_s - longer_s
            on_s = longer_s
        elif less:
            owed_s += length * share * (1.0 - has)
        if high > low:
            turning = max(low, stage_start + catch_s)
            if turns and turning < high:
                on = turning - low
                on += _square_on_s(high - stage_start - catch_s, on_s, off_s)
                on -= _square_on_s(turning - stage_start - catch_s, on_s, off_s)
                total += on * share
            else:
                total += (high - low) * share
        stage_start += length
    return total
