"""The water that is drawn, and when a house on its own well has none to draw."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.simulate.cells import Cells
from server.simulate.loads import PackedLoads
from server.simulate.models import DRAW_GAL, DRAW_GPM, STATES, TALLIES, fill_draws, uniform
from server.simulate.stores import (
    DRAINS,
    FLOAT,
    OWN_GPH,
    PRESSES,
    TANK,
    begin_store,
    draw_parts,
    parted,
    stored_through_draws,
)

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Flags = NDArray[np.bool_]

EMPTY_GAL = 0.01
"""A pressure tank with less than this gives nothing. [gal]"""


@njit(cache=True)
def draw_water(
    cells: Cells, loads: PackedLoads, i: int, seed: int, draw: int, flow: Singles
) -> None:
    """Fill in the gallons an hour that one load draws in each part of each cell."""
    start_s, dt_s = parted(cells.start_s, cells.dt_s, flow.shape[1])
    fill_draws(
        flow.reshape(flow.size),
        start_s,
        dt_s,
        loads.by_hour[i],
        loads.params[i, DRAW_GAL],
        loads.params[i, DRAW_GPM],
        loads.midnight_s,
        seed,
        loads.stream[i],
        draw,
    )


@njit(cache=True)
def without_water(
    cells: Cells, loads: PackedLoads, available: Floats, seed: int, draw: int
) -> Flags:
    """Cells that begin with every pressure tank empty and its pump without supply, (cells,).

    None on a site without a well. What a load manager holds off is not counted: it is back within
    minutes. ``available`` is as in ``kernel.march``.
    """
    span = cells.dt_s.shape[0]
    dry = np.zeros(span, dtype=np.bool_)
    first_well = True
    flow = np.zeros((span, draw_parts(cells.dt_s)), dtype=np.float32)
    for i in range(loads.model.shape[0]):
        if loads.model[i] != FLOAT or loads.params[i, PRESSES] < 0.5:
            continue
        empty = np.zeros(span, dtype=np.bool_)
        state, ledger = np.zeros(STATES), np.zeros(TALLIES)
        u, v = uniform(seed, loads.stream[i], draw, 1 << 40)
        begin_store(FLOAT, state, loads.params[i], u, v)
        if not math.isnan(loads.begun[i, 0]):
            state[:] = loads.begun[i]
        flow[:] = 0.0
        draw_water(cells, loads, i, seed, draw, flow)
        for segment in range(available.shape[0]):
            share = available[segment, i]
            for c in range(cells.segment_cell[segment], cells.segment_cell[segment + 1]):
                empty[c] = share <= 0.0 and state[0] <= EMPTY_GAL
                stored_through_draws(
                    FLOAT,
                    state,
                    loads.params[i],
                    loads.load_w[i],
                    flow[c],
                    0.0,
                    cells.dt_s[c],
                    share,
                    False,
                    ledger,
                )
        dry = empty if first_well else dry & empty
        first_well = False
    return dry


@njit(cache=True)
def shut_off(loads: PackedLoads, i: int, dry: Flags, flow: Singles) -> None:
    """Let nothing flow in the cells without water; ``flow`` is (cells, parts).

    A water heater draws nothing then, and what takes away the house's water gets none: its flow
    is what comes beside its own.
    """
    heats = loads.model[i] == TANK
    if not heats and (loads.model[i] != FLOAT or loads.params[i, DRAINS] < 0.5):
        return
    for c in range(dry.size):
        if dry[c]:
            flow[c, :] = 0.0 if heats else -loads.params[i, OWN_GPH]
