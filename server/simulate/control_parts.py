"""Compiled parts of the march under control: one cell of every load that a manager may open."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.simulate.cells import Cells
from server.simulate.kernel import through
from server.simulate.loads import PackedLoads
from server.simulate.models import LEVEL, S0
from server.simulate.room_kernel import room_part
from server.simulate.stages import stage_share_s
from server.simulate.stores import TANK, air_around, stored_through_draws

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_TIMED = 3


class Moving(NamedTuple):
    """What advances: kept at the start of a cell or minute, and put back to try it again.

    state, ledger, begins (loads, …)   As in ``kernel.march``.
    zone_wh, zone_f (zones, …)         Heat of each room, and its temperature. [Wh, F]
    circuit (k, 8), manager (g, 5)     See ``control_managers``.
    """

    state: Floats
    ledger: Floats
    begins: Floats
    zone_wh: Floats
    zone_f: Floats
    circuit: Floats
    manager: Floats


class Water(NamedTuple):
    """Gallons an hour of every load that draws water, one after another.

    ``at`` (loads,) is where each begins in ``flow``, ``parts`` (loads,) how many it has to a cell.
    """

    flow: Singles
    at: Ints
    parts: Ints


@njit(cache=True)
def copy_moving(mine: Ints, begin_count: Ints, to: Moving, source: Moving) -> None:
    """Keep, or put back, all that advances; ``mine`` are the loads apart."""
    for i in mine:
        _copy(to.state, source.state, i, source.state.shape[1])
        _copy(to.ledger, source.ledger, i, source.ledger.shape[1])
        _copy(to.begins, source.begins, i, begin_count[i])
    for z in range(source.zone_f.shape[0]):
        _copy(to.zone_wh, source.zone_wh, z, 3)
        to.zone_f[z] = source.zone_f[z]
    for k in range(source.circuit.shape[0]):
        _copy(to.circuit, source.circuit, k, source.circuit.shape[1])
    for g in range(source.manager.shape[0]):
        _copy(to.manager, source.manager, g, source.manager.shape[1])


@njit(cache=True)
def _copy(to: Floats, source: Floats, row: int, count: int) -> None:
    for n in range(count):
        to[row, n] = source[row, n]


@njit(cache=True)
def cell_under_control(
    cells: Cells,
    loads: PackedLoads,
    rows: Ints,
    rooms: Ints,
    circuit_of: Ints,
    available: Floats,
    on_generator: Flags,
    ambient: Floats,
    seed: int,
    draw: int,
    begin_count: Ints,
    run_s: Floats,
    water: Water,
    moving: Moving,
    c: int,
    on_s: Floats,
    wait_s: Floats,
    asked: Singles,
    took: Singles,
    level: Singles,
    zone_f: Singles,
    short_ws: Floats,
    one: Cells,
    room: Floats,
) -> None:
    """Take every load apart through one cell; each circuit is on for its first ``on_s`` seconds.

    In the first ``wait_s`` (loads,) of them it has no power yet. ``available`` and ``on_generator``
    (loads,) are those of the cell's segment. ``short_ws`` (loads,) gets what each asked for while
    waiting or held off. ``one`` is a cell to be filled in and
    ``room`` (5, loads) scratch.
    """
    dt_s = cells.dt_s[c]
    one_w = np.zeros((2, 1), dtype=np.float32)
    for z in rooms:
        _room(
            loads,
            z,
            circuit_of,
            available,
            on_generator,
            ambient[c],
            cells.start_s[c],
            dt_s,
            moving,
            on_s,
            wait_s,
            asked[:, c],
            took[:, c],
            short_ws,
            room,
        )
        zone_f[z, c] = moving.zone_f[z]
    for i in rows:
        k = circuit_of[i]
        first_s = dt_s if k < 0 else on_s[k]
        waits_s = min(wait_s[i], first_s)
        asked_ws = took_ws = short_ws[i] = 0.0
        for piece in range(3):
            at_s, part_s, has = cells.start_s[c], waits_s, 0.0
            if piece == 1:
                at_s, part_s, has = at_s + waits_s, first_s - waits_s, available[i]
            elif piece == 2:
                at_s, part_s = at_s + first_s, dt_s - first_s
            if part_s <= 0.0:
                continue
            wait_ws = 0.0
            if piece != 1 and available[i] > 0.0 and loads.model[i] == _TIMED:
                wait_ws = _wait(
                    loads,
                    i,
                    moving.state[i, S0],
                    moving.begins[i],
                    begin_count[i],
                    run_s[i],
                    at_s,
                    part_s,
                )
            if loads.model[i] >= TANK:
                first = water.at[i] + c * water.parts[i]
                watts = stored_through_draws(
                    loads.model[i],
                    moving.state[i],
                    loads.params[i],
                    loads.load_w[i],
                    water.flow[first : first + water.parts[i]],
                    air_around(loads.stands_at[i], loads.params[i], ambient, zone_f, c),
                    part_s,
                    has,
                    on_generator[i],
                    moving.ledger[i],
                )
            else:
                one.start_s[0], one.dt_s[0] = at_s, part_s
                through(
                    one,
                    loads,
                    i,
                    0,
                    1,
                    has,
                    ambient[c : c + 1],
                    seed,
                    draw,
                    moving.state[i],
                    moving.begins[i],
                    begin_count[i],
                    run_s[i],
                    one_w[0],
                    one_w[1],
                )
                watts = float(one_w[0, 0])
            wanted_ws = watts * part_s + wait_ws
            asked_ws += wanted_ws
            took_ws += wanted_ws * has
            if piece != 1 and available[i] > 0.0:
                short_ws[i] += wanted_ws
        asked[i, c], took[i, c] = asked_ws / dt_s, took_ws / dt_s
        if loads.watch_of[i] >= 0:
            level[loads.watch_of[i], c] = moving.state[i, LEVEL]


@njit(cache=True)
def _wait(
    loads: PackedLoads,
    i: int,
    current: float,
    begins: Floats,
    count: int,
    run_s: float,
    at_s: float,
    dt_s: float,
) -> float:
    """Put off the run that would begin while its circuit is held off; what it asks for. [Ws]

    A run that has begun is treated as in a dead circuit.
    """
    end_s = at_s + dt_s
    for n in range(int(current), count):
        if begins[n] >= end_s:
            break
        if begins[n] < at_s - 1e-6:
            continue
        first, last = loads.stage_ptr[i], loads.stage_ptr[i + 1]
        share_s = stage_share_s(loads.stages, first, last, 0.0, end_s - begins[n], 1.0)
        begins[n] = end_s
        for later in range(n + 1, count):
            begins[later] = max(begins[later], begins[later - 1] + run_s)
        return float(share_s * loads.load_w[i])
    return 0.0


@njit(cache=True)
def _room(
    loads: PackedLoads,
    z: int,
    circuit_of: Ints,
    available: Floats,
    on_generator: Flags,
    around: Floats,
    start_s: float,
    dt_s: float,
    moving: Moving,
    on_s: Floats,
    wait_s: Floats,
    asked: Singles,
    took: Singles,
    short_ws: Floats,
    scratch: Floats,
) -> None:
    """One room with its units through one cell, cut where a circuit is opened or a wait ends."""
    units = np.flatnonzero(loads.zone_of == z)
    may, now, done_s = scratch[4], scratch[:2], 0.0
    ability = scratch[2:4].reshape((scratch.shape[1], 2))
    for u in units:
        asked[u] = took[u] = short_ws[u] = 0.0
    while done_s < dt_s:
        until_s = dt_s
        for u in units:
            k = circuit_of[u]
            may[u] = available[u]
            if k >= 0 and on_s[k] <= done_s:
                may[u] = 0.0
            elif k >= 0:
                until_s = min(until_s, on_s[k])
            if wait_s[u] > done_s:
                may[u] = 0.0
                until_s = min(until_s, wait_s[u])
        part_s = until_s - done_s
        moving.zone_f[z] = room_part(
            loads,
            z,
            units,
            moving.zone_f[z],
            may,
            on_generator,
            around,
            start_s + done_s,
            part_s,
            moving.state,
            moving.ledger,
            moving.zone_wh[z],
            ability,
            now,
        )
        for u in units:
            asked[u] += now[0, u] * part_s / dt_s
            took[u] += now[1, u] * part_s / dt_s
            if may[u] == 0.0 and available[u] > 0.0:
                short_ws[u] += now[0, u] * part_s
        done_s = until_s
