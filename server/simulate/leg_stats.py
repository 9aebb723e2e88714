"""Compiled search for the worst minutes of every conductor of every limit point."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


@njit(cache=True, nogil=True)
def leg_stats(
    amps: Singles, rating: Floats, neutral_only: NDArray[np.bool_], per_block: int, step_min: float
) -> Floats:
    """Worst minute and times over the limit of every conductor of every point.

    Parameters
    ----------
    amps : (points, 3, steps)  L1, L2 and N, one-step means, never below zero. [A]
    rating : (points,)         Limit of each. [A]
    neutral_only : (points,)   Where the neutral's amps stand for both legs.
    per_block                  Steps that make one minute (1 where a step is a minute or more).
    step_min                   Length of a step. [min]

    Returns
    -------
    (points, 3, 5)  peak [A], block of the peak, minutes over 80 %, minutes over 100 %, highest amps
    held for three hours [A] (0 for the neutral and where the run is shorter).
    """
    points, steps = amps.shape[0], amps.shape[2]
    blocks = (steps + per_block - 1) // per_block
    hold = round(180.0 / (per_block * step_min))
    tile = max(1, hold // 2)
    tiles = (blocks + tile - 1) // tile
    out = np.zeros((points, 3, 5))
    for q in range(points * 3):
        i, k = q // 3, q % 3
        values = amps[i, 2 if neutral_only[i] else k]
        if per_block > 1:
            values = _means(values, per_block, blocks)
        bits = values.view(np.int32)
        if _low_and_high(bits)[1] == 0:
            continue
        low_bits, high_bits = np.empty(tiles, dtype=np.int32), np.empty(tiles, dtype=np.int32)
        for t in range(tiles):
            low_bits[t], high_bits[t] = _low_and_high(bits[t * tile : min(blocks, (t + 1) * tile)])
        low, high = low_bits.view(np.float32), high_bits.view(np.float32)
        worst = np.argmax(high_bits)
        peak = high[worst]
        out[i, k, 0] = peak
        at = worst * tile
        while values[at] < peak:
            at += 1
        out[i, k, 1] = at
        for t in range(tiles):
            if high[t] > 0.8 * rating[i]:
                for b in range(t * tile, min(blocks, (t + 1) * tile)):
                    minutes = step_min * min(per_block, steps - b * per_block)
                    if values[b] > 0.8 * rating[i]:
                        out[i, k, 2] += minutes
                    if values[b] > rating[i]:
                        out[i, k, 3] += minutes
        if k < 2 and blocks >= hold:
            out[i, k, 4] = _held(values, hold, tile, low)
    return out


@njit(cache=True)
def _means(values: Singles, width: int, blocks: int) -> Singles:
    """Means of blocks of ``width`` values; the last may be shorter."""
    out = np.empty(blocks, dtype=np.float32)
    for b in range(blocks):
        last = min(values.shape[0], (b + 1) * width)
        total = 0.0
        for s in range(b * width, last):
            total += values[s]
        out[b] = total / (last - b * width)
    return out


@njit(cache=True)
def _low_and_high(bits: NDArray[np.int32]) -> tuple[np.int32, np.int32]:
    """Least and greatest of amps, told by their bits, whose order is theirs from zero up."""
    low = high = bits[0]
    for k in range(bits.shape[0]):
        one = bits[k]
        low = one if one < low else low
        high = one if one > high else high
    return low, high


@njit(cache=True)
def _held(values: Singles, hold: int, tile: int, low: Singles) -> float:
    """Largest of the minima over every window of ``hold`` values.

    Each window holds a whole tile, so tiles whose least value is no better than the best window
    found need not be looked at. ``low`` is the least value of each tile.
    """
    best = np.float32(0.0)
    left = np.empty(hold - tile + 1, dtype=np.float32)
    right = np.empty(hold - tile + 1, dtype=np.float32)
    for t in range(values.shape[0] // tile):
        if low[t] <= best:
            continue
        begin, end = t * tile, (t + 1) * tile
        left[0] = right[0] = low[t]
        for n in range(1, hold - tile + 1):
            left[n] = min(left[n - 1], values[begin - n]) if begin >= n else np.float32(-1.0)
            right[n] = (
                min(right[n - 1], values[end + n - 1])
                if end + n <= values.shape[0]
                else np.float32(-1.0)
            )
        for n in range(hold - tile + 1):
            best = max(best, min(left[n], right[hold - tile - n]))
    return float(best)


@njit(cache=True, nogil=True)
def minute_peaks(
    amps: Singles, neutral_only: NDArray[np.bool_], per_block: int, out: Singles
) -> None:
    """Worst one-minute mean of every conductor of every point, and nothing else.

    The arguments are those of :func:`leg_stats`; ``out`` (points, 3) is filled with the same peaks.
    """
    blocks = (amps.shape[2] + per_block - 1) // per_block
    highest = np.empty(1, dtype=np.int32)
    for i in range(amps.shape[0]):
        for k in range(3):
            values = amps[i, 2 if neutral_only[i] else k]
            if per_block > 1:
                values = _means(values, per_block, blocks)
            highest[0] = _low_and_high(values.view(np.int32))[1]
            out[i, k] = highest.view(np.float32)[0]
