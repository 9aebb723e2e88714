"""One door for the march to every load that stores something: heat, cold, water or charge."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.float_pump import START_GAL, float_pump
from server.physics.newton import BTU_PER_WH
from server.physics.own_battery import own_battery
from server.physics.warm_box import BAND_F, KEPT_F, Surround, warm_box
from server.physics.water_heater import heated_through, water_heater

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

TANK, COLD_BOX, FLOAT, TUB, BACKED = 5, 8, 9, 10, 11

ROOM_F, OPENING_BTU, OPENED_DEAD, DEFROST_W, DEFROST_EVERY_H, DEFROST_H = range(6, 12)
"""Columns of a cold box beside those of ``warm_box``."""

OWN_GPH, PRESSES, DRAINS = 3, 4, 5
"""Columns of a pump beside those of ``float_pump``; ``PRESSES`` is 1 for a pressure tank,
``DRAINS`` for a pit that fills with what is drawn in the house."""

OPEN_TIMES, CIRCULATION_W = 6, 7
"""Columns of a tub beside those of ``warm_box``."""

OUTDOORS, OWN_ROOM = -1, -2
"""Where a store stands, beside the rows of the zones."""

DRAW_S = 10.0
"""Draws and doors are followed this closely where they start a motor, whatever the step. [s]"""

DEFROST_TO_FOOD = 0.25
"""Share of a defrost's heat that reaches the food; the rest melts frost (common practice, no
source)."""

_SINCE, _LEFT = 2, 3


@njit(cache=True)
def stored(
    kind: int,
    state: Floats,
    params: Floats,
    load_w: float,
    flow_gph: float,
    around_f: float,
    dt_s: float,
    available: float,
    on_generator: bool,
    ledger: Floats,
) -> float:
    """Mean watts that a load with a store asks for through one cell; advances it. [W]

    ``state``, ``params`` and ``ledger`` are its own rows; the codes are those of ``loads.Model``.
    ``flow_gph`` is water drawn, doors opened an hour, or the share of the cell a cover is off;
    ``around_f`` is the air that a box or a tub stands in.
    """
    if kind == TANK:
        return water_heater(
            state, params, params[12], flow_gph, dt_s, available, on_generator, ledger
        )
    if kind == COLD_BOX:
        return _cold_box(state, params, load_w, flow_gph, around_f, dt_s, available, ledger)
    if kind == FLOAT:
        gph = flow_gph + params[OWN_GPH]
        watts = float_pump(state[1:3], params, load_w, gph, dt_s, available, ledger)
        state[0] = params[0] - state[1] if params[PRESSES] > 0.5 else state[1]
        return watts
    if kind == TUB:
        times = 1.0 + flow_gph * (params[OPEN_TIMES] - 1.0)
        around = Surround(around_f, 0.0, times)
        watts = warm_box(state, params, load_w, around, dt_s, available, ledger)
        return float(watts + params[CIRCULATION_W])
    return own_battery(state, params, load_w, dt_s, available, ledger)


@njit(cache=True)
def follows_draws(kind: int) -> bool:
    """Whether a store is taken through the parts of each cell in which something is drawn."""
    return kind in (FLOAT, COLD_BOX)


@njit(cache=True)
def draw_parts(dt_s: Floats) -> int:
    """Parts that each cell is cut into for a store that follows what is drawn."""
    return int(max(1, math.ceil(dt_s.max() / DRAW_S)))


@njit(cache=True)
def parted(start_s: Floats, dt_s: Floats, parts: int) -> tuple[Floats, Floats]:
    """Start and length of every part of every cell, (cells × parts,). [s]"""
    if parts == 1:
        return start_s, dt_s
    starts, lengths = np.empty(dt_s.size * parts), np.empty(dt_s.size * parts)
    for c in range(dt_s.size):
        for k in range(parts):
            starts[c * parts + k] = start_s[c] + dt_s[c] * k / parts
            lengths[c * parts + k] = dt_s[c] / parts
    return starts, lengths


@njit(cache=True)
def air_around(at: int, params: Floats, ambient: Floats, zone_f: Singles, c: int) -> float:
    """The air that a store stands in during cell ``c``: a zone's mean of its start and end. [F]

    ``ambient`` (cells, 4) and ``zone_f`` (zones, cells) are as in ``kernel.march``.
    """
    if at >= 0:
        return float(zone_f[at, max(0, c - 1)] + zone_f[at, c]) / 2.0
    return float(params[ROOM_F] if at == OWN_ROOM else ambient[c, 0])


@njit(cache=True)
def stored_through_draws(
    kind: int,
    state: Floats,
    params: Floats,
    load_w: float,
    flow_gph: Singles,
    around_f: float,
    dt_s: float,
    available: float,
    on_generator: bool,
    ledger: Floats,
) -> float:
    """``stored`` through the parts of one cell, each with its own flow. Mean watts. [W]"""
    parts = flow_gph.size if flow_gph.any() else 1
    total_w = 0.0
    for k in range(parts):
        total_w += stored(
            kind,
            state,
            params,
            load_w,
            flow_gph[k],
            around_f,
            dt_s / parts,
            available,
            on_generator,
            ledger,
        )
    return total_w / parts


@njit(cache=True)
def store_through(
    kind: int,
    state: Floats,
    params: Floats,
    load_w: float,
    flow_gph: Singles,
    around_f: Floats,
    dt_s: Floats,
    first: int,
    last: int,
    available: float,
    on_generator: bool,
    ledger: Floats,
    asked: Singles,
    took: Singles,
    level: Singles,
) -> None:
    """Take one store through cells of unchanging supply; ``flow_gph`` is (cells, parts)."""
    if kind == TANK:
        heated_through(
            state,
            params,
            params[12],
            flow_gph[:, 0],
            dt_s,
            first,
            last,
            available,
            on_generator,
            ledger,
            asked,
            level,
        )
        for c in range(first, last):
            took[c] = asked[c] * available
        return
    for c in range(first, last):
        watts = stored_through_draws(
            kind,
            state,
            params,
            load_w,
            flow_gph[c],
            around_f[c],
            dt_s[c],
            available,
            on_generator,
            ledger,
        )
        asked[c] = watts
        took[c] = watts * available
        level[c] = state[0]


@njit(cache=True)
def begin_store(kind: int, state: Floats, params: Floats, u: float, v: float) -> None:
    """The state a store begins in: somewhere within its band, a battery full.

    ``u`` and ``v`` are uniform draws.
    """
    if kind in (COLD_BOX, TUB):
        state[0] = params[KEPT_F] + params[BAND_F] * (u - 0.5)
        state[1] = 1.0 if v < 0.5 else 0.0
        if kind == COLD_BOX:
            state[_SINCE] = params[DEFROST_EVERY_H] * v
    elif kind == FLOAT:
        state[1] = params[START_GAL] * u
        state[0] = params[START_GAL] - state[1] if params[PRESSES] > 0.5 else state[1]
    else:
        state[0] = params[0]


@njit(cache=True)
def _cold_box(
    state: Floats,
    params: Floats,
    load_w: float,
    openings_h: float,
    around_f: float,
    dt_s: float,
    available: float,
    ledger: Floats,
) -> float:
    """A cold box with its door and its defrost, during which the compressor rests."""
    opened = available > 0.0 or params[OPENED_DEAD] > 0.5
    warmer = max(0.0, (around_f - params[KEPT_F]) / (params[ROOM_F] - params[KEPT_F]))
    doors = openings_h * params[OPENING_BTU] * warmer if opened else 0.0
    defrost_s = 0.0
    if params[DEFROST_W] > 0.0 and available > 0.0:
        state[_SINCE] += dt_s / 3600.0
        if state[_SINCE] >= params[DEFROST_EVERY_H]:
            state[_SINCE], state[_LEFT] = 0.0, params[DEFROST_H]
        defrost_s = min(dt_s, state[_LEFT] * 3600.0)
    asked = 0.0
    if defrost_s > 0.0:
        state[_LEFT] -= defrost_s / 3600.0
        heat = params[DEFROST_W] * DEFROST_TO_FOOD * BTU_PER_WH * available
        melting = Surround(around_f, doors + heat, 1.0)
        warm_box(state, params, 0.0, melting, defrost_s, available, ledger)
        asked += params[DEFROST_W] * defrost_s
    if dt_s - defrost_s > 1e-9:
        usual = Surround(around_f, doors, 1.0)
        rest_s = dt_s - defrost_s
        asked += warm_box(state, params, load_w, usual, rest_s, available, ledger) * rest_s
    return asked / dt_s
