"""Packs the appliances' behaviours into flat arrays for the compiled march.

Everything a behaviour needs stands in one row of ``params`` and, where lists are needed, in the
pooled arrays that the pointer arrays index. A deeper model is a new code, its row and its branch
in ``server.simulate.kernel``; nothing else changes.
"""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.behaviour import (
    Backed,
    Charger,
    ColdBox,
    Constant,
    Cycle,
    Hourly,
    Lighting,
    RoomUnit,
    SumpPump,
    Tank,
    Timed,
    Tub,
    WellPump,
)
from server.domain.catalogue import away_share, pumps_waste
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.physics.newton import WATER_BTU_PER_GAL_F
from server.physics.random import stream_of
from server.physics.rooms import COOL_BACK_F, COOL_F, GAIN, HEAT_BACK_F, HEAT_F, THINGS
from server.simulate.cells import midnight_s
from server.simulate.charger_volts import charger_share
from server.simulate.lights import lighting_row
from server.simulate.models import DRAW_GAL, DRAW_GPM, STATES
from server.simulate.pit_water import inflow_gpm
from server.simulate.results import Watched
from server.simulate.room_rows import curve_rows, room_plan, unit_row
from server.simulate.seasons import full_at, season_row
from server.simulate.store_rows import DOORS_A_MINUTE, DRAWING, WATCHED, stands_at, store_row
from server.simulate.stores import DRAINS, OUTDOORS, OWN_GPH

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

PARAMS = 24
AWAY_HEAT_F, AWAY_COOL_F, COOLED_FOR_THINGS_F = 60.0, 85.0, 70.0
_DAY_S = 86_400.0
_WEEK = 7


class Model(IntEnum):
    """Codes of the behaviour models; what stores something has ``TANK`` or above."""

    LIGHTING = -1
    CONSTANT = 0
    HOURLY = 1
    CYCLE = 2
    TIMED = 3
    CHARGER = 4
    TANK = 5
    ROOM = 6
    SUPPLIED = 7
    COLD_BOX = 8
    FLOAT = 9
    TUB = 10
    BACKED = 11


_CODE = {
    "constant": Model.CONSTANT,
    "hourly": Model.HOURLY,
    "lighting": Model.LIGHTING,
    "cycle": Model.CYCLE,
    "timed": Model.TIMED,
    "charger": Model.CHARGER,
    "tank": Model.TANK,
    "room": Model.ROOM,
    "cold_box": Model.COLD_BOX,
    "well": Model.FLOAT,
    "sump": Model.FLOAT,
    "tub": Model.TUB,
    "backed": Model.BACKED,
}


class PackedLoads(NamedTuple):
    """Flat arrays for the march; see ``kernel.march`` for how each is read.

    ``begun`` (loads, states) and ``zones_begun_f`` (zones,) are what a run begins with where it is
    known from the hours before [F], else NaN: it is drawn. ``gaps`` are short stretches without
    power, after which starts that fall into them are made; see ``server.simulate.dead_seconds``.
    """

    model: Ints
    load_w: Floats
    params: Floats
    by_hour: Floats
    stream: NDArray[np.uint64]
    stage_ptr: Ints
    stages: Floats
    habit_ptr: Ints
    habits: Floats
    start_ptr: Ints
    starts: Floats
    zone_of: Ints
    stands_at: Ints
    zones: Floats
    zone_stream: NDArray[np.uint64]
    watch_of: Ints
    flow_of: Ints
    midnight_s: float
    span_s: float
    gap_ptr: Ints
    gaps: Floats
    begun: Floats
    zones_begun_f: Floats


def pack(site: Site, scenario: Scenario, *, supplied: int) -> PackedLoads:
    """Pack every appliance in circuit order, then ``supplied`` columns given from outside."""
    appliances = [a for c in site.circuits for a in c.appliances]
    held = [charger_share(site, c, a) for c in site.circuits for a in c.appliances]
    count = len(appliances) + supplied
    plan = room_plan(site)
    model = np.full(count, int(Model.SUPPLIED), dtype=np.int64)
    load_w = np.zeros(count)
    params = np.zeros((count, PARAMS))
    by_hour = np.zeros((count, 24))
    stream = np.zeros(count, dtype=np.uint64)
    zone_of = np.full(count, -1, dtype=np.int64)
    stages: list[list[tuple[float, ...]]] = [[] for _ in range(count)]
    habits: list[list[tuple[float, ...]]] = [[] for _ in range(count)]
    starts: list[list[tuple[float, ...]]] = [[] for _ in range(count)]
    people_share = (scenario.people if scenario.people is not None else site.people) / site.people
    for i, appliance in enumerate(appliances):
        behaviour = appliance.behaviour
        model[i] = _CODE[behaviour.model]
        load_w[i] = appliance.load_w
        stream[i] = stream_of(appliance.id)
        params[i, : len(_params(appliance))] = _params(appliance)
        if isinstance(behaviour, Hourly):
            by_hour[i] = behaviour.shares if people_share else min(behaviour.shares)
        elif isinstance(behaviour, Lighting):
            row = lighting_row(behaviour, people_share)
            params[i, : len(row)] = row
        elif isinstance(behaviour, Tank | WellPump):
            by_hour[i] = np.array(behaviour.draws_gal_by_hour) * people_share
            params[i, [DRAW_GAL, DRAW_GPM]] = behaviour.draw_gal, behaviour.draw_gpm
        elif isinstance(behaviour, ColdBox):
            by_hour[i] = np.array(behaviour.openings_by_hour) * people_share
            params[i, [DRAW_GAL, DRAW_GPM]] = 1.0, DOORS_A_MINUTE
        elif isinstance(behaviour, Backed):
            load_w[i] *= behaviour.share
        elif isinstance(behaviour, Tub):
            by_hour[i] = behaviour.open_by_hour
        elif isinstance(behaviour, SumpPump):
            params[i, OWN_GPH] = inflow_gpm(appliance, behaviour, scenario) * 60.0
            params[i, DRAINS] = float(pumps_waste(appliance))
        elif isinstance(behaviour, RoomUnit):
            zone_of[i] = plan.room_of[appliance.id]
            stages[i] = curve_rows(behaviour)
        elif isinstance(behaviour, Timed):
            stages[i] = [
                (s.minutes * 60.0, s.share, s.cycle_on_s, s.cycle_off_s) for s in behaviour.stages
            ]
            habits[i], starts[i] = _timed_starts(appliance.id, behaviour, scenario)
        elif isinstance(behaviour, Charger):
            load_w[i] *= behaviour.share(load_w=appliance.load_w, volts=appliance.volts)
            load_w[i] *= held[i]
            starts[i] = _sessions(appliance.id, behaviour, scenario, load_w[i])
        if not people_share and isinstance(behaviour, Constant | Cycle | Backed):
            load_w[i], params[i] = _away(appliance, load_w[i], params[i])
    return PackedLoads(
        model=model,
        load_w=load_w,
        params=params,
        by_hour=by_hour,
        stream=stream,
        stage_ptr=_pointers(stages),
        stages=_pooled(stages, 4),
        habit_ptr=_pointers(habits),
        habits=_pooled(habits, 3),
        start_ptr=_pointers(starts),
        starts=_pooled(starts, 3),
        zone_of=zone_of,
        stands_at=np.array(
            [stands_at(site, a.behaviour) for a in appliances] + [OUTDOORS] * supplied, np.int64
        ),
        zones=plan.rows if people_share else nobody_in(plan.rows),
        zone_stream=np.array([stream_of(name) for name in plan.names], dtype=np.uint64),
        flow_of=_numbered([a.behaviour.model in DRAWING for a in appliances] + [False] * supplied),
        watch_of=_numbered([a.behaviour.model in WATCHED for a in appliances] + [False] * supplied),
        midnight_s=midnight_s(scenario.start),
        span_s=scenario.steps * float(scenario.step_s),
        gap_ptr=np.zeros(count + 1, dtype=np.int64),
        gaps=np.zeros((0, 2)),
        begun=np.full((count, STATES), np.nan),
        zones_begun_f=np.full(len(plan.names), np.nan),
    )


def nobody_in(rows: Floats) -> Floats:
    """Rows of zones that nobody is in: no heat of people and things, set back by day too.

    To the zone's own set-back where it has one, else to 60 and 85 °F. What is kept at 60 °F or
    less, or cooled below 70 °F, is kept so for things and stays. Common practice, no source.
    """
    away = rows.copy()
    away[:, GAIN] = away[:, THINGS] = 0.0
    heat, cool = rows[:, HEAT_F], rows[:, COOL_F]
    own_heat, own_cool = rows[:, HEAT_BACK_F], rows[:, COOL_BACK_F]
    away[:, HEAT_F] = np.where(own_heat < heat, own_heat, np.minimum(heat, AWAY_HEAT_F))
    warmed = np.where(cool < COOLED_FOR_THINGS_F, cool, np.maximum(cool, AWAY_COOL_F))
    away[:, COOL_F] = np.where(own_cool > cool, own_cool, warmed)
    away[:, HEAT_BACK_F], away[:, COOL_BACK_F] = away[:, HEAT_F], away[:, COOL_F]
    return away


def watched(site: Site) -> tuple[Watched, ...]:
    """What is watched of the appliances, in the order of the march's ``level``."""
    return tuple(
        Watched(a.id, a.name, *WATCHED[a.behaviour.model])
        for c in site.circuits
        for a in c.appliances
        if a.behaviour.model in WATCHED
    )


def _params(appliance: Appliance) -> tuple[float, ...]:
    behaviour = appliance.behaviour
    match behaviour.model:
        case "constant":
            return (behaviour.share,)
        case "hourly":
            return (behaviour.spread_min * 60.0, 0.0, 0.0, *season_row(behaviour))
        case "cycle":
            turns = (behaviour.on_min * 60.0, behaviour.off_min * 60.0, behaviour.spread)
            return (*turns, *season_row(behaviour), full_at(behaviour))
        case "timed":
            return (1.0 if appliance.restart == "by_itself" else 0.0,)
        case "tank":
            return _tank(behaviour, appliance.load_w)
        case "room":
            return unit_row(behaviour)
        case "cold_box" | "well" | "sump" | "tub" | "backed":
            return store_row(behaviour, appliance.load_w)
        case _:
            return ()


def _away(appliance: Appliance, load_w: float, params: Floats) -> tuple[float, Floats]:
    """Watts and row of ``params`` with nobody there: turns as long as ever come so much less."""
    share = away_share(appliance)
    if appliance.behaviour.model == "cycle" and 0.0 < share < 1.0:
        on_s, off_s = params[0], params[1]
        longer = params.copy()
        longer[1] = (on_s + off_s) / share - on_s
        return load_w, longer
    return load_w * share, params


def _tank(tank: Tank, load_w: float) -> tuple[float, ...]:
    """A row of ``params``; see ``server.physics.water_heater``, then the element's watts."""
    store = tank.gallons * WATER_BTU_PER_GAL_F
    upper, lower = tank.upper_share, 1.0 - tank.upper_share
    element_w, pump_w = load_w, tank.heat_pump_w or 0.0
    if tank.heat_pump_w is None and tank.cop != 1.0:
        element_w, pump_w = 0.0, load_w
    return (
        store * upper,
        store * lower,
        tank.loss_btuh_per_f * upper,
        tank.loss_btuh_per_f * lower,
        tank.setpoint_f,
        tank.deadband_f,
        tank.inlet_f,
        tank.room_f,
        pump_w,
        tank.cop,
        tank.boost_below_f,
        float(tank.boost_on_set),
        element_w,
    )


def _timed_starts(
    appliance_id: str, behaviour: Timed, scenario: Scenario
) -> tuple[list[tuple[float, ...]], list[tuple[float, ...]]]:
    """Habits to draw from, or fixed starts where the scenario lists events."""
    events = [e for e in scenario.events if e.appliance_id == appliance_id]
    if events:
        fixed = sorted((e.at - scenario.start).total_seconds() for e in events)
        return [], [(at, 0.0, 0.0) for at in fixed]
    return [(h.hour * 3600.0, h.chance, h.spread_min * 60.0) for h in behaviour.starts], []


def _sessions(
    appliance_id: str, behaviour: Charger, scenario: Scenario, load_w: float
) -> list[tuple[float, ...]]:
    """Charging sessions: begun at, energy wanted, gone at. [s, Wh, s].

    One that waits begins as late as it can and still be done when the car leaves.
    """
    span_s = scenario.span_h * 3600.0
    events = [e for e in scenario.events if e.appliance_id == appliance_id]
    asked: list[tuple[float, float | None]] = [
        ((e.at - scenario.start).total_seconds(), e.energy_kwh)
        for e in sorted(events, key=lambda e: e.at)
    ]
    if not events:
        asked = [(at, None) for at in _arrivals(behaviour, scenario)]
    departures = _departures(behaviour, scenario)
    found: list[tuple[float, ...]] = []
    for at, energy_kwh in asked:
        leave = next((d for d in departures if d > at), np.inf)
        wanted_wh = 1000.0 * (behaviour.wall_kwh if energy_kwh is None else energy_kwh)
        begin = at
        if behaviour.waits and load_w > 0.0 and leave < np.inf:
            begin = max(at, leave - wanted_wh / load_w * 3600.0)
        if events or (leave > 0.0 and at < span_s):
            found.append((begin, wanted_wh, leave))
    return _in_turn(found)


def _in_turn(sessions: list[tuple[float, ...]]) -> list[tuple[float, ...]]:
    """Each session ended where the next begins, so that energy asked for again is added."""
    nexts = [session[0] for session in sessions[1:]] + [float("inf")] * bool(sessions)
    return [
        (at, wh, min(leave, then)) for (at, wh, leave), then in zip(sessions, nexts, strict=True)
    ]


def _departures(behaviour: Charger, scenario: Scenario) -> list[float]:
    """When its car leaves, from a week before the span to a week after it. [s]"""
    zero = midnight_s(scenario.start) + behaviour.depart_hour * 3600.0
    first = scenario.start.weekday()
    days = range(-_WEEK, int(scenario.span_h // 24) + 2 + _WEEK)
    return [zero + d * _DAY_S for d in days if (first + d) % _WEEK in behaviour.leaves.days]


def _arrivals(behaviour: Charger, scenario: Scenario) -> list[float]:
    """When its car comes back: at the next such hour after each departure. [s]"""
    zero = midnight_s(scenario.start) + behaviour.arrive_hour * 3600.0
    return [
        float(zero + (np.floor((left - zero) / _DAY_S) + 1.0) * _DAY_S)
        for left in _departures(behaviour, scenario)
    ]


def _pointers(rows: list[list[tuple[float, ...]]]) -> Ints:
    return np.concatenate(([0], np.cumsum([len(r) for r in rows]))).astype(np.int64)


def _pooled(rows: list[list[tuple[float, ...]]], width: int) -> Floats:
    flat = [row for group in rows for row in group]
    return np.array(flat, dtype=np.float64).reshape(len(flat), width)


def _numbered(chosen: list[bool]) -> Ints:
    """0, 1, 2 … where chosen, else -1."""
    places = np.cumsum(chosen) - 1
    return np.where(chosen, places, -1).astype(np.int64)
