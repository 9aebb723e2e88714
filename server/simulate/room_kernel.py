"""The compiled march of rooms: each with the units that heat and cool it, cell by cell."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.rooms import GAIN, LOSS, THINGS, rooms, set_points
from server.physics.steady_rooms import rooms_through
from server.simulate.cells import Cells
from server.simulate.loads import PackedLoads
from server.simulate.models import STARTS, uniform

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@njit(cache=True)
def outdoors_at_start(cells: Cells, ambient: Floats) -> float:
    """Outdoor temperature when a run begins, by the line through its first two cells. [F]

    The first cell's own is that of its middle, and would begin rooms elsewhere at another step.
    """
    if cells.dt_s.shape[0] < 2:
        return float(ambient[0, 0])
    apart_s = (cells.dt_s[0] + cells.dt_s[1]) / 2.0
    return float(ambient[0, 0] - (ambient[1, 0] - ambient[0, 0]) * (cells.dt_s[0] / 2.0) / apart_s)


@njit(cache=True)
def room_begins(loads: PackedLoads, z: int, outdoor_f: float, seed: int, draw: int) -> float:
    """Temperature a room begins at: where it would settle, held within its set points. [F]

    What the hours before the run left it at, where those are known.
    """
    if not math.isnan(loads.zones_begun_f[z]):
        return float(loads.zones_begun_f[z])
    room = loads.zones[z]
    u, _ = uniform(seed, loads.zone_stream[z], draw, 1 << 41)
    settle = outdoor_f + (room[GAIN] + room[THINGS]) / room[LOSS]
    heat_f, cool_f = set_points(room, -loads.midnight_s / 3600.0 % 24.0)
    return float(min(max(settle, heat_f + u - 0.5), cool_f + u - 0.5))


@njit(cache=True)
def room_through(
    cells: Cells,
    loads: PackedLoads,
    z: int,
    available: Floats,
    on_generator: Flags,
    ambient: Floats,
    seed: int,
    draw: int,
    state: Floats,
    ledger: Floats,
    room_wh: Floats,
    room_f: Singles,
    asked: Singles,
    took: Singles,
) -> None:
    """Take one room, with the units that heat and cool it, through every cell."""
    count, starts = loads.model.shape[0], ledger[:, STARTS]
    units = np.flatnonzero(loads.zone_of == z)
    mean_w, ability = np.zeros((2, count)), np.zeros((count, 2))
    temp = room_begins(loads, z, outdoors_at_start(cells, ambient), seed, draw)
    for segment in range(available.shape[0]):
        temp = rooms_through(
            temp,
            loads.zones[z],
            units,
            state,
            loads.params,
            loads.stage_ptr,
            loads.stages,
            loads.load_w,
            available[segment],
            on_generator[segment],
            ambient,
            cells.start_s,
            cells.dt_s,
            cells.segment_cell[segment],
            cells.segment_cell[segment + 1],
            loads.midnight_s,
            ability,
            mean_w,
            starts,
            room_wh,
            asked,
            took,
            room_f,
        )


@njit(cache=True)
def room_part(
    loads: PackedLoads,
    z: int,
    units: Ints,
    temp: float,
    available: Floats,
    on_generator: Flags,
    around: Floats,
    at_s: float,
    dt_s: float,
    state: Floats,
    ledger: Floats,
    room_wh: Floats,
    ability: Floats,
    now: Floats,
) -> float:
    """Temperature of a room after a stretch of unchanging supply. [F]

    ``available`` and ``on_generator`` are (loads,), ``around`` is the ambient of its cell;
    ``ability`` is scratch. ``now`` (2, loads) gets the mean watts that each unit asked for and
    took.
    """
    return float(
        rooms(
            temp,
            loads.zones[z],
            units,
            units.shape[0],
            state,
            loads.params,
            loads.stage_ptr,
            loads.stages,
            loads.load_w,
            available,
            on_generator,
            around[0],
            around[2],
            around[3],
            at_s,
            dt_s,
            loads.midnight_s,
            ability,
            now[0],
            now[1],
            ledger[:, STARTS],
            room_wh,
        )
    )
