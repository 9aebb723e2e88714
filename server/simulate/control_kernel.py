"""The compiled march under control: load managers, minute by minute.

What no manager touches is marched before. The rest goes look by look, the cells of half a minute: a
manager looks at their mean amps and opens circuits inside them once a leg was above its setting for
long enough; returns, interlocks and turns are decided for whole minutes, so that no one-minute mean
holds both of a pair. A look or a minute in which something is opened is put back and taken again.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.simulate.cells import Cells
from server.simulate.control_calm import calm_until, stayed_calm, through_calm
from server.simulate.control_managers import (
    CLOSED_AT,
    DREW,
    FULL_AT,
    HOLDER,
    LIVE_SINCE,
    OFF_SINCE,
    RETURNED,
    base_amps,
    block,
    block_more,
    close_look,
    look_end,
    look_seconds,
    mean_watts,
    on_from_start,
    remember,
    return_each,
    shed,
    still_waiting,
    watched_amps,
)
from server.simulate.control_parts import Moving, Water, cell_under_control, copy_moving
from server.simulate.controls import Controls
from server.simulate.kernel import begin_loads
from server.simulate.loads import PackedLoads
from server.simulate.models import STATES, TALLIES
from server.simulate.room_kernel import outdoors_at_start, room_begins
from server.simulate.stores import draw_parts, follows_draws
from server.simulate.water import draw_water, shut_off, without_water

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@njit(cache=True, nogil=True)
def march_under_control(
    cells: Cells,
    loads: PackedLoads,
    controls: Controls,
    available: Floats,
    on_generator: Flags,
    ambient: Floats,
    seed: int,
    draw: int,
    asked: Singles,
    took: Singles,
    ledger: Floats,
    zone_wh: Floats,
    zone_f: Singles,
    level: Singles,
    state: Floats,
) -> tuple[Singles, Floats]:
    """March what managers control, and the rooms it shares, after ``kernel.march``.

    Parameters are those of ``kernel.march`` and what it returns, whose rows of the loads ``apart``
    are filled.

    Returns
    -------
    held : (k, cells)   Seconds of each cell in which a circuit with supply was held off. [s]
    short : (k,)        Time of want while held off, or waiting after it. [s]
    """
    count, span = loads.model.shape[0], cells.dt_s.shape[0]
    circuits, managers = controls.load_ptr.shape[0], controls.order_ptr.shape[0] - 1
    begun = np.zeros((count, STATES))
    begins, begin_count, run_s = begin_loads(loads, seed, draw, begun)
    dry = without_water(cells, loads, available, seed, draw)
    water = _water(cells, loads, controls.rows, dry, seed, draw)
    now = _begins(
        loads,
        controls.rooms,
        outdoors_at_start(cells, ambient),
        seed,
        draw,
        begun,
        begins,
        circuits,
        managers,
    )
    at_look, at_tick = _like(now), _like(now)
    one = Cells(
        np.zeros(1),
        np.ones(1),
        np.ones(1),
        np.zeros(1, dtype=np.int64),
        np.zeros(1, dtype=np.int64),
    )
    short_ws, cell_ws, mean_w = np.zeros(count), np.zeros(count), np.zeros(count)
    wait_s = np.zeros(count)
    room = np.zeros((5, count))
    held = np.zeros((circuits, span), dtype=np.float32)
    short, short_now = np.zeros(circuits), np.zeros(circuits)
    blocked, drew = np.zeros(circuits, dtype=np.bool_), np.zeros(circuits, dtype=np.bool_)
    base = base_amps(cells, controls, took)
    segment, amps = 0, np.zeros((managers, 4))
    on_s, cell_on_s = np.zeros(circuits), np.zeros(circuits)
    mine = np.flatnonzero(controls.apart)
    around, upcoming, tried = np.zeros(span), 0, 0
    for tick in range(controls.tick_cell.shape[0] - 1):
        if tick < upcoming:
            continue
        first, last = controls.tick_cell[tick], controls.tick_cell[tick + 1]
        while cells.segment_cell[segment + 1] <= first:
            segment += 1
        if tick >= tried:
            upcoming = tried = calm_until(cells, controls, now, segment, tick)
        if upcoming > tick:
            copy_moving(mine, begin_count, at_tick, now)
            calm = controls.tick_cell[upcoming]
            through_calm(
                cells,
                loads,
                controls,
                available[segment],
                on_generator[segment],
                ambient,
                seed,
                draw,
                begin_count,
                run_s,
                water,
                now,
                first,
                calm,
                asked,
                took,
                level,
                zone_f,
                around,
            )
            if stayed_calm(
                cells, controls, now, mine, base, segment, first, calm, took, mean_w, amps
            ):
                continue
            upcoming = tick
            copy_moving(mine, begin_count, now, at_tick)
        block(controls, now, cells.start_s[first], blocked)
        return_each(
            controls, now, controls.supplied[segment], on_generator[segment], cells.start_s[first]
        )
        copy_moving(mine, begin_count, at_tick, now)
        more = True
        while more:
            short_now[:] = 0.0
            drew[:] = False
            s, end = segment, first
            while end < last:
                begin, end = end, look_end(controls, end, last)
                start_s, look_s = cells.start_s[begin], look_seconds(cells, begin, end)
                while cells.segment_cell[s + 1] <= begin:
                    s += 1
                on_from_start(
                    controls,
                    now,
                    controls.supplied[s],
                    on_generator[s],
                    start_s,
                    look_s,
                    blocked,
                    on_s,
                )
                copy_moving(mine, begin_count, at_look, now)
                again = True
                trial = True
                while again:
                    short_ws[:] = 0.0
                    done_s = 0.0
                    for c in range(begin, end):
                        cell_on_s[:] = np.minimum(np.maximum(on_s - done_s, 0.0), cells.dt_s[c])
                        still_waiting(controls, now, cells.start_s[c], cells.dt_s[c], wait_s)
                        cell_under_control(
                            cells,
                            loads,
                            controls.rows,
                            controls.rooms,
                            controls.circuit_of,
                            available[s],
                            on_generator[s],
                            ambient,
                            seed,
                            draw,
                            begin_count,
                            run_s,
                            water,
                            now,
                            c,
                            cell_on_s,
                            wait_s,
                            asked,
                            took,
                            level,
                            zone_f,
                            cell_ws,
                            one,
                            room,
                        )
                        short_ws += cell_ws
                        held[:, c] = cells.dt_s[c] - cell_on_s
                        done_s += cells.dt_s[c]
                    mean_watts(cells, mine, begin, end, took, mean_w)
                    watched_amps(cells, controls, mine, base, s, begin, end, mean_w, amps)
                    again = trial and shed(
                        controls,
                        now,
                        at_look,
                        amps,
                        s,
                        start_s,
                        look_s,
                        mean_w,
                        on_s,
                    )
                    trial = False
                    if again:
                        copy_moving(mine, begin_count, now, at_look)
                close_look(
                    controls, now, amps, start_s, look_s, mean_w, on_s, short_ws, short_now, drew
                )
            more = block_more(controls, drew, blocked)
            if more:
                copy_moving(mine, begin_count, now, at_tick)
        short += short_now
        remember(controls, now, drew, cells.start_s[last - 1] + cells.dt_s[last - 1])
    for i in range(count):
        if controls.apart[i]:
            ledger[i], state[i] = now.ledger[i], now.state[i]
    for z in controls.rooms:
        zone_wh[z] = now.zone_wh[z]
    return held, short


@njit(cache=True)
def _water(cells: Cells, loads: PackedLoads, rows: Ints, dry: Flags, seed: int, draw: int) -> Water:
    """The gallons an hour that each of these loads draws in every cell."""
    count, span = loads.model.shape[0], cells.dt_s.shape[0]
    parts, at, total = np.ones(count, dtype=np.int64), np.zeros(count, dtype=np.int64), 0
    for i in rows:
        if follows_draws(loads.model[i]):
            parts[i] = draw_parts(cells.dt_s)
        at[i] = total
        total += span * parts[i]
    flow = np.zeros(total, dtype=np.float32)
    for i in rows:
        mine = flow[at[i] : at[i] + span * parts[i]].reshape((span, parts[i]))
        if loads.flow_of[i] >= 0:
            draw_water(cells, loads, i, seed, draw, mine)
        shut_off(loads, i, dry, mine)
    return Water(flow, at, parts)


@njit(cache=True)
def _begins(
    loads: PackedLoads,
    rooms: Ints,
    outdoor_f: float,
    seed: int,
    draw: int,
    state: Floats,
    begins: Floats,
    circuits: int,
    managers: int,
) -> Moving:
    """What all that advances begins with."""
    zone_f = np.zeros(loads.zones.shape[0])
    for z in rooms:
        zone_f[z] = room_begins(loads, z, outdoor_f, seed, draw)
    circuit = np.zeros((circuits, 8))
    circuit[:, OFF_SINCE] = circuit[:, LIVE_SINCE] = -np.inf
    circuit[:, DREW] = circuit[:, FULL_AT] = circuit[:, CLOSED_AT] = -np.inf
    manager = np.zeros((managers, 5))
    manager[:, RETURNED] = -np.inf
    manager[:, HOLDER] = -1.0
    ledger = np.zeros((state.shape[0], TALLIES))
    return Moving(state, ledger, begins, np.zeros((zone_f.size, 3)), zone_f, circuit, manager)


@njit(cache=True)
def _like(moving: Moving) -> Moving:
    return Moving(
        moving.state.copy(),
        moving.ledger.copy(),
        moving.begins.copy(),
        moving.zone_wh.copy(),
        moving.zone_f.copy(),
        moving.circuit.copy(),
        moving.manager.copy(),
    )
