"""Compiled sums: watts of every load to amps at every limit point, and their worst minutes."""

from __future__ import annotations

import threading

import numpy as np
from numba import njit, prange
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

PARALLEL = threading.Lock()
"""Held around every call here: one of Numba's threading layers cannot be entered twice at once."""


@njit(cache=True, parallel=True, nogil=True)
def add_flows(
    amps: NDArray[np.float32],
    source_w: Floats,
    step_cell: Ints,
    cell_weight: Floats,
    cell_state: Ints,
    watts: Floats,
    per_watt: NDArray[np.complex128],
    volts: NDArray[np.complex128],
    source: Ints,
    start: Ints,
    point: Ints,
    swap: Ints,
    merged: NDArray[np.bool_],
) -> None:
    """Sum phasors at each limit point, step by step.

    Parameters
    ----------
    amps : (points, 3, steps)        Filled with L1, L2 and N magnitudes of step means. [A]
    source_w : (sources, steps)      Filled with real power out of each source. [W]
    step_cell : (steps + 1,)         First cell of each step.
    cell_weight, cell_state          Share of its step, and network state, of each cell.
    watts : (cells, loads)           Watts taken, negative for solar. [W]
    per_watt, source, start          (states, 2, loads), (states, loads), (states, loads + 1)
    point, swap : (states, entries)  As in ``network.StateArrays``, padded.
    volts : (sources, 2)             Phasor volts of each source's hots. [V]
    merged : (points,)               Where both legs run on one conductor.
    """
    points, steps, loads = amps.shape[0], amps.shape[2], watts.shape[1]
    for s in prange(steps):
        sums = np.zeros((points, 4))
        for c in range(step_cell[s], step_cell[s + 1]):
            weight, k = cell_weight[c], cell_state[c]
            for j in range(loads):
                w = watts[c, j]
                if w == 0.0 or source[k, j] < 0:
                    continue
                w *= weight
                first, second = per_watt[k, 0, j] * w, per_watt[k, 1, j] * w
                g = source[k, j]
                v0, v1 = volts[g, 0], volts[g, 1]
                source_w[g, s] += (
                    v0.real * first.real
                    + v0.imag * first.imag
                    + v1.real * second.real
                    + v1.imag * second.imag
                )
                for e in range(start[k, j], start[k, j + 1]):
                    p = point[k, e]
                    if swap[k, e] == 0:
                        sums[p, 0] += first.real
                        sums[p, 1] += first.imag
                        sums[p, 2] += second.real
                        sums[p, 3] += second.imag
                    else:
                        sums[p, 0] += second.real
                        sums[p, 1] += second.imag
                        sums[p, 2] += first.real
                        sums[p, 3] += first.imag
        for p in range(points):
            re, im = sums[p, 0] + sums[p, 2], sums[p, 1] + sums[p, 3]
            both = np.sqrt(re * re + im * im)
            if merged[p]:
                amps[p, 0, s] = both
            else:
                amps[p, 0, s] = np.sqrt(sums[p, 0] ** 2 + sums[p, 1] ** 2)
                amps[p, 1, s] = np.sqrt(sums[p, 2] ** 2 + sums[p, 3] ** 2)
            amps[p, 2, s] = both


@njit(cache=True, parallel=True, nogil=True)
def leg_stats(
    series: NDArray[np.float32], rating: Floats, steps_per_min: int, min_per_step: float, hold: int
) -> Floats:
    """Worst minute and times over the limit of every series.

    Parameters
    ----------
    series : (n, steps)    Amps, one-step means. [A]
    rating : (n,)          Limit of each. [A]
    steps_per_min          Steps that make one minute (1 where a step is a minute or more).
    min_per_step           Length of one such block. [min]
    hold                   Blocks in three hours.

    Returns
    -------
    (n, 5)  peak [A], block of the peak, minutes over 80 %, minutes over 100 %, highest amps held
    for three hours [A].
    """
    n, steps = series.shape
    blocks = steps // steps_per_min
    out = np.zeros((n, 5))
    for i in prange(n):
        means = np.empty(blocks)
        for b in range(blocks):
            total = 0.0
            for s in range(b * steps_per_min, (b + 1) * steps_per_min):
                total += series[i, s]
            means[b] = total / steps_per_min
        for b in range(blocks):
            value = means[b]
            if value > out[i, 0]:
                out[i, 0], out[i, 1] = value, b
            if value > 0.8 * rating[i]:
                out[i, 2] += min_per_step
            if value > rating[i]:
                out[i, 3] += min_per_step
        if blocks >= hold and out[i, 2] >= hold * min_per_step - 1e-9:
            out[i, 4] = _held(means, hold)
    return out


@njit(cache=True)
def _held(values: Floats, width: int) -> float:
    """Largest of the minima over every window of ``width`` values."""
    queue = np.empty(values.shape[0], dtype=np.int64)
    head, tail, best = 0, 0, 0.0
    for i in range(values.shape[0]):
        while tail > head and values[queue[tail - 1]] >= values[i]:
            tail -= 1
        queue[tail] = i
        tail += 1
        if queue[head] <= i - width:
            head += 1
        if i >= width - 1:
            best = max(best, values[queue[head]])
    return best
