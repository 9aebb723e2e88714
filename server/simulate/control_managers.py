"""Compiled decisions of load managers: what each watches, opens, returns and keeps apart."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.simulate.cells import Cells
from server.simulate.control_parts import Moving
from server.simulate.controls import (
    INTERLOCK,
    LEAST_OFF_S,
    MERGED,
    OFF_ON_SET,
    RETURN_S,
    SETTING,
    SETTING_A,
    SHED_S,
    TURNS,
    WAY,
    Controls,
)

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

OFF, OFF_SINCE, LIVE_SINCE, LEARNT, DREW, FULL_AT, CLOSED_AT = 0, 1, 2, 3, 5, 6, 7
"""Columns of a circuit: held off, since when, live since when, amps of each leg when it was opened
(two columns), when it last drew, when there last was no room for it, and when it was last closed:
infinite while open, minus infinite where it never was. [s, A]"""
OVER, RETURNED, BEFORE, HOLDER = 0, 1, 2, 4
"""Columns of a manager: how long above, its last return, amps of each leg in the look before (two
columns), and the circuit whose turn it is, -1 for none. [s, A]"""

DRAWS_W = 120.0
"""A circuit draws when it takes more than this: an ampere on one leg (common practice of current
relays, no source). [W]"""
_FREES_A = 0.05
_SLACK = 1.0 + 1e-9


@njit(cache=True)
def base_amps(cells: Cells, controls: Controls, took: Singles) -> Floats:
    """Phasors of all that is not apart, at what each manager watches: (g, cells, 4). [A]"""
    managers, span = controls.order_ptr.shape[0] - 1, cells.dt_s.shape[0]
    base = np.zeros((managers, span, 4))
    for g in range(managers):
        for segment in range(controls.segment_state.shape[0]):
            k = controls.segment_state[segment]
            first, last = cells.segment_cell[segment], cells.segment_cell[segment + 1]
            for j in range(took.shape[0]):
                turned = 2 * controls.seen[g, k, j]
                if turned < 0 or controls.apart[j]:
                    continue
                for n in range(4):
                    by, m = controls.amps_per_watt[k, n, j], (n + turned) % 4
                    if by != 0.0:
                        for c in range(first, last):
                            base[g, c, m] += by * took[j, c]
    return base


@njit(cache=True)
def look_end(controls: Controls, c: int, last: int) -> int:
    """One past the last cell, before ``last``, of the look that cell ``c`` is in."""
    end = c + 1
    while end < last and controls.look_of[end] == controls.look_of[c]:
        end += 1
    return end


@njit(cache=True)
def look_seconds(cells: Cells, first: int, last: int) -> float:
    """Length of a look. [s]"""
    length_s = 0.0
    for c in range(first, last):
        length_s += cells.dt_s[c]
    return length_s


@njit(cache=True)
def mean_watts(
    cells: Cells, mine: Ints, first: int, last: int, took: Singles, mean_w: Floats
) -> None:
    """Fill in the mean watts that each load apart took in a look: (loads,). [W]"""
    length_s = look_seconds(cells, first, last)
    for j in mine:
        mean_w[j] = 0.0
        for c in range(first, last):
            mean_w[j] += took[j, c] * (cells.dt_s[c] / length_s)


@njit(cache=True)
def watched_amps(
    cells: Cells,
    controls: Controls,
    mine: Ints,
    base: Floats,
    segment: int,
    first: int,
    last: int,
    mean_w: Floats,
    amps: Floats,
) -> None:
    """Fill in the mean phasors of a look at what each manager watches: (g, 4). [A]

    ``mine`` are the loads apart, at ``mean_w``; ``base`` has the others.
    """
    k, length_s = controls.segment_state[segment], look_seconds(cells, first, last)
    for g in range(amps.shape[0]):
        for n in range(4):
            amps[g, n] = 0.0
            for c in range(first, last):
                amps[g, n] += base[g, c, n] * (cells.dt_s[c] / length_s)
        for j in mine:
            turned = 2 * controls.seen[g, k, j]
            if turned >= 0:
                for n in range(4):
                    amps[g, (n + turned) % 4] += controls.amps_per_watt[k, n, j] * mean_w[j]


@njit(cache=True)
def legs_of(merged: bool, amps: Floats) -> tuple[float, float]:
    """Amps of both legs of phasors; all on the first where they run on one conductor. [A]"""
    if merged:
        return float(np.hypot(amps[0] + amps[2], amps[1] + amps[3])), 0.0
    return float(np.hypot(amps[0], amps[1])), float(np.hypot(amps[2], amps[3]))


@njit(cache=True)
def still_waiting(
    controls: Controls, now: Moving, at_s: float, dt_s: float, wait_s: Floats
) -> None:
    """Fill in how far into a cell each load with a delay has no power yet: (loads,). [s]

    Its delay counts from when a manager closed its circuit.
    """
    for j in controls.waiting:
        until_s = now.circuit[controls.circuit_of[j], CLOSED_AT] + controls.delay_s[j]
        wait_s[j] = min(max(until_s - at_s, 0.0), dt_s)


@njit(cache=True)
def _on_set(controls: Controls, on_generator: Flags, k: int) -> bool:
    found = False
    for j in range(controls.load_ptr[k, 0], controls.load_ptr[k, 1]):
        found = found or on_generator[j]
    return found


@njit(cache=True)
def on_from_start(
    controls: Controls,
    now: Moving,
    supplied: Flags,
    on_generator: Flags,
    start_s: float,
    dt_s: float,
    blocked: Flags,
    on_s: Floats,
) -> None:
    """Fill in the seconds that each circuit is on: none, or all of the look.

    Notes what went dead or live, and what was opened or closed.
    """
    on_s[:] = dt_s
    for g in range(controls.order_ptr.shape[0] - 1):
        for n in range(controls.order_ptr[g], controls.order_ptr[g + 1]):
            k = controls.order[n]
            mine = now.circuit[k]
            kept_off = controls.figures[g, OFF_ON_SET] > 0.5 and _on_set(controls, on_generator, k)
            if (not supplied[k] or kept_off) and mine[OFF] < 0.5:
                mine[OFF], mine[OFF_SINCE] = 1.0, start_s
                mine[LEARNT] = mine[LEARNT + 1] = 0.0
            if not supplied[k]:
                mine[LIVE_SINCE] = mine[CLOSED_AT] = np.inf
                continue
            if mine[LIVE_SINCE] == np.inf:
                mine[LIVE_SINCE] = start_s
            if mine[OFF] > 0.5 or blocked[k]:
                on_s[k], mine[CLOSED_AT] = 0.0, np.inf
            elif mine[CLOSED_AT] == np.inf:
                mine[CLOSED_AT] = start_s


@njit(cache=True)
def shed(
    controls: Controls,
    now: Moving,
    kept: Moving,
    watched: Floats,
    segment: int,
    start_s: float,
    dt_s: float,
    mean_w: Floats,
    on_s: Floats,
) -> bool:
    """Open circuits in order once a leg is above a setting for long enough. Whether any was.

    What it notes of managers and circuits goes to both, as the look is taken again.
    """
    any_opened, state = False, controls.segment_state[segment]
    for g in range(watched.shape[0]):
        figures = controls.figures[g]
        limit, merged = figures[SETTING_A] * _SLACK, figures[MERGED] > 0.5
        first_a, second_a = legs_of(merged, watched[g])
        over_s = now.manager[g, OVER]
        if max(first_a, second_a) <= limit:
            now.manager[g, OVER] = kept.manager[g, OVER] = 0.0
            continue
        now.manager[g, OVER] = kept.manager[g, OVER] = over_s + dt_s
        after_s = max(0.0, figures[SHED_S] - over_s)
        if after_s >= dt_s:
            continue
        opened, amps, own = False, watched[g].copy(), np.zeros(4)
        for n in range(controls.order_ptr[g], controls.order_ptr[g + 1]):
            k = controls.order[n]
            if on_s[k] < dt_s or not controls.supplied[segment, k]:
                continue
            own[:] = 0.0
            for j in range(controls.load_ptr[k, 0], controls.load_ptr[k, 1]):
                turned = 2 * controls.seen[g, state, j]
                if turned >= 0:
                    for m in range(4):
                        own[(m + turned) % 4] += controls.amps_per_watt[state, m, j] * mean_w[j]
            left = legs_of(merged, amps - own)
            frees = (first_a > limit and left[0] < first_a - _FREES_A) or (
                second_a > limit and left[1] < second_a - _FREES_A
            )
            if not frees:
                continue
            on_s[k], opened = after_s, True
            amps -= own
            first_a, second_a = left
            own_a = legs_of(merged, own)
            for mine in (now.circuit[k], kept.circuit[k]):
                mine[OFF], mine[OFF_SINCE] = 1.0, start_s + after_s
                mine[LEARNT], mine[LEARNT + 1] = own_a
            if max(first_a, second_a) <= limit:
                break
        if opened:
            now.manager[g, OVER] = kept.manager[g, OVER] = 0.0
            any_opened = True
    return any_opened


@njit(cache=True)
def close_look(
    controls: Controls,
    now: Moving,
    amps: Floats,
    start_s: float,
    dt_s: float,
    mean_w: Floats,
    on_s: Floats,
    short_ws: Floats,
    short: Floats,
    drew: Flags,
) -> None:
    """Note what came of a look: amps, what was wanted while off or waiting, and who drew."""
    for g in range(amps.shape[0]):
        now.manager[g, BEFORE], now.manager[g, BEFORE + 1] = legs_of(
            controls.figures[g, MERGED] > 0.5, amps[g]
        )
        for n in range(controls.order_ptr[g], controls.order_ptr[g + 1]):
            mine = now.circuit[controls.order[n]]
            if mine[OFF] > 0.5 and not _fits(controls.figures[g], now.manager[g], mine):
                mine[FULL_AT] = start_s + dt_s
    for k in range(on_s.shape[0]):
        watts = wanted_ws = 0.0
        for j in range(controls.load_ptr[k, 0], controls.load_ptr[k, 1]):
            watts += mean_w[j]
            wanted_ws += short_ws[j]
        drew[k] = drew[k] or watts > DRAWS_W
        waited_s = now.circuit[k, CLOSED_AT] + controls.longest_s[k] - start_s
        off_s = dt_s - on_s[k] + min(max(waited_s, 0.0), on_s[k])
        if off_s > 0.0:
            short[k] += off_s if wanted_ws > 0.5 * off_s else 0.0


@njit(cache=True)
def _fits(figures: Floats, manager: Floats, mine: Floats) -> bool:
    """Whether what was seen in the last look leaves room for what a circuit drew when opened.

    It draws nothing while it is off, so a manager that watches its own circuits sees the others.
    """
    room_a = figures[SETTING_A] * _SLACK
    first_a, second_a = manager[BEFORE] + mine[LEARNT], manager[BEFORE + 1] + mine[LEARNT + 1]
    return bool(first_a <= room_a and second_a <= room_a)


@njit(cache=True)
def return_each(
    controls: Controls, now: Moving, supplied: Flags, on_generator: Flags, at_s: float
) -> None:
    """Let the last shed of each manager's circuits back, where there is time and room for it.

    There must have been room for it through all of the least time off; so what comes and goes, as
    an oven at temperature, does not have it opened and closed every few minutes.
    """
    for g in range(controls.order_ptr.shape[0] - 1):
        manager, figures = now.manager[g], controls.figures[g]
        if at_s < manager[RETURNED] + figures[RETURN_S] - 1e-6:
            continue
        for n in range(controls.order_ptr[g + 1] - 1, controls.order_ptr[g] - 1, -1):
            k = controls.order[n]
            mine = now.circuit[k]
            if mine[OFF] < 0.5 or not supplied[k]:
                continue
            if figures[OFF_ON_SET] > 0.5 and _on_set(controls, on_generator, k):
                continue
            since_s = mine[LIVE_SINCE] if mine[LIVE_SINCE] < np.inf else at_s
            full_s = max(mine[OFF_SINCE], mine[FULL_AT])
            rested = at_s >= full_s + figures[LEAST_OFF_S] - 1e-6
            waited = at_s >= since_s + figures[RETURN_S] - 1e-6
            if rested and waited and _fits(figures, manager, mine):
                mine[OFF], mine[CLOSED_AT] = 0.0, np.inf
                manager[RETURNED] = at_s
            break


@njit(cache=True)
def block(controls: Controls, now: Moving, at_s: float, blocked: Flags) -> None:
    """Which circuits are kept open from the start of a minute for another's sake."""
    blocked[:] = False
    for g in range(controls.order_ptr.shape[0] - 1):
        first, last = controls.order_ptr[g], controls.order_ptr[g + 1]
        way, rest_s = controls.figures[g, WAY], controls.figures[g, LEAST_OFF_S]
        if way == INTERLOCK:
            above = False
            for n in range(last - 1, first - 1, -1):
                k = controls.order[n]
                blocked[k] = above
                above = above or at_s < now.circuit[k, DREW] + rest_s - 1e-6
        elif way == TURNS:
            holder = int(now.manager[g, HOLDER])
            if holder >= 0 and at_s >= now.circuit[holder, DREW] + rest_s - 1e-6:
                holder = -1
                now.manager[g, HOLDER] = -1.0
            if holder >= 0:
                for n in range(first, last):
                    blocked[controls.order[n]] = controls.order[n] != holder


@njit(cache=True)
def block_more(controls: Controls, drew: Flags, blocked: Flags) -> bool:
    """Block what drew in the same minute as one that goes before it. Whether anything did."""
    more = False
    for g in range(controls.order_ptr.shape[0] - 1):
        if controls.figures[g, WAY] == SETTING:
            continue
        above = False
        for n in range(controls.order_ptr[g + 1] - 1, controls.order_ptr[g] - 1, -1):
            k = controls.order[n]
            if above and drew[k]:
                blocked[k] = more = True
            above = above or drew[k]
    return more


@njit(cache=True)
def remember(controls: Controls, now: Moving, drew: Flags, end_s: float) -> None:
    """Note who drew, and whose turn it is."""
    for k in range(drew.shape[0]):
        if drew[k]:
            now.circuit[k, DREW] = end_s
    for g in range(controls.order_ptr.shape[0] - 1):
        if controls.figures[g, WAY] != TURNS or now.manager[g, HOLDER] >= 0.0:
            continue
        for n in range(controls.order_ptr[g], controls.order_ptr[g + 1]):
            if drew[controls.order[n]]:
                now.manager[g, HOLDER] = float(controls.order[n])
