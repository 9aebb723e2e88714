"""The compiled march: every load through every cell of time.

A *cell* is a stretch in which nothing about the supply changes: an output step, cut where a source
or switch changes within it. Loads advance together, cell by cell, so that a control that looks at
all of them can stand between two cells.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.rooms import rooms, set_points
from server.physics.water_heater import BAND_F, SET_F, T_LOWER, T_UPPER
from server.simulate.models import (
    DAY_S,
    DRAW_GAL,
    DRAW_GPM,
    LEVEL,
    S0,
    S1,
    STARTS,
    STATES,
    TALLIES,
    charger,
    cycle,
    draw_starts,
    fill_draws,
    hour_of,
    hourly_mean,
    timed,
    uniform,
)
from server.simulate.stores import stored

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]

_CONSTANT, _HOURLY, _CYCLE, _TIMED, _CHARGER, _TANK, _ROOM, _SUPPLIED = range(8)


@njit(cache=True, nogil=True)
def march(
    cell_start_s: Floats,
    cell_dt_s: Floats,
    cell_segment: Ints,
    available: Floats,
    on_generator: NDArray[np.bool_],
    ambient: Floats,
    supplied_w: Floats,
    midnight_s: float,
    span_s: float,
    seed: int,
    draw: int,
    model: Ints,
    load_w: Floats,
    params: Floats,
    by_hour: Floats,
    stream: NDArray[np.uint64],
    stage_ptr: Ints,
    stages: Floats,
    habit_ptr: Ints,
    habits: Floats,
    start_ptr: Ints,
    starts: Floats,
    zone_of: Ints,
    zones: Floats,
    zone_stream: NDArray[np.uint64],
    watch_of: Ints,
    flow_of: Ints,
) -> tuple[Singles, Singles, Floats, Floats, Singles, Singles]:
    """March every load through every cell of one draw.

    Parameters
    ----------
    cell_start_s, cell_dt_s : (cells,)     Start and length of each cell. [s]
    cell_segment : (cells,)                Row of ``available`` that applies.
    available : (segments, loads)          Share of its power a load can have; 0 is dead.
    on_generator : (segments, loads)       Whether a set feeds the load.
    ambient : (cells, 3)                   Outdoor temperature [F], darkness [share], sun on level
                                           ground [W/m2].
    supplied_w : (supplied, cells)         Watts of the loads given from outside, in order. [W]
    the rest                               As packed by ``server.simulate.loads``.

    Returns
    -------
    asked_w, taken_w : (cells, loads)      Mean watts asked for and taken. [W]
    ledger : (loads, 5)                    Heat in, lost and stored of each store [Wh], starts of
                                           its motor, and what it was short of.
    zone_wh : (zones, 3)                   Heat in, lost and stored of each zone. [Wh]
    zone_f : (zones, cells)                Zone temperature at each cell's end. [F]
    level : (watched, cells)               What is watched of a load, at each cell's end.
    """
    cells, loads, zone_count = cell_dt_s.shape[0], model.shape[0], zones.shape[0]
    asked_w = np.zeros((cells, loads), dtype=np.float32)
    taken_w = np.zeros((cells, loads), dtype=np.float32)
    ledger = np.zeros((loads, TALLIES))
    zone_wh = np.zeros((zone_count, 3))
    zone_f = np.zeros((zone_count, cells), dtype=np.float32)
    watched = int(watch_of.max()) + 1 if loads else 0
    level = np.zeros((watched, cells), dtype=np.float32)
    state = np.zeros((loads, STATES))
    days = int(span_s // DAY_S) + 3
    run_s = np.zeros(loads)
    widest = 1
    for i in range(loads):
        per_day = (habit_ptr[i + 1] - habit_ptr[i]) * days
        widest = max(widest, per_day, start_ptr[i + 1] - start_ptr[i])
    begins = np.zeros((loads, widest))
    begin_count = np.zeros(loads, dtype=np.int64)
    first_supplied = loads - supplied_w.shape[0]
    for i in range(loads):
        u, v = uniform(seed, stream[i], draw, 1 << 40)
        if model[i] == _CYCLE:
            on_s, off_s = params[i, 0], params[i, 1]
            state[i, S0] = 1.0 if u < on_s / (on_s + off_s) else 0.0
            state[i, S1] = max(1e-3, v * (on_s if state[i, S0] > 0.5 else off_s))
        elif model[i] == _TIMED:
            for k in range(stage_ptr[i], stage_ptr[i + 1]):
                run_s[i] += stages[k, 0]
            if start_ptr[i + 1] > start_ptr[i]:
                begin_count[i] = start_ptr[i + 1] - start_ptr[i]
                for k in range(begin_count[i]):
                    begins[i, k] = starts[start_ptr[i] + k, 0]
                    if k > 0:
                        begins[i, k] = max(begins[i, k], begins[i, k - 1] + run_s[i])
            else:
                begin_count[i] = draw_starts(
                    habits,
                    habit_ptr[i],
                    habit_ptr[i + 1],
                    run_s[i],
                    span_s,
                    midnight_s,
                    seed,
                    stream[i],
                    draw,
                    begins[i],
                )
        elif model[i] == _TANK:
            state[i, T_UPPER] = state[i, T_LOWER] = params[i, SET_F] - params[i, BAND_F] * u
    zone_temp = np.zeros(zone_count)
    units = np.zeros((zone_count, loads), dtype=np.int64)
    unit_count = np.zeros(zone_count, dtype=np.int64)
    for i in range(loads):
        if model[i] == _ROOM:
            units[zone_of[i], unit_count[zone_of[i]]] = i
            unit_count[zone_of[i]] += 1
    for z in range(zone_count):
        u, _ = uniform(seed, zone_stream[z], draw, 1 << 41)
        settle = ambient[0, 0] + zones[z, 2] / zones[z, 0]
        heat_f, cool_f = set_points(zones[z], -midnight_s / 3600.0 % 24.0)
        zone_temp[z] = min(max(settle, heat_f + u - 0.5), cool_f + u - 0.5)
    flow = np.zeros((int(flow_of.max()) + 1 if loads else 0, cells), dtype=np.float32)
    for i in range(loads):
        if flow_of[i] >= 0:
            fill_draws(
                flow[flow_of[i]],
                cell_start_s,
                cell_dt_s,
                by_hour[i],
                params[i, DRAW_GAL],
                params[i, DRAW_GPM],
                midnight_s,
                seed,
                stream[i],
                draw,
            )
    next_s = np.full(loads, -np.inf)
    asked_now, took_now, ability = np.zeros(loads), np.zeros(loads), np.zeros((loads, 2))

    for c in range(cells):
        at_s, dt_s = cell_start_s[c], cell_dt_s[c]
        open_share = available[cell_segment[c]]
        set_feeds = on_generator[cell_segment[c]]
        hour = hour_of(at_s, midnight_s)
        one_hour = (at_s - midnight_s) % 3600.0 + dt_s <= 3600.0 + 1e-9
        for i in range(loads):
            kind = model[i]
            if kind == _ROOM:
                continue
            share = 0.0
            if kind == _CONSTANT:
                share = params[i, 0]
            elif kind == _HOURLY:
                if one_hour:
                    share = by_hour[i, hour]
                else:
                    share = hourly_mean(by_hour, i, at_s, dt_s, midnight_s)
            elif kind == _CYCLE:
                share = cycle(state, i, params, dt_s, seed, stream[i], draw)
            elif kind == _TIMED:
                if next_s[i] >= at_s + dt_s:
                    continue
                share = timed(
                    state,
                    i,
                    params,
                    stages,
                    stage_ptr[i],
                    stage_ptr[i + 1],
                    begins,
                    begin_count[i],
                    run_s[i],
                    at_s,
                    dt_s,
                    open_share[i],
                )
                k = int(state[i, S0])
                next_s[i] = begins[i, k] if k < begin_count[i] else np.inf
            elif kind == _CHARGER:
                if next_s[i] >= at_s + dt_s:
                    continue
                share = charger(
                    state,
                    i,
                    starts,
                    start_ptr[i],
                    start_ptr[i + 1],
                    load_w,
                    at_s,
                    dt_s,
                    open_share[i],
                )
                k = start_ptr[i] + int(state[i, S0])
                next_s[i] = starts[k, 0] if k < start_ptr[i + 1] else np.inf
            elif kind == _TANK:
                watts = stored(
                    kind,
                    state[i],
                    params[i],
                    load_w[i],
                    flow[flow_of[i], c] if flow_of[i] >= 0 else 0.0,
                    dt_s,
                    open_share[i],
                    set_feeds[i],
                    ledger[i],
                )
                if watch_of[i] >= 0:
                    level[watch_of[i], c] = state[i, LEVEL]
                asked_w[c, i] = watts
                taken_w[c, i] = watts * open_share[i]
                continue
            elif kind == _SUPPLIED:
                asked_w[c, i] = supplied_w[i - first_supplied, c]
                taken_w[c, i] = supplied_w[i - first_supplied, c] * open_share[i]
                continue
            asked_w[c, i] = share * load_w[i]
            taken_w[c, i] = share * load_w[i] * open_share[i]
        for z in range(zone_count):
            zone_temp[z] = rooms(
                zone_temp[z],
                zones[z],
                units[z],
                unit_count[z],
                state,
                params,
                stage_ptr,
                stages,
                load_w,
                open_share,
                set_feeds,
                ambient[c, 0],
                ambient[c, 2],
                at_s,
                dt_s,
                midnight_s,
                ability,
                asked_now,
                took_now,
                ledger[:, STARTS],
                zone_wh[z],
            )
            zone_f[z, c] = zone_temp[z]
            for n in range(unit_count[z]):
                i = units[z, n]
                asked_w[c, i] = asked_now[i]
                taken_w[c, i] = took_now[i]
    return asked_w, taken_w, ledger, zone_wh, zone_f, level
