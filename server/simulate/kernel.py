"""The compiled march: every load through every cell of time.

A *cell* is a stretch in which nothing about the supply changes: an output step, cut where a source
or switch changes within it; a *segment* is a run of such cells. Loads that no control looks at are
taken through a segment one by one, each in a tight loop of its own.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.water_heater import BAND_F, SET_F, T_LOWER, T_UPPER
from server.simulate.cells import Cells
from server.simulate.lights import lighting
from server.simulate.loads import PackedLoads
from server.simulate.models import (
    DAY_S,
    S0,
    S1,
    STATES,
    TALLIES,
    charger,
    constant,
    cycle,
    draw_starts,
    hourly,
    timed,
    uniform,
)
from server.simulate.room_kernel import room_through
from server.simulate.seasons import out_of_season
from server.simulate.stores import (
    air_around,
    begin_store,
    draw_parts,
    follows_draws,
    store_through,
)
from server.simulate.water import draw_water, shut_off, without_water

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_CONSTANT, _HOURLY, _CYCLE, _TIMED, _CHARGER, _TANK, _ROOM, _SUPPLIED = range(8)
_LIGHTING = -1


@njit(cache=True, nogil=True)
def march(
    cells: Cells,
    loads: PackedLoads,
    available: Floats,
    on_generator: Flags,
    ambient: Floats,
    supplied_w: Floats,
    seed: int,
    draw: int,
    asked: Singles,
    took: Singles,
    apart: Flags,
) -> tuple[Floats, Floats, Singles, Singles, Floats]:
    """March every load that no control looks at through every cell of one draw.

    Parameters
    ----------
    available : (segments, loads)     Share of its power a load can have; 0 is dead.
    on_generator : (segments, loads)  Whether a set feeds the load.
    ambient : (cells, 4)              Outdoor temperature [F], darkness [share], sun on level
                                      ground [W/m2], things in the rooms with power [share].
    supplied_w : (supplied, cells)    Watts of the loads given from outside, in order. [W]
    asked, took : (loads, cells)      Filled with mean watts asked for and taken. [W]
    apart : (loads,)                  Left to the march under control; a room goes with its units.

    Returns
    -------
    ledger : (loads, 5)       Heat in, lost and stored of each store [Wh], starts of its motor, and
                              what it was short of.
    zone_wh : (zones, 3)      Heat in, lost and stored of each zone. [Wh]
    zone_f : (zones, cells)   Zone temperature at each cell's end. [F]
    level : (watched, cells)  What is watched of a load, at each cell's end.
    state : (loads, states)   What each load remembers at the end.
    """
    count, zones, span = loads.model.shape[0], loads.zones.shape[0], cells.dt_s.shape[0]
    state, ledger = np.zeros((count, STATES)), np.zeros((count, TALLIES))
    zone_wh, zone_f = np.zeros((zones, 3)), np.zeros((zones, span), dtype=np.float32)
    watched = int(loads.watch_of.max()) + 1 if count else 0
    level = np.zeros((watched, span), dtype=np.float32)
    begins, begin_count, run_s = begin_loads(loads, seed, draw, state)
    for z in range(zones):
        if np.any(apart & (loads.zone_of == z)):
            continue
        room_through(
            cells,
            loads,
            z,
            available,
            on_generator,
            ambient,
            seed,
            draw,
            state,
            ledger,
            zone_wh[z],
            zone_f[z],
            asked,
            took,
        )
    unwatched = np.zeros(span, dtype=np.float32)
    whole = np.zeros((span, 1), dtype=np.float32)
    fine = np.zeros((span, draw_parts(cells.dt_s)), dtype=np.float32)
    around = np.zeros(span)
    dry = without_water(cells, loads, available, seed, draw)
    for i in range(count):
        if loads.model[i] == _ROOM or apart[i]:
            continue
        if loads.model[i] > _TANK:
            for c in range(span):
                around[c] = air_around(loads.stands_at[i], loads.params[i], ambient, zone_f, c)
        flow = fine if follows_draws(loads.model[i]) else whole
        flow[:] = 0.0
        if loads.flow_of[i] >= 0:
            draw_water(cells, loads, i, seed, draw, flow)
        shut_off(loads, i, dry, flow)
        for segment in range(available.shape[0]):
            first, last = cells.segment_cell[segment], cells.segment_cell[segment + 1]
            if loads.model[i] == _SUPPLIED:
                row = supplied_w[i - count + supplied_w.shape[0]]
                for c in range(first, last):
                    asked[i, c] = row[c]
                    took[i, c] = row[c] * available[segment, i]
            elif loads.model[i] >= _TANK:
                _store_through(
                    cells,
                    loads,
                    i,
                    first,
                    last,
                    available[segment, i],
                    on_generator[segment, i],
                    flow,
                    around,
                    state[i],
                    ledger[i],
                    asked[i],
                    took[i],
                    level[loads.watch_of[i]] if loads.watch_of[i] >= 0 else unwatched,
                )
            else:
                through(
                    cells,
                    loads,
                    i,
                    first,
                    last,
                    available[segment, i],
                    ambient,
                    seed,
                    draw,
                    state[i],
                    begins[i],
                    begin_count[i],
                    run_s[i],
                    asked[i],
                    took[i],
                )
    return ledger, zone_wh, zone_f, level, state


@njit(cache=True)
def begin_loads(
    loads: PackedLoads, seed: int, draw: int, state: Floats
) -> tuple[Floats, Ints, Floats]:
    """Draw the state each load begins in, and the starts of timed loads and their run lengths."""
    count = loads.model.shape[0]
    days = int(loads.span_s // DAY_S) + 3
    widest = 1
    for i in range(count):
        per_day = (loads.habit_ptr[i + 1] - loads.habit_ptr[i]) * days
        widest = max(widest, per_day, loads.start_ptr[i + 1] - loads.start_ptr[i])
    begins = np.zeros((count, widest))
    begin_count = np.zeros(count, dtype=np.int64)
    run_s = np.zeros(count)
    for i in range(count):
        kind, params = loads.model[i], loads.params[i]
        u, v = uniform(seed, loads.stream[i], draw, 1 << 40)
        if not math.isnan(loads.begun[i, 0]):
            state[i] = loads.begun[i]
        elif kind == _CYCLE:
            state[i, S0] = 1.0 if u < params[0] / (params[0] + params[1]) else 0.0
            state[i, S1] = max(1e-3, v * (params[0] if state[i, S0] > 0.5 else params[1]))
        elif kind == _TANK:
            state[i, T_UPPER] = state[i, T_LOWER] = params[SET_F] - params[BAND_F] * u
        elif kind > _SUPPLIED:
            begin_store(kind, state[i], params, u, v)
        elif kind == _TIMED:
            for k in range(loads.stage_ptr[i], loads.stage_ptr[i + 1]):
                run_s[i] += loads.stages[k, 0]
            first, last = loads.start_ptr[i], loads.start_ptr[i + 1]
            if last > first:
                begin_count[i] = last - first
                for k in range(last - first):
                    begins[i, k] = loads.starts[first + k, 0]
            else:
                begin_count[i] = draw_starts(
                    loads.habits,
                    loads.habit_ptr[i],
                    loads.habit_ptr[i + 1],
                    run_s[i],
                    loads.span_s,
                    loads.midnight_s,
                    seed,
                    loads.stream[i],
                    draw,
                    begins[i],
                )
            for k in range(begin_count[i]):
                for g in range(loads.gap_ptr[i], loads.gap_ptr[i + 1]):
                    if loads.gaps[g, 0] <= begins[i, k] < loads.gaps[g, 1]:
                        begins[i, k] = loads.gaps[g, 1]
                if k > 0:
                    begins[i, k] = max(begins[i, k], begins[i, k - 1] + run_s[i])
    return begins, begin_count, run_s


@njit(cache=True)
def through(
    cells: Cells,
    loads: PackedLoads,
    i: int,
    first: int,
    last: int,
    available: float,
    ambient: Floats,
    seed: int,
    draw: int,
    memory: Floats,
    begins: Floats,
    begin_count: int,
    run_s: float,
    asked: Singles,
    took: Singles,
) -> None:
    """Take one load that stores nothing through cells of unchanging supply."""
    kind, params, load_w = loads.model[i], loads.params[i], loads.load_w[i]
    start_s, dt_s = cells.start_s, cells.dt_s
    if kind == _CONSTANT:
        constant(first, last, params[0], load_w, available, asked, took)
    elif kind == _HOURLY:
        hourly(
            start_s,
            dt_s,
            first,
            last,
            memory,
            loads.by_hour[i],
            params[0],
            loads.midnight_s,
            seed,
            loads.stream[i],
            draw,
            load_w,
            available,
            asked,
            took,
        )
    elif kind == _LIGHTING:
        lighting(
            start_s,
            dt_s,
            ambient[:, 1],
            first,
            last,
            memory,
            params,
            loads.midnight_s,
            seed,
            loads.stream[i],
            draw,
            load_w,
            available,
            asked,
            took,
        )
    elif kind == _CYCLE:
        cycle(
            dt_s,
            ambient[:, 0],
            first,
            last,
            memory,
            params,
            seed,
            loads.stream[i],
            draw,
            load_w,
            available,
            asked,
            took,
        )
    elif kind == _TIMED:
        timed(
            start_s,
            dt_s,
            first,
            last,
            memory,
            params[0] > 0.5,
            loads.stages,
            loads.stage_ptr[i],
            loads.stage_ptr[i + 1],
            begins,
            begin_count,
            run_s,
            load_w,
            available,
            asked,
            took,
        )
    elif kind == _CHARGER:
        charger(
            start_s,
            dt_s,
            first,
            last,
            memory,
            loads.starts,
            loads.start_ptr[i],
            loads.start_ptr[i + 1],
            load_w,
            available,
            asked,
            took,
        )
    if kind in (_HOURLY, _CYCLE):
        out_of_season(params, ambient[first:last, 0], asked[first:last], took[first:last])


@njit(cache=True)
def _store_through(
    cells: Cells,
    loads: PackedLoads,
    i: int,
    first: int,
    last: int,
    available: float,
    on_generator: bool,
    flow: Singles,
    around: Floats,
    memory: Floats,
    ledger: Floats,
    asked: Singles,
    took: Singles,
    level: Singles,
) -> None:
    """Take one load that stores something through cells of unchanging supply."""
    store_through(
        loads.model[i],
        memory,
        loads.params[i],
        loads.load_w[i],
        flow,
        around,
        cells.dt_s,
        first,
        last,
        available,
        on_generator,
        ledger,
        asked,
        took,
        level,
    )
