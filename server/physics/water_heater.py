"""A tank water heater in two layers, with two elements or a heat pump.

Each layer is stirred; water drawn from the top is made up by cold water at the bottom, and pushes
the lower layer's water into the upper:

    C_l dT_l/dt = P_l - UA_l (T_l - T_room) - w (T_l - T_inlet)
    C_u dT_u/dt = P_u - UA_u (T_u - T_room) - w (T_u - T_l),     w = gal/h x 8.33 Btu/gal F

Where the lower layer would grow warmer than the upper, the two rise as one. Thermostats open at
the set point and close a deadband below it. Elements are interlocked, the upper first; a heat pump
heats the lower layer, and an element beside it only boosts the upper one when that falls far below
the set point. Source: energy balance of a stirred tank, LBNL water-heater equations; two fixed
layers and the interlock, common practice, no source.

Without a draw the layers are apart (or one), and each fades as a single exponential: the same
factors serve every stretch of the same length, and nothing is cut. Only a stretch with a draw, or
in which a thermostat turns or the layers meet, is looked at in parts.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.newton import BTU_PER_WH, WATER_BTU_PER_GAL_F, advance, fading

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

UPPER_STORE, LOWER_STORE, UPPER_LOSS, LOWER_LOSS, SET_F, BAND_F, INLET_F, ROOM_F = range(8)
PUMP_W, PUMP_COP, BOOST_DROP_F, BOOST_ON_SET = range(8, 12)
"""Columns of ``tank``: Btu/F, Btu/h F, F, W; ``BOOST_ON_SET`` is 1 where boosting on a generator
is allowed."""

T_UPPER, T_LOWER, UPPER_CALLS, LOWER_CALLS = range(4)
"""Columns of ``state``."""

_LONGEST_H = 1.0 / 60.0
_SHORTEST = 1.0 / 400.0
_MOST_PARTS = 4000


def heat_kwh(*, gallons: float, rise_f: float) -> float:
    """Heat to warm so much water. [kWh]

    kWh = gal x 8.33 x rise / 3412.

    >>> round(heat_kwh(gallons=50, rise_f=70), 2)
    8.54
    """
    return gallons * WATER_BTU_PER_GAL_F * rise_f / BTU_PER_WH / 1000.0


def recovery_gph(*, watts: float, rise_f: float) -> float:
    """Gallons an hour that so many watts warm by so much. [gal/h]

    >>> round(recovery_gph(watts=4500, rise_f=100)), round(recovery_gph(watts=4500, rise_f=70))
    (18, 26)
    """
    return watts * BTU_PER_WH / (WATER_BTU_PER_GAL_F * rise_f)


@njit(cache=True)
def _fraction(begin: float, end: float, target: float) -> float:
    """Where on the way from begin to end the target lies, 0 to 1."""
    return (target - begin) / (end - begin) if end != begin else 1.0


@njit(cache=True)
def water_heater(
    state: Floats,
    tank: Floats,
    element_w: float,
    flow_gph: float,
    dt_s: float,
    available: float,
    on_generator: bool,
    ledger: Floats,
) -> float:
    """Mean watts the heater asks for over a stretch of time; advances it and its heat ledger. [W]

    ``state`` is both temperatures and both thermostats, ``ledger`` heat in, lost and stored [Wh];
    ``available`` is the share of its power it gets.
    """
    upper_store, lower_store = tank[UPPER_STORE], tank[LOWER_STORE]
    upper_loss, lower_loss = tank[UPPER_LOSS], tank[LOWER_LOSS]
    inlet, room, stop = tank[INLET_F], tank[ROOM_F], tank[SET_F]
    low = stop - tank[BAND_F]
    pumped = tank[PUMP_W] > 0.0
    upper_low, upper_stop = low, stop
    if pumped:
        upper_low, upper_stop = stop - tank[BOOST_DROP_F], low
    may_boost = element_w > 0.0 and (not pumped or not on_generator or tank[BOOST_ON_SET] > 0.5)
    upper, lower = state[T_UPPER], state[T_LOWER]
    upper_calls, lower_calls = state[UPPER_CALLS] > 0.5, state[LOWER_CALLS] > 0.5
    flow = flow_gph * WATER_BTU_PER_GAL_F
    both = upper_store + lower_store
    begin = upper_store * upper + lower_store * lower
    left_h, asked_wh = dt_s / 3600.0, 0.0
    shortest_h = min(left_h, _LONGEST_H) * _SHORTEST
    for _ in range(_MOST_PARTS):
        upper_calls = upper <= upper_low or (upper_calls and upper < upper_stop)
        lower_calls = lower <= low or (lower_calls and lower < stop)
        watts, heat_u, heat_l = 0.0, 0.0, 0.0
        if upper_calls and may_boost:
            watts = element_w
            heat_u = watts * BTU_PER_WH * available
        elif lower_calls or (pumped and upper_calls):
            watts = tank[PUMP_W] if pumped else element_w
            heat_l = watts * BTU_PER_WH * available * (tank[PUMP_COP] if pumped else 1.0)
        if lower > upper:
            upper = lower = (upper_store * upper + lower_store * lower) / both
        slope_l = (heat_l + lower_loss * (room - lower) + flow * (inlet - lower)) / lower_store
        slope_u = (heat_u + upper_loss * (room - upper) + flow * (lower - upper)) / upper_store
        merged = lower >= upper - 1e-9 and slope_l >= slope_u
        part_h, upper_turns, lower_turns = min(left_h, _LONGEST_H), False, False
        for look in range(2):
            if merged:
                slope = (upper_store * slope_u + lower_store * slope_l) / both
                rate = (upper_loss + lower_loss + flow) / both
                upper_end, upper_area = advance(upper, slope, rate, part_h)
                lower_end, lower_area = upper_end, upper_area
            else:
                rate = (lower_loss + flow) / lower_store
                lower_end, lower_area = advance(lower, slope_l, rate, part_h)
                slope = slope_u + flow * (lower_area / part_h - lower) / upper_store
                rate = (upper_loss + flow) / upper_store
                upper_end, upper_area = advance(upper, slope, rate, part_h)
            if look == 1:
                break
            cut = 1.0
            target = upper_stop if upper_calls else upper_low
            if (upper_end >= target) if upper_calls else (upper_end <= target):
                cut, upper_turns = _fraction(upper, upper_end, target), True
            target = stop if lower_calls else low
            if (lower_end >= target) if lower_calls else (lower_end <= target):
                share = _fraction(lower, lower_end, target)
                upper_turns = upper_turns and cut <= share
                lower_turns = share <= cut
                cut = min(cut, share)
            if not merged and lower_end > upper_end:
                share = (upper - lower) / (upper - lower + lower_end - upper_end)
                if share < cut:
                    cut, upper_turns, lower_turns = share, False, False
            if cut >= 1.0:
                break
            part_h = min(part_h, max(cut * part_h, shortest_h))
        ledger[0] += (heat_u + heat_l) * part_h / BTU_PER_WH
        lost = upper_loss * (upper_area - room * part_h) + lower_loss * (lower_area - room * part_h)
        lost += flow * (upper_area - inlet * part_h)
        ledger[1] += lost / BTU_PER_WH
        asked_wh += watts * part_h
        upper, lower = upper_end, lower_end
        if upper_turns:
            upper_calls = not upper_calls
        if lower_turns:
            lower_calls = not lower_calls
        left_h -= part_h
        if left_h <= 1e-12:
            break
    state[T_UPPER], state[T_LOWER] = upper, lower
    state[UPPER_CALLS] = 1.0 if upper_calls else 0.0
    state[LOWER_CALLS] = 1.0 if lower_calls else 0.0
    ledger[2] += (upper_store * upper + lower_store * lower - begin) / BTU_PER_WH
    return asked_wh / (dt_s / 3600.0)


@njit(cache=True)
def heated_through(
    state: Floats,
    tank: Floats,
    element_w: float,
    flow_gph: Singles,
    dt_s: Floats,
    first: int,
    last: int,
    available: float,
    on_generator: bool,
    ledger: Floats,
    asked: Singles,
    level: Singles,
) -> None:
    """``water_heater`` through stretches first to last; the same figures, sooner.

    ``asked`` is filled with mean watts and ``level`` with the upper temperature at each end.
    """
    upper_store, lower_store = tank[UPPER_STORE], tank[LOWER_STORE]
    upper_loss, lower_loss = tank[UPPER_LOSS], tank[LOWER_LOSS]
    room, stop = tank[ROOM_F], tank[SET_F]
    low = stop - tank[BAND_F]
    pumped = tank[PUMP_W] > 0.0
    upper_low, upper_stop = low, stop
    if pumped:
        upper_low, upper_stop = stop - tank[BOOST_DROP_F], low
    may_boost = element_w > 0.0 and (not pumped or not on_generator or tank[BOOST_ON_SET] > 0.5)
    lower_w = tank[PUMP_W] if pumped else element_w
    lower_btuh = lower_w * BTU_PER_WH * available * (tank[PUMP_COP] if pumped else 1.0)
    both = upper_store + lower_store
    same_s, part_h = -1.0, 0.0
    phi_u = psi_u = phi_l = psi_l = phi_b = psi_b = 0.0
    upper, lower = state[T_UPPER], state[T_LOWER]
    upper_calls, lower_calls = state[UPPER_CALLS] > 0.5, state[LOWER_CALLS] > 0.5
    heat_btu = lost_btu = stored_btu = 0.0
    for c in range(first, last):
        quiet = flow_gph[c] == 0.0
        if quiet:
            if dt_s[c] != same_s:
                same_s = dt_s[c]
                part_h = same_s / 3600.0
                phi_u, psi_u = fading(upper_loss / upper_store * part_h)
                phi_l, psi_l = fading(lower_loss / lower_store * part_h)
                phi_b, psi_b = fading((upper_loss + lower_loss) / both * part_h)
            warm_u, warm_l = upper, lower
            if lower > upper:
                warm_u = warm_l = (upper_store * upper + lower_store * lower) / both
            calls_u = upper <= upper_low or (upper_calls and upper < upper_stop)
            calls_l = lower <= low or (lower_calls and lower < stop)
            watts, heat_u, heat_l = 0.0, 0.0, 0.0
            if calls_u and may_boost:
                watts = element_w
                heat_u = watts * BTU_PER_WH * available
            elif calls_l or (pumped and calls_u):
                watts, heat_l = lower_w, lower_btuh
            gain_l = heat_l + lower_loss * (room - warm_l)
            gain_u = heat_u + upper_loss * (room - warm_u)
            if warm_l >= warm_u - 1e-9 and gain_l * upper_store >= gain_u * lower_store:
                slope = (gain_u + gain_l) / both * part_h
                upper_end = warm_u + slope * phi_b
                lower_end = upper_end
                area_u = area_l = (warm_u + slope * psi_b) * part_h
            else:
                slope = gain_u / upper_store * part_h
                upper_end, area_u = warm_u + slope * phi_u, (warm_u + slope * psi_u) * part_h
                slope = gain_l / lower_store * part_h
                lower_end, area_l = warm_l + slope * phi_l, (warm_l + slope * psi_l) * part_h
                quiet = lower_end <= upper_end
            quiet = (
                quiet
                and ((upper_end < upper_stop) if calls_u else (upper_end > upper_low))
                and ((lower_end < stop) if calls_l else (lower_end > low))
            )
        if quiet:
            heat_btu += (heat_u + heat_l) * part_h
            lost_btu += upper_loss * (area_u - room * part_h)
            lost_btu += lower_loss * (area_l - room * part_h)
            stored_btu += upper_store * (upper_end - upper) + lower_store * (lower_end - lower)
            upper, lower, upper_calls, lower_calls = upper_end, lower_end, calls_u, calls_l
            asked[c] = watts
        else:
            state[T_UPPER], state[T_LOWER] = upper, lower
            state[UPPER_CALLS] = 1.0 if upper_calls else 0.0
            state[LOWER_CALLS] = 1.0 if lower_calls else 0.0
            asked[c] = water_heater(
                state, tank, element_w, flow_gph[c], dt_s[c], available, on_generator, ledger
            )
            upper, lower = state[T_UPPER], state[T_LOWER]
            upper_calls, lower_calls = state[UPPER_CALLS] > 0.5, state[LOWER_CALLS] > 0.5
        level[c] = upper
    state[T_UPPER], state[T_LOWER] = upper, lower
    state[UPPER_CALLS] = 1.0 if upper_calls else 0.0
    state[LOWER_CALLS] = 1.0 if lower_calls else 0.0
    ledger[0] += heat_btu / BTU_PER_WH
    ledger[1] += lost_btu / BTU_PER_WH
    ledger[2] += stored_btu / BTU_PER_WH
