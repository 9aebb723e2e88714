"""Compiled sums: watts of every load to amps at every limit point, step by step."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.simulate.cells import Cells

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]

CHUNK = 256
"""Steps summed at a time: few enough that their phasors stay in the nearest cache."""


class Wiring(NamedTuple):
    """Who feeds whom in every state, stacked; see ``network.StateArrays``.

    segment_state  (segments,)                State of each segment.
    available      (segments, loads)          Share of its power each load can have.
    amps_per_watt  (states, 4, loads)         Real and imaginary amps on the source's two hots.
    group          (states, loads)            Loads that share a path; -1 dead.
    group_source   (states, groups)           Source of each path, -1 dead.
    point_group    (states, points, groups)   -1 where a point does not see a group; 1 where its
                                              legs are the source's crossed, else 0.
    own, circuit   (loads,)                   Own breaker's point; own circuit, -1 for solar.
    circuits                                  How many circuits there are.
    own_swap       (states, loads)            1 where the own breaker's legs are crossed.
    sign           (loads,)                   -1 for solar, else 1.
    path_point     (paths,)                   Points that are no load's own breaker.
    merged         (points,)                  Both legs run on one conductor.
    volts          (sources, 4)               Real and imaginary volts of the two hots.
    """

    segment_state: Ints
    available: Floats
    amps_per_watt: Floats
    group: Ints
    group_source: Ints
    point_group: Ints
    own: Ints
    circuit: Ints
    circuits: int
    own_swap: Ints
    sign: Floats
    path_point: Ints
    merged: NDArray[np.bool_]
    volts: Floats


@njit(cache=True, nogil=True)
def add_flows(
    cells: Cells,
    wiring: Wiring,
    asked: Singles,
    took: Singles,
    amps: Singles,
    source_w: Floats,
) -> tuple[Floats, Floats]:
    """Sum phasors at each limit point, and what each circuit went without.

    Parameters
    ----------
    asked, took : (loads, cells)             Watts asked for and taken. [W]
    amps : (points, 3, steps)                Filled with L1, L2 and N magnitudes of step means. [A]
    source_w : (sources, cells)              Filled with real power out of each source. [W]

    Returns
    -------
    load_ws : (loads,)         Energy taken by each load. [Ws]
    unserved : (circuits,)     Time of want. [s]
    """
    steps, loads, groups = amps.shape[2], took.shape[0], wiring.group_source.shape[1]
    load_ws, unserved = np.zeros(loads), np.zeros(wiring.circuits)
    for j in range(loads):
        load_ws[j] = _dot(took[j], cells.dt_s)
    source_w[:] = 0.0
    for p in np.flatnonzero(_without_load(wiring, amps.shape[0])):
        amps[p] = 0.0
    widest = 1
    for first in range(0, steps, CHUNK):
        last = min(steps, first + CHUNK)
        widest = max(widest, cells.step_cell[last] - cells.step_cell[first])
    sub = np.empty((groups, 4, widest))
    rows = np.empty((4, widest))
    denied_w = np.empty(widest)
    means = np.empty((4, CHUNK))
    segment = 0
    for first in range(0, steps, CHUNK):
        last = min(steps, first + CHUNK)
        c0, c1 = cells.step_cell[first], cells.step_cell[last]
        while cells.segment_cell[segment + 1] <= c0:
            segment += 1
        sub[:] = 0.0
        j = 0
        while j < loads:
            end = j + 1
            while end < loads and wiring.own[end] == wiring.own[j]:
                end += 1
            rows[:] = 0.0
            denied, legs = _own_rows(
                cells, wiring, asked, took, segment, c0, c1, j, end, rows, denied_w, sub
            )
            i = wiring.circuit[j]
            if i >= 0 and denied:
                unserved[i] += _short_s(denied_w[: c1 - c0], cells.dt_s[c0:c1])
            p = wiring.own[j]
            _magnitudes(cells, rows, means, first, last, legs, wiring.merged[p], amps[p])
            j = end
        _path_points(cells, wiring, segment, first, last, sub, rows, means, amps, source_w)
    return load_ws, unserved


@njit(cache=True)
def _without_load(wiring: Wiring, points: int) -> NDArray[np.bool_]:
    """Breakers with nothing behind them, which no sum below fills."""
    found = np.ones(points, dtype=np.bool_)
    found[wiring.own] = False
    found[wiring.path_point] = False
    return found


@njit(cache=True)
def _own_rows(
    cells: Cells,
    wiring: Wiring,
    asked: Singles,
    took: Singles,
    segment: int,
    c0: int,
    c1: int,
    first: int,
    last: int,
    rows: Floats,
    denied_w: Floats,
    sub: Floats,
) -> tuple[bool, int]:
    """Phasors and watts of one breaker's loads through cells c0 to c1; adds them to their path.

    ``denied_w`` is what its dead loads asked for. Returns whether there were any, and which legs
    carry anything: 1, 2, 3 for both, 0 for neither.
    """
    denied, legs = False, 0
    while segment < wiring.segment_state.shape[0] and cells.segment_cell[segment] < c1:
        a = max(c0, cells.segment_cell[segment])
        b = min(c1, cells.segment_cell[segment + 1])
        k = wiring.segment_state[segment]
        for j in range(first, last):
            if wiring.available[segment, j] == 0.0:
                if not denied:
                    denied_w[:] = 0.0
                denied = True
                _add(denied_w[a - c0 : b - c0], asked[j, a:b], 1.0)
            elif wiring.group[k, j] >= 0:
                turn = 2 * wiring.own_swap[k, j]
                for n in range(4):
                    by = wiring.amps_per_watt[k, n, j] * wiring.sign[j]
                    if by != 0.0:
                        legs |= 1 + (n + turn) % 4 // 2
                        _add(rows[(n + turn) % 4, a - c0 : b - c0], took[j, a:b], by)
        g = wiring.group[k, first]
        if g >= 0:
            turn = 2 * wiring.own_swap[k, first]
            for n in range(4):
                m = (n + turn) % 4
                if legs & (1 + m // 2):
                    _add_row(sub[g, n, a - c0 : b - c0], rows[m, a - c0 : b - c0])
        segment += 1
    return denied, legs


@njit(cache=True)
def _path_points(
    cells: Cells,
    wiring: Wiring,
    segment: int,
    first: int,
    last: int,
    sub: Floats,
    rows: Floats,
    means: Floats,
    amps: Singles,
    source_w: Floats,
) -> None:
    """Amps where several circuits meet, and power out of every source."""
    c0, c1 = cells.step_cell[first], cells.step_cell[last]
    groups = sub.shape[0]
    end = segment
    while end < wiring.segment_state.shape[0] and cells.segment_cell[end] < c1:
        a = max(c0, cells.segment_cell[end])
        b = min(c1, cells.segment_cell[end + 1])
        k = wiring.segment_state[end]
        for g in range(groups):
            source = wiring.group_source[k, g]
            if source >= 0:
                for n in range(4):
                    by = wiring.volts[source, n]
                    if by != 0.0:
                        _add_times(source_w[source, a:b], sub[g, n, a - c0 : b - c0], by)
        end += 1
    for p in wiring.path_point:
        rows[:] = 0.0
        any_seen = False
        for s in range(segment, end):
            a = max(c0, cells.segment_cell[s])
            b = min(c1, cells.segment_cell[s + 1])
            k = wiring.segment_state[s]
            for g in range(groups):
                seen = wiring.point_group[k, p, g]
                if seen >= 0 and wiring.group_source[k, g] >= 0:
                    any_seen = True
                    for n in range(4):
                        _add_row(
                            rows[(n + 2 * seen) % 4, a - c0 : b - c0], sub[g, n, a - c0 : b - c0]
                        )
        if any_seen:
            _magnitudes(cells, rows, means, first, last, 3, wiring.merged[p], amps[p])
        else:
            amps[p, :, first:last] = 0.0


@njit(cache=True)
def _add(to: Floats, watts: Singles, by: float) -> None:
    for c in range(to.shape[0]):
        to[c] += by * watts[c]


@njit(cache=True)
def _add_row(to: Floats, row: Floats) -> None:
    for c in range(to.shape[0]):
        to[c] += row[c]


@njit(cache=True)
def _add_times(to: Floats, row: Floats, by: float) -> None:
    for c in range(to.shape[0]):
        to[c] += by * row[c]


@njit(cache=True, fastmath={"reassoc"})
def _dot(watts: Singles, dt_s: Floats) -> float:
    total = 0.0
    for c in range(dt_s.shape[0]):
        total += watts[c] * dt_s[c]
    return total


@njit(cache=True, fastmath={"reassoc"})
def _short_s(watts: Floats, dt_s: Floats) -> float:
    """Seconds in which more than half a watt was asked for in vain."""
    seconds = 0.0
    for c in range(dt_s.shape[0]):
        seconds += dt_s[c] if watts[c] > 0.5 else 0.0
    return seconds


@njit(cache=True)
def _magnitudes(
    cells: Cells,
    rows: Floats,
    means: Floats,
    first: int,
    last: int,
    legs: int,
    merged: bool,
    out: Singles,
) -> None:
    """L1, L2 and N magnitudes of step means of four rows of phasors by cell.

    ``legs`` says which carry anything: 1, 2, 3 for both, 0 for neither.
    """
    if legs == 0:
        out[:, first:last] = 0.0
        return
    c0, c1 = cells.step_cell[first], cells.step_cell[last]
    if c1 - c0 != last - first:
        for n in range(4):
            for s in range(first, last):
                total = 0.0
                for c in range(cells.step_cell[s], cells.step_cell[s + 1]):
                    total += rows[n, c - c0] * cells.weight[c]
                means[n, s - first] = total
        rows = means
    a, b, d, e = rows[0], rows[1], rows[2], rows[3]
    l1, l2, neutral = out[0, first:last], out[1, first:last], out[2, first:last]
    if merged:
        for s in range(l1.shape[0]):
            re, im = a[s] + d[s], b[s] + e[s]
            l1[s] = neutral[s] = np.sqrt(re * re + im * im)
        l2[:] = 0.0
    elif legs == 3:
        for s in range(l1.shape[0]):
            re, im = a[s] + d[s], b[s] + e[s]
            l1[s] = np.sqrt(a[s] * a[s] + b[s] * b[s])
            l2[s] = np.sqrt(d[s] * d[s] + e[s] * e[s])
            neutral[s] = np.sqrt(re * re + im * im)
    else:
        own, other = (l1, l2) if legs == 1 else (l2, l1)
        re, im = (a, b) if legs == 1 else (d, e)
        for s in range(own.shape[0]):
            own[s] = neutral[s] = np.sqrt(re[s] * re[s] + im[s] * im[s])
        other[:] = 0.0
