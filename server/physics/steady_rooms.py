"""A room through many stretches at once: one exponential wherever nothing in it turns.

The same sums as ``rooms``, which is asked for every other stretch: one in which a thermostat is
reached, or a unit waits, defrosts or follows the load.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.newton import BTU_PER_WH, advance
from server.physics.rooms import (
    ABOVE_F,
    BAND_F,
    BELOW_F,
    CALLS,
    COEFFICIENT,
    DEFROST_EVERY_S,
    DEFROST_UNTIL_S,
    DUCTED,
    FROST_F,
    GAIN,
    LEAST_SHARE,
    LOSS,
    ON_SET,
    RUNS,
    SIGN,
    STAGE_F,
    STORE,
    SUN_BTUH_PER_FT2,
    SUN_FT2,
    THINGS,
    ability_of,
    rooms,
    set_points_at,
    targets,
)

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@njit(cache=True)
def rooms_through(
    temp: float,
    room: Floats,
    units: Ints,
    state: Floats,
    params: Floats,
    curve_ptr: Ints,
    curve: Floats,
    load_w: Floats,
    available: Floats,
    on_generator: Flags,
    ambient: Floats,
    start_s: Floats,
    dt_s: Floats,
    first: int,
    last: int,
    midnight_s: float,
    ability: Floats,
    mean_w: Floats,
    tally: Floats,
    ledger: Floats,
    asked: Singles,
    took: Singles,
    room_f: Singles,
) -> float:
    """``rooms`` through stretches first to last, in which the supply does not change. [F]

    ``ambient`` is outdoor F, darkness, sun W/m2 and the powered share of things of each. Fills
    ``asked`` and ``took`` (loads, stretches) for the units and ``room_f`` with the temperature at
    each end.
    """
    loss, store, rate = room[LOSS], room[STORE], room[LOSS] / room[STORE]
    heat_f = cool_f = above_f = below_f = warmest_f = coldest_f = 0.0
    running = np.empty(units.shape[0], dtype=np.int64)
    count, frosts, steady = 0, False, False
    begin = c = first
    while c < last:
        outdoor_f, part_h = ambient[c, 0], dt_s[c] / 3600.0
        now_heat_f, now_cool_f = set_points_at(room, start_s[c] - midnight_s)
        if steady:
            steady = coldest_f <= outdoor_f <= warmest_f and not (
                frosts and FROST_F[0] <= outdoor_f <= FROST_F[1]
            )
            steady = steady and now_heat_f == heat_f and now_cool_f == cool_f
        else:
            heat_f, cool_f = now_heat_f, now_cool_f
            count, above_f, below_f, coldest_f, warmest_f, frosts = _steady(
                temp,
                heat_f,
                cool_f,
                start_s[c],
                outdoor_f,
                units,
                state,
                params,
                available,
                on_generator,
                running,
            )
            begin, steady = c, count >= 0
        if steady:
            heat = room[GAIN] + room[THINGS] * ambient[c, 3]
            heat += room[SUN_FT2] * ambient[c, 2] * SUN_BTUH_PER_FT2
            for n in range(count):
                u = running[n]
                if params[u, SIGN] == 0.0:
                    heat += load_w[u] * available[u] * BTU_PER_WH
                    continue
                btuh, watts = ability_of(
                    outdoor_f, load_w[u] * params[u, COEFFICIENT], load_w[u], curve, curve_ptr, u
                )
                heat += params[u, SIGN] * btuh * available[u]
                asked[u, c], took[u, c] = watts, watts * available[u]
            slope = (heat - loss * (temp - outdoor_f)) / store
            after, area = advance(temp, slope, rate, part_h)
            steady = below_f < after < above_f
            if steady:
                ledger[0] += heat * part_h / BTU_PER_WH
                ledger[1] += loss * (area - outdoor_f * part_h) / BTU_PER_WH
                ledger[2] += store * (after - temp) / BTU_PER_WH
                temp = after
                room_f[c] = temp
                c += 1
                continue
        _fill(units, state, params, load_w, available, begin, c, asked, took)
        temp = rooms(
            temp,
            room,
            units,
            units.shape[0],
            state,
            params,
            curve_ptr,
            curve,
            load_w,
            available,
            on_generator,
            outdoor_f,
            ambient[c, 2],
            ambient[c, 3],
            start_s[c],
            dt_s[c],
            midnight_s,
            ability,
            mean_w[0],
            mean_w[1],
            tally,
            ledger,
        )
        for n in range(units.shape[0]):
            asked[units[n], c] = mean_w[0, units[n]]
            took[units[n], c] = mean_w[1, units[n]]
        room_f[c] = temp
        c += 1
        begin = c
    _fill(units, state, params, load_w, available, begin, last, asked, took)
    return temp


@njit(cache=True)
def _fill(
    units: Ints,
    state: Floats,
    params: Floats,
    load_w: Floats,
    available: Floats,
    begin: int,
    end: int,
    asked: Singles,
    took: Singles,
) -> None:
    """Watts through a steady stretch of what is off and of fans; the rest is written already."""
    for n in range(units.shape[0]):
        u = units[n]
        runs = state[u, RUNS] > 0.5
        if not runs or params[u, SIGN] == 0.0:
            watts = load_w[u] if runs else 0.0
            asked[u, begin:end] = watts
            took[u, begin:end] = watts * available[u]


@njit(cache=True)
def _steady(
    temp: float,
    heat_f: float,
    cool_f: float,
    at_s: float,
    outdoor_f: float,
    units: Ints,
    state: Floats,
    params: Floats,
    available: Floats,
    on_generator: Flags,
    running: Ints,
) -> tuple[int, float, float, float, float, bool]:
    """Whether a room stays as it is until a thermostat turns or the weather locks a unit out.

    So it does where each unit calls and runs, or does neither, and none waits, defrosts or follows
    the load. Fills ``running`` with the rows of what runs, fans last.

    Returns
    -------
    How many run, -1 where it is not steady; the nearest thermostat above and below; the coldest
    and warmest outdoors that let all of it run; and whether frost would have one defrost. [F]
    """
    count, ducted_runs, fan_lives, frosts = 0, False, True, False
    above_f, below_f, coldest_f, warmest_f = np.inf, -np.inf, -np.inf, np.inf
    frost = FROST_F[0] <= outdoor_f <= FROST_F[1]
    for n in range(units.shape[0]):
        u = units[n]
        sign = params[u, SIGN]
        if sign == 0.0:
            fan_lives = fan_lives and available[u] != 0.0
            continue
        runs, calls = state[u, RUNS] > 0.5, state[u, CALLS] > 0.5
        start_f, stop_f = targets(sign, params[u, BAND_F], params[u, STAGE_F], heat_f, cool_f)
        target = stop_f if calls else start_f
        if runs != calls or ((temp - stop_f) if calls else (start_f - temp)) * sign >= 0.0:
            return -1, 0.0, 0.0, 0.0, 0.0, False
        if target > temp:
            above_f = min(above_f, target)
        else:
            below_f = max(below_f, target)
        if not runs:
            continue
        if (
            available[u] <= 0.0
            or outdoor_f > params[u, ABOVE_F]
            or outdoor_f < params[u, BELOW_F]
            or (on_generator[u] and params[u, ON_SET] < 0.5)
            or params[u, LEAST_SHARE] < 1.0
            or at_s < state[u, DEFROST_UNTIL_S]
            or (frost and params[u, DEFROST_EVERY_S] > 0.0)
        ):
            return -1, 0.0, 0.0, 0.0, 0.0, False
        warmest_f = min(warmest_f, params[u, ABOVE_F])
        coldest_f = max(coldest_f, params[u, BELOW_F])
        frosts = frosts or params[u, DEFROST_EVERY_S] > 0.0
        ducted_runs = ducted_runs or params[u, DUCTED] > 0.5
        running[count] = u
        count += 1
    if ducted_runs and not fan_lives:
        return -1, 0.0, 0.0, 0.0, 0.0, False
    for n in range(units.shape[0]):
        u = units[n]
        if params[u, SIGN] == 0.0:
            blows = ducted_runs and available[u] > 0.0
            if (state[u, RUNS] > 0.5) != blows or (state[u, CALLS] > 0.5) != ducted_runs:
                return -1, 0.0, 0.0, 0.0, 0.0, False
            if blows:
                running[count] = u
                count += 1
    return count, above_f, below_f, coldest_f, warmest_f, frosts
