"""Compiled sums: watts of every load to amps at every limit point, and their worst minutes."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]

CHUNK = 128
"""Steps summed at a time: small enough to stay in the cache, and sums of sums lose less."""


@njit(cache=True, nogil=True)
def add_flows(
    amps: Singles,
    source_w: Floats,
    circuit_w: Singles,
    wanted_w: Singles,
    load_ws: Floats,
    unserved: Floats,
    step_cell: Ints,
    cell_s: Floats,
    cell_weight: Floats,
    cell_segment: Ints,
    cell_state: Ints,
    available: Floats,
    asked: Singles,
    taken: Singles,
    sign: Floats,
    circuit_of: Ints,
    per_watt: NDArray[np.complex128],
    volts: NDArray[np.complex128],
    group: Ints,
    own: Ints,
    own_swap: Ints,
    group_source: Ints,
    group_start: Ints,
    group_point: Ints,
    group_swap: Ints,
    merged: NDArray[np.bool_],
) -> None:
    """Sum phasors at each limit point, and watts of each circuit, step by step.

    Parameters
    ----------
    amps : (points, 3, steps)          Filled with L1, L2 and N magnitudes of step means. [A]
    source_w : (sources, steps)        Filled with real power out of each source. [W]
    circuit_w, wanted_w : (circuits, steps)  Filled with watts taken and asked for. [W]
    load_ws : (chunks, loads)          Filled with energy taken by each load. [Ws]
    unserved : (chunks, circuits, 2)   Filled with seconds of want and energy not had. [s, Ws]
    step_cell : (steps + 1,)           First cell of each step.
    cell_s, cell_weight                Length of each cell [s], and its share of its step.
    cell_segment, cell_state           Row of ``available``, and network state, of each cell.
    asked, taken : (cells, loads)      Watts asked for and taken. [W]
    sign, circuit_of : (loads,)        -1 for solar, else 1; the load's circuit, -1 for solar.
    the rest                           As in ``network.StateArrays``, stacked by state.
    """
    points, steps = amps.shape[0], amps.shape[2]
    loads, circuits, groups = taken.shape[1], circuit_w.shape[0], group_source.shape[1]
    for chunk in range(load_ws.shape[0]):
        sums = np.zeros((points, 4))
        sub = np.zeros((groups, 4))
        watts = np.zeros((circuits, 3))
        for s in range(chunk * CHUNK, min(steps, (chunk + 1) * CHUNK)):
            sums[:] = 0.0
            watts[:, :2] = 0.0
            for c in range(step_cell[s], step_cell[s + 1]):
                weight, k, row = cell_weight[c], cell_state[c], cell_segment[c]
                sub[:] = 0.0
                watts[:, 2] = 0.0
                for j in range(loads):
                    want = float(asked[c, j])
                    if want == 0.0:
                        continue
                    w = float(taken[c, j])
                    i = circuit_of[j]
                    if i >= 0:
                        watts[i, 0] += w * weight
                        watts[i, 1] += want * weight
                        if available[row, j] == 0.0:
                            watts[i, 2] += want
                    g = group[k, j]
                    if w == 0.0 or g < 0:
                        continue
                    load_ws[chunk, j] += w * cell_s[c]
                    w *= weight * sign[j]
                    a = per_watt[k, 0, j].real * w
                    b = per_watt[k, 0, j].imag * w
                    d = per_watt[k, 1, j].real * w
                    e = per_watt[k, 1, j].imag * w
                    sub[g, 0] += a
                    sub[g, 1] += b
                    sub[g, 2] += d
                    sub[g, 3] += e
                    p, turn = own[j], 2 * own_swap[k, j]
                    sums[p, turn] += a
                    sums[p, turn + 1] += b
                    sums[p, 2 - turn] += d
                    sums[p, 3 - turn] += e
                for i in range(circuits):
                    if watts[i, 2] > 0.0:
                        unserved[chunk, i, 1] += watts[i, 2] * cell_s[c]
                        if watts[i, 2] > 0.5:
                            unserved[chunk, i, 0] += cell_s[c]
                for g in range(groups):
                    source = group_source[k, g]
                    if source < 0:
                        continue
                    v0, v1 = volts[source, 0], volts[source, 1]
                    source_w[source, s] += (
                        v0.real * sub[g, 0]
                        + v0.imag * sub[g, 1]
                        + v1.real * sub[g, 2]
                        + v1.imag * sub[g, 3]
                    )
                    for n in range(group_start[k, g], group_start[k, g + 1]):
                        p, turn = group_point[k, n], 2 * group_swap[k, n]
                        sums[p, turn] += sub[g, 0]
                        sums[p, turn + 1] += sub[g, 1]
                        sums[p, 2 - turn] += sub[g, 2]
                        sums[p, 3 - turn] += sub[g, 3]
            for i in range(circuits):
                circuit_w[i, s] = watts[i, 0]
                wanted_w[i, s] = watts[i, 1]
            for p in range(points):
                if not sums[p].any():
                    continue
                re, im = sums[p, 0] + sums[p, 2], sums[p, 1] + sums[p, 3]
                both = np.sqrt(re * re + im * im)
                if merged[p]:
                    amps[p, 0, s] = both
                else:
                    amps[p, 0, s] = np.sqrt(sums[p, 0] ** 2 + sums[p, 1] ** 2)
                    amps[p, 1, s] = np.sqrt(sums[p, 2] ** 2 + sums[p, 3] ** 2)
                amps[p, 2, s] = both


@njit(cache=True, nogil=True)
def leg_stats(
    amps: Singles, rating: Floats, neutral_only: NDArray[np.bool_], per_block: int, step_min: float
) -> Floats:
    """Worst minute and times over the limit of every conductor of every point.

    Parameters
    ----------
    amps : (points, 3, steps)  L1, L2 and N, one-step means. [A]
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
        low, high = np.empty(tiles, dtype=np.float32), np.empty(tiles, dtype=np.float32)
        peak = np.float32(0.0)
        for t in range(tiles):
            low[t], high[t] = _low_and_high(values[t * tile : min(blocks, (t + 1) * tile)])
            if high[t] > peak:
                peak = high[t]
                out[i, k, 1] = t
        out[i, k, 0] = peak
        if peak == 0.0:
            continue
        at = int(out[i, k, 1]) * tile
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


@njit(cache=True, fastmath=True)
def _low_and_high(values: Singles) -> tuple[float, float]:
    low, high = values[0], values[0]
    for value in values:
        low = min(low, value)
        high = max(high, value)
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
