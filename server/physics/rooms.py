"""A room or house of one resistance and one store, with what heats and cools it by thermostat.

    C dT/dt = Q_units + Q_people + Q_things + Q_sun - UA (T - T_outdoor),     C = UA x time constant

A unit's capacity and coefficient (heat moved for each watt) are straight lines between the points
of its sheet by outdoor temperature, and go on past the ends as they went before them; its watts are
capacity / coefficient. So one store is good for drift and energy; the minutes of a cycle come from
the deadband and the least times on and off. In the frost band a heat pump gives no heat for a few
minutes of each hour it runs, while strips that temper run. A unit of variable speed follows the
loss down to its least share and cycles below that. A fan runs with the ducted units, which cannot
run without it.

Source: one-node equivalent thermal parameters, PNNL house model (titles only seen); AHRI 210/240
rates heating at 47 and 17 F; frost band 17 to 38 F, about a tenth of the heat: common practice,
no source.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.newton import BTU_PER_WH, advance, crossing_h

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

LOSS, STORE, GAIN, HEAT_F, COOL_F, SUN_FT2 = range(6)
HEAT_BACK_F, COOL_BACK_F, BACK_FROM_H, BACK_TO_H, THINGS = range(6, 11)
"""Columns of a room's row: Btu/h F, Btu/F, Btu/h of people, set points, ft2, set points of the
hours in which they are set back, and Btu/h of lamps and appliances that all have power."""
(
    SIGN,
    COEFFICIENT,
    BAND_F,
    STAGE_F,
    MIN_OFF_S,
    MIN_ON_S,
    LEAST_SHARE,
    ABOVE_F,
    BELOW_F,
    ON_SET,
    DEFROST_EVERY_S,
    DEFROST_S,
    TEMPERS,
    DUCTED,
) = range(14)
"""Columns of a unit's row. ``SIGN`` is 1 heating, -1 cooling, 0 a fan; it stays off outdoors
``ABOVE_F`` or ``BELOW_F``, and on a generator unless ``ON_SET``."""

CALLS, RUNS, MAY_START_S, MUST_RUN_S, SINCE_DEFROST_S, DEFROST_UNTIL_S, SPEED = range(7)
"""Columns of a unit's state."""

FROST_F = (17.0, 38.0)
SUN_BTUH_PER_FT2 = 0.317
"""1 W/m2 = 0.317 Btu/h ft2."""
_MOST_EVENTS = 1000
_QUICKEST = 1.0 / 400.0
"""A thermostat acts at most this often, as a share of a stretch: it bounds the events in one."""
_FOLLOW_H = 0.5
"""A variable-speed unit makes up what its room is off by over about this long. [h]"""
_HOLD_H = 1.0 / 12.0
"""It holds a speed no longer than this. [h]"""


@njit(cache=True)
def performance(outdoor_f: float, curve: Floats, first: int, last: int) -> tuple[float, float]:
    """Capacity and coefficient at an outdoor temperature. [Btu/h, heat for each watt].

    Rows ``first`` to ``last`` of ``curve`` are (outdoor F, Btu/h, coefficient), by rising outdoor
    temperature. Straight lines between and beyond; never below 0 and 1.

    >>> curve = np.array([[17.0, 21_600.0, 2.5], [47.0, 36_000.0, 3.5]])
    >>> capacity, coefficient = performance(32.0, curve, 0, 2)
    >>> round(capacity), round(coefficient, 2)
    (28800, 3.0)
    """
    if last - first == 1:
        return float(curve[first, 1]), float(curve[first, 2])
    k = first
    while k < last - 2 and outdoor_f > curve[k + 1, 0]:
        k += 1
    share = (outdoor_f - curve[k, 0]) / (curve[k + 1, 0] - curve[k, 0])
    capacity = curve[k, 1] + share * (curve[k + 1, 1] - curve[k, 1])
    coefficient = curve[k, 2] + share * (curve[k + 1, 2] - curve[k, 2])
    return max(capacity, 0.0), max(coefficient, 1.0)


@njit(cache=True)
def targets(
    sign: float, band_f: float, stage_f: float, heat_f: float, cool_f: float
) -> tuple[float, float]:
    """Temperatures at which a unit starts and stops calling. [F]

    It takes the figures of a unit and not its row: a view of a row is counted by every processor.
    """
    if sign > 0.0:
        middle = heat_f - stage_f
        return middle - band_f / 2.0, middle + band_f / 2.0
    middle = cool_f + stage_f
    return middle + band_f / 2.0, middle - band_f / 2.0


@njit(cache=True)
def set_points(room: Floats, hour: float) -> tuple[float, float]:
    """Heating and cooling set points at an hour of the day, set back where the room says so. [F]"""
    begin, end = room[BACK_FROM_H], room[BACK_TO_H]
    inside = begin <= hour < end if begin <= end else (hour >= begin or hour < end)
    if inside:
        return float(room[HEAT_BACK_F]), float(room[COOL_BACK_F])
    return float(room[HEAT_F]), float(room[COOL_F])


@njit(cache=True)
def set_points_at(room: Floats, since_midnight_s: float) -> tuple[float, float]:
    """Set points so long after a midnight; no hour is needed where nothing is set back. [F]"""
    if room[HEAT_F] == room[HEAT_BACK_F] and room[COOL_F] == room[COOL_BACK_F]:
        return float(room[HEAT_F]), float(room[COOL_F])
    heat_f, cool_f = set_points(room, (since_midnight_s % 86_400.0) / 3600.0)
    return heat_f, cool_f


@njit(cache=True)
def ability_of(
    outdoor_f: float, heat_w: float, load_w: float, curve: Floats, curve_ptr: Ints, u: int
) -> tuple[float, float]:
    """Heat that unit ``u`` moves at full speed, and its watts then. [Btu/h, W]"""
    if curve_ptr[u + 1] > curve_ptr[u]:
        capacity, coefficient = performance(outdoor_f, curve, curve_ptr[u], curve_ptr[u + 1])
        return capacity, capacity / coefficient / BTU_PER_WH
    return heat_w * BTU_PER_WH, load_w


@njit(cache=True)
def rooms(
    temp: float,
    room: Floats,
    units: Ints,
    count: int,
    state: Floats,
    params: Floats,
    curve_ptr: Ints,
    curve: Floats,
    load_w: Floats,
    available: Floats,
    on_generator: Flags,
    outdoor_f: float,
    sun_wm2: float,
    powered: float,
    at_s: float,
    dt_s: float,
    midnight_s: float,
    ability: Floats,
    asked: Floats,
    took: Floats,
    tally: Floats,
    ledger: Floats,
) -> float:
    """Temperature of a room after a stretch of time; advances its units. [F]

    ``powered`` is the share of its lamps and appliances that has power, ``units`` are the rows of
    its units in the arrays of all loads. ``ability`` (loads, 2) is scratch. ``asked`` and ``took``
    get the mean watts of each, ``tally`` (loads,) counts starts, ``ledger`` adds up heat in, lost
    and stored [Wh].
    """
    loss, store = room[LOSS], room[STORE]
    rate = loss / store
    gain = room[GAIN] + room[THINGS] * powered + room[SUN_FT2] * sun_wm2 * SUN_BTUH_PER_FT2
    now_s, end_s, begin = at_s, at_s + dt_s, temp
    heat_f, cool_f = set_points_at(room, at_s - midnight_s)
    quickest_h = dt_s / 3600.0 * _QUICKEST
    frost = FROST_F[0] <= outdoor_f <= FROST_F[1]
    fan_lives = True
    for n in range(count):
        u = units[n]
        asked[u] = took[u] = 0.0
        ability[u, 0], ability[u, 1] = ability_of(
            outdoor_f, load_w[u] * params[u, COEFFICIENT], load_w[u], curve, curve_ptr, u
        )
        if params[u, SIGN] == 0.0 and available[u] == 0.0:
            fan_lives = False
    for _ in range(_MOST_EVENTS):
        heat = gain
        wait_h = full_h = (end_s - now_s) / 3600.0
        ducted_calls, ducted_runs, tempering = False, False, False
        for n in range(count):
            u = units[n]
            if params[u, SIGN] > 0.0 and now_s < state[u, DEFROST_UNTIL_S] - 1e-6:
                tempering = tempering or state[u, RUNS] > 0.5
        for n in range(count):
            u = units[n]
            sign = params[u, SIGN]
            if sign == 0.0:
                continue
            start_f, stop_f = targets(sign, params[u, BAND_F], params[u, STAGE_F], heat_f, cool_f)
            if state[u, CALLS] < 0.5 and (start_f - temp) * sign >= 0.0:
                state[u, CALLS] = 1.0
            elif state[u, CALLS] > 0.5 and (temp - stop_f) * sign >= 0.0:
                state[u, CALLS] = 0.0
            locked = outdoor_f > params[u, ABOVE_F] or outdoor_f < params[u, BELOW_F]
            locked = locked or (on_generator[u] and params[u, ON_SET] < 0.5)
            wants = state[u, CALLS] > 0.5 or (
                state[u, RUNS] > 0.5 and now_s < state[u, MUST_RUN_S] - 1e-6
            )
            wants = (wants or (tempering and params[u, TEMPERS] > 0.5)) and not locked
            ducted = params[u, DUCTED] > 0.5
            may = available[u] > 0.0 and now_s >= state[u, MAY_START_S] - 1e-6
            runs = wants and may and (fan_lives or not ducted)
            if runs and state[u, RUNS] < 0.5:
                state[u, MUST_RUN_S] = now_s + params[u, MIN_ON_S]
                tally[u] += 1.0
            elif state[u, RUNS] > 0.5 and not runs:
                state[u, MAY_START_S] = now_s + params[u, MIN_OFF_S]
            state[u, RUNS] = 1.0 if runs else 0.0
            ducted_calls = ducted_calls or (wants and ducted)
            ducted_runs = ducted_runs or (runs and ducted)
            state[u, SPEED] = 1.0
            if runs and params[u, LEAST_SHARE] < 1.0 and ability[u, 0] > 0.0:
                target = heat_f - params[u, STAGE_F] if sign > 0.0 else cool_f + params[u, STAGE_F]
                need = loss * (target - outdoor_f) - gain + store * (target - temp) / _FOLLOW_H
                share = sign * need / ability[u, 0]
                state[u, SPEED] = min(max(share, params[u, LEAST_SHARE]), 1.0)
                wait_h = min(wait_h, _HOLD_H)
            if runs and now_s >= state[u, DEFROST_UNTIL_S] - 1e-6:
                heat += sign * ability[u, 0] * state[u, SPEED] * available[u]
                if frost and params[u, DEFROST_EVERY_S] > 0.0:
                    due_s = params[u, DEFROST_EVERY_S] - state[u, SINCE_DEFROST_S]
                    wait_h = min(wait_h, max(due_s, 0.0) / 3600.0)
            elif runs:
                wait_h = min(wait_h, (state[u, DEFROST_UNTIL_S] - now_s) / 3600.0)
            if runs and state[u, CALLS] < 0.5:
                wait_h = min(wait_h, max(state[u, MUST_RUN_S] - now_s, 0.0) / 3600.0)
            if wants and not runs and available[u] > 0.0 and state[u, MAY_START_S] > now_s:
                wait_h = min(wait_h, (state[u, MAY_START_S] - now_s) / 3600.0)
        for n in range(count):
            u = units[n]
            if params[u, SIGN] == 0.0:
                state[u, CALLS] = 1.0 if ducted_calls else 0.0
                runs = ducted_runs and available[u] > 0.0
                if runs and state[u, RUNS] < 0.5:
                    tally[u] += 1.0
                state[u, RUNS] = 1.0 if runs else 0.0
                state[u, SPEED] = 1.0
                heat += state[u, RUNS] * load_w[u] * available[u] * BTU_PER_WH
        slope = (heat - loss * (temp - outdoor_f)) / store
        after, area = advance(temp, slope, rate, wait_h)
        cut = wait_h
        for n in range(count):
            u = units[n]
            if params[u, SIGN] == 0.0:
                continue
            start_f, stop_f = targets(
                params[u, SIGN], params[u, BAND_F], params[u, STAGE_F], heat_f, cool_f
            )
            target = stop_f if state[u, CALLS] > 0.5 else start_f
            if (target - temp) * (after - target) >= 0.0:
                settle = outdoor_f + heat / loss
                cut = min(cut, crossing_h(temp, settle, rate, target))
        cut = min(max(cut + 1e-9, quickest_h), full_h)
        if cut != wait_h:
            after, area = advance(temp, slope, rate, cut)
        temp = after
        part_s = cut * 3600.0
        ledger[0] += heat * cut / BTU_PER_WH
        ledger[1] += loss * (area - outdoor_f * cut) / BTU_PER_WH
        for n in range(count):
            u = units[n]
            if state[u, RUNS] > 0.5:
                watts = ability[u, 1] * state[u, SPEED] * part_s / dt_s
                asked[u] += watts
                took[u] += watts * available[u]
                if now_s >= state[u, DEFROST_UNTIL_S] - 1e-6 and frost:
                    state[u, SINCE_DEFROST_S] += part_s
                    every_s = params[u, DEFROST_EVERY_S]
                    if 0.0 < every_s <= state[u, SINCE_DEFROST_S] + 1e-6:
                        state[u, SINCE_DEFROST_S] = 0.0
                        state[u, DEFROST_UNTIL_S] = now_s + part_s + params[u, DEFROST_S]
            elif state[u, CALLS] > 0.5 and available[u] == 0.0:
                locked = outdoor_f > params[u, ABOVE_F] or outdoor_f < params[u, BELOW_F]
                if not locked:
                    asked[u] += ability[u, 1] * part_s / dt_s
        now_s += part_s
        if end_s - now_s <= 1e-6:
            break
    ledger[2] += store * (temp - begin) / BTU_PER_WH
    return temp
