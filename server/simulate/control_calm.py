"""Compiled shortcut of the march under control: stretches in which no manager has a say.

While nothing is held off, the loads of managed circuits are taken through half an hour at a time
(``controls.CALM_TICKS``) as if there were no manager. Where a leg then never passes a setting, and
none of interlocked or alternating circuits draws, looking minute by minute would have come to the
same; else the stretch is put back and goes minute by minute.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.steady_rooms import rooms_through
from server.simulate.cells import Cells
from server.simulate.control_managers import (
    BEFORE,
    CLOSED_AT,
    LIVE_SINCE,
    OFF,
    OVER,
    legs_of,
    look_end,
    mean_watts,
    watched_amps,
)
from server.simulate.control_parts import Moving, Water
from server.simulate.controls import MERGED, SETTING, SETTING_A, WAY, Controls
from server.simulate.kernel import through
from server.simulate.loads import PackedLoads
from server.simulate.models import STARTS
from server.simulate.stores import TANK, air_around, store_through

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_SLACK = 1.0 + 1e-9


@njit(cache=True)
def calm_until(cells: Cells, controls: Controls, now: Moving, segment: int, tick: int) -> int:
    """The minute up to which managers may have no say, from this one on; this one where they do.

    It begins in ``segment``. They have a say while one of their circuits with supply is off, or its
    supply has just come or gone, or something on it waits since it was closed.
    """
    first = controls.tick_cell[tick]
    for k in range(controls.load_ptr.shape[0]):
        off, dead = now.circuit[k, OFF] > 0.5, now.circuit[k, LIVE_SINCE] == np.inf
        if (off or dead) if controls.supplied[segment, k] else not (off and dead):
            return tick
        if controls.longest_s[k] > 0.0 and controls.supplied[segment, k]:
            waits_to_s = now.circuit[k, CLOSED_AT] + controls.longest_s[k]
            if waits_to_s > cells.start_s[first]:
                return tick
    ends = cells.segment_cell[segment + 1]
    until = tick
    while (
        until - tick < controls.calm_ticks
        and until + 1 < controls.tick_cell.shape[0]
        and controls.tick_cell[until + 1] <= ends
    ):
        until += 1
    return until


@njit(cache=True)
def through_calm(
    cells: Cells,
    loads: PackedLoads,
    controls: Controls,
    available: Floats,
    on_generator: Flags,
    ambient: Floats,
    seed: int,
    draw: int,
    begin_count: Ints,
    run_s: Floats,
    water: Water,
    now: Moving,
    first: int,
    last: int,
    asked: Singles,
    took: Singles,
    level: Singles,
    zone_f: Singles,
    around: Floats,
) -> None:
    """Take every load apart through cells of unchanging supply, as if there were no manager.

    ``around`` (cells,) is scratch; the rest is as in ``control_kernel.march_under_control``.
    """
    count, span = loads.model.shape[0], cells.dt_s.shape[0]
    mean_w, ability = np.zeros((2, count)), np.zeros((count, 2))
    unwatched = np.zeros(span if controls.rows.shape[0] else 0, dtype=np.float32)
    for z in controls.rooms:
        now.zone_f[z] = rooms_through(
            now.zone_f[z],
            loads.zones[z],
            np.flatnonzero(loads.zone_of == z),
            now.state,
            loads.params,
            loads.stage_ptr,
            loads.stages,
            loads.load_w,
            available,
            on_generator,
            ambient,
            cells.start_s,
            cells.dt_s,
            first,
            last,
            loads.midnight_s,
            ability,
            mean_w,
            now.ledger[:, STARTS],
            now.zone_wh[z],
            asked,
            took,
            zone_f[z],
        )
    for i in controls.rows:
        if loads.model[i] < TANK:
            through(
                cells,
                loads,
                i,
                first,
                last,
                available[i],
                ambient,
                seed,
                draw,
                now.state[i],
                now.begins[i],
                begin_count[i],
                run_s[i],
                asked[i],
                took[i],
            )
            continue
        for c in range(first, last):
            around[c] = air_around(loads.stands_at[i], loads.params[i], ambient, zone_f, c)
        parts = water.parts[i]
        flow = water.flow[water.at[i] : water.at[i] + span * parts].reshape((span, parts))
        store_through(
            loads.model[i],
            now.state[i],
            loads.params[i],
            loads.load_w[i],
            flow,
            around,
            cells.dt_s,
            first,
            last,
            available[i],
            on_generator[i],
            now.ledger[i],
            asked[i],
            took[i],
            level[loads.watch_of[i]] if loads.watch_of[i] >= 0 else unwatched,
        )


@njit(cache=True)
def stayed_calm(
    cells: Cells,
    controls: Controls,
    now: Moving,
    mine: Ints,
    base: Floats,
    segment: int,
    first: int,
    last: int,
    took: Singles,
    mean_w: Floats,
    amps: Floats,
) -> bool:
    """Whether no manager had a say in these cells; if so, what each saw last is noted.

    ``mean_w`` (loads,) and ``amps`` (g, 4) are scratch.
    """
    for g in range(amps.shape[0]):
        if controls.figures[g, WAY] == SETTING:
            continue
        for n in range(controls.order_ptr[g], controls.order_ptr[g + 1]):
            k = controls.order[n]
            for j in range(controls.load_ptr[k, 0], controls.load_ptr[k, 1]):
                for c in range(first, last):
                    if took[j, c] > 0.0:
                        return False
    end = first
    while end < last:
        begin, end = end, look_end(controls, end, last)
        mean_watts(cells, mine, begin, end, took, mean_w)
        watched_amps(cells, controls, mine, base, segment, begin, end, mean_w, amps)
        for g in range(amps.shape[0]):
            one, other = legs_of(controls.figures[g, MERGED] > 0.5, amps[g])
            if max(one, other) > controls.figures[g, SETTING_A] * _SLACK:
                return False
    for g in range(amps.shape[0]):
        one, other = legs_of(controls.figures[g, MERGED] > 0.5, amps[g])
        now.manager[g, OVER], now.manager[g, BEFORE], now.manager[g, BEFORE + 1] = 0.0, one, other
    return True
