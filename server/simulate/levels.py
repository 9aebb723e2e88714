"""What a run stores, moment by moment: warmth, water, cold, charge and fuel, with their limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.behaviour import (
    Backed,
    ColdBox,
    RoomUnit,
    SumpPump,
    Tank,
    Tub,
    WellPump,
    Zone,
)
from server.domain.stores import FREEZES_FOOD_F, UNSAFE_FOOD_F
from server.domain.supply import FuelTank, Generator
from server.physics.engine_set import UNIT_OF_FUEL
from server.simulate.burn import burn_per_h, curve_of, other_per_h
from server.simulate.harm import HarmClock, Place
from server.simulate.harm_set import run_hours
from server.simulate.harm_warmth import HOT_WATER_F
from server.simulate.results import Run
from server.simulate.room_rows import room_plan
from server.simulate.served import Span
from server.simulate.weather import outdoor_f

Floats = NDArray[np.float64]
_ALIKE = 1e-6
_TOUCH = 0.01
"""Empty and full to the brim are reached, never passed, so their lines lie this much inside."""


@dataclass(frozen=True)
class Line:
    """What a level is held against: a floor (-1), a ceiling (1), or what it is set to (0)."""

    value: float
    text: str
    side: Literal[-1, 0, 1] = 0


@dataclass(frozen=True)
class Level:
    """One thing stored over a run.

    ``values`` (steps,) is what there is at each step's end, ``beside`` (steps,) the outdoor
    temperature where it matters. ``dead`` are the spans in which it has no power, from the start.
    """

    id: str
    name: str
    what: str
    unit: str
    values: Floats
    lines: tuple[Line, ...]
    dead: tuple[Span, ...]
    beside: Floats | None = None

    def past(self, line: Line) -> NDArray[np.bool_]:
        """Steps at whose end it is past a limit; none for a setting."""
        return np.asarray(line.side * (self.values - line.value) > _ALIKE)


def levels(run: Run) -> tuple[Level, ...]:
    """Rooms, what appliances store, and fuel, in the order of the site. Kept with the run."""
    kept = run.aside.get("levels")
    if isinstance(kept, tuple):
        return kept
    run.aside["levels"] = made = tuple(_levels(run))
    return made


def _levels(run: Run) -> Iterator[Level]:
    scenario = run.scenario
    end_s: Floats = (np.arange(run.steps, dtype=np.float64) + 1.0) * scenario.step_s
    outdoor = outdoor_f(scenario.weather, scenario.start, end_s)
    clock = HarmClock(run)
    yield from _rooms(run, clock, outdoor)
    about = {watched.appliance_id: watched for watched in run.watched}
    for place in clock.places:
        watched = about.get(place.appliance.id)
        if watched is None:
            continue
        values = clock.levels[watched.appliance_id].astype(np.float64)
        outside = isinstance(place.appliance.behaviour, Tub)
        yield Level(
            id=watched.appliance_id,
            name=clock.name(place),
            what=watched.what,
            unit=watched.unit,
            values=values,
            lines=_lines(place.appliance),
            dead=run.served.dark_in_run(place.circuit),
            beside=outdoor if outside else None,
        )
    for row, generator in enumerate(run.site.generators):
        tank = generator.tank
        if tank is not None and UNIT_OF_FUEL[generator.fuel] == "gal":
            yield _fuel(run, generator, tank, row, end_s)


def _rooms(run: Run, clock: HarmClock, outdoor: Floats) -> Iterator[Level]:
    """Each zone, what is left of it where units have rooms of their own, and each such room."""
    plan = room_plan(run.site)
    out = tuple((max(a, 0.0), b) for a, b in run.served.outages if b > 0.0)
    alone: dict[int, tuple[Place, str]] = {}
    for place in clock.places:
        unit = place.appliance.behaviour
        if isinstance(unit, RoomUnit) and unit.own_room_share > 0.0:
            alone[plan.room_of[place.appliance.id]] = (place, unit.zone_id)
    zones = {zone.id: zone for zone in run.site.zones}
    shared = {zone_id for _, zone_id in alone.values()}
    found = []
    for row, zone in enumerate(run.site.zones):
        name = f"{zone.name}, the rest" if zone.id in shared else zone.name
        if row in alone:
            name = f"{zone.name}, room of {clock.name(alone[row][0])}"
        found.append((zone, zone.id, name, out))
    for row in range(len(run.site.zones), len(plan.names)):
        place, zone_id = alone[row]
        name = f"{zones[zone_id].name}, room of {clock.name(place)}"
        dark = run.served.dark_in_run(place.circuit)
        found.append((zones[zone_id], f"{place.appliance.id}-room", name, dark))
    for (zone, level_id, name, dead), temps in zip(
        found, (*run.zone_f, *run.own_room_f), strict=True
    ):
        lines = _room_lines(zone)
        values = temps.astype(np.float64)
        yield Level(level_id, name, "room temperature", "°F", values, lines, dead, outdoor)


def _room_lines(zone: Zone) -> tuple[Line, ...]:
    return (
        Line(zone.hot_f, f"hot, {zone.hot_f:g} °F", 1),
        Line(zone.cool_setpoint_f, f"cooled to {zone.cool_setpoint_f:g} °F"),
        Line(zone.heat_setpoint_f, f"heated to {zone.heat_setpoint_f:g} °F"),
        Line(zone.cold_f, f"cold, {zone.cold_f:g} °F", -1),
        Line(zone.pipes_f, f"pipes, {zone.pipes_f:g} °F", -1),
    )


def _lines(appliance: Appliance) -> tuple[Line, ...]:
    match appliance.behaviour:
        case Tank() as tank:
            cold = tank.setpoint_f - tank.deadband_f >= HOT_WATER_F
            limit = (
                (Line(HOT_WATER_F, f"cold to a shower, {HOT_WATER_F:g} °F", -1),) if cold else ()
            )
            return (Line(tank.setpoint_f, f"set to {tank.setpoint_f:g} °F"), *limit)
        case ColdBox() as box:
            warmest_f = box.too_warm_f
            safe = box.kept_f + box.deadband_f / 2.0 < warmest_f
            lost = "food unsafe" if warmest_f == UNSAFE_FOOD_F else "too warm"
            ceiling = Line(warmest_f, f"{lost}, {warmest_f:g} °F", 1)
            floor = Line(FREEZES_FOOD_F, f"freezes, {FREEZES_FOOD_F:g} °F", -1)
            thaws = box.kept_f - box.deadband_f / 2.0 > FREEZES_FOOD_F
            return (
                *[ceiling][: int(safe)],
                Line(box.kept_f, f"kept at {box.kept_f:g} °F"),
                *[floor][: int(thaws)],
            )
        case WellPump() as well:
            return (
                Line(well.drawdown_gal, f"pump stops, {well.cut_out_psi:g} psi"),
                Line(_TOUCH, f"empty under {well.cut_in_psi:g} psi", -1),
            )
        case SumpPump() as pit:
            brim = pit.cycle_gal + pit.reserve_gal
            return (
                Line(brim - _TOUCH, f"brim, {brim:g} gal", 1),
                Line(pit.cycle_gal, f"float starts the pump, {pit.cycle_gal:g} gal"),
            )
        case Tub() as tub:
            return (Line(tub.setpoint_f, f"set to {tub.setpoint_f:g} °F"),)
        case Backed() as device:
            return (
                Line(device.battery_min / 60.0, f"full, {device.battery_min / 60.0:.1f} h"),
                Line(_TOUCH, "empty", -1),
            )
        case _:
            return ()


def _fuel(run: Run, generator: Generator, tank: FuelTank, row: int, end_s: Floats) -> Level:
    """Fuel by the set: what was there, less what is burnt, plus deliveries while they find room."""
    scenario = run.scenario
    at_s, burnt = burnt_by(run, generator, row)
    burnt = burnt + other_per_h(generator) * at_s / 3600.0
    full = tank.capacity_gal * tank.fill_share
    due = scenario.deliveries_to(generator.id)
    came = [((d.at - scenario.start).total_seconds(), d.gallons) for d in due]
    marks = [0.0, *(at for at, _ in came), float(end_s[-1])]
    values, left = np.empty(len(end_s)), full * scenario.fuel_share_of(generator.id)
    for k, (begin, end) in enumerate(pairwise(marks)):
        if k:
            left = min(left + came[k - 1][1], max(full, left))
        steps = (end_s > begin) & (end_s <= end)
        used = np.interp(end_s[steps], at_s, burnt) - np.interp(begin, at_s, burnt)
        values[steps] = np.maximum(left - used, 0.0)
        left = max(left - float(np.interp(end, at_s, burnt) - np.interp(begin, at_s, burnt)), 0.0)
    reserve = tank.capacity_gal * tank.reserve_share
    floor = Line(reserve, f"reserve, {reserve:g} gal", -1)
    if reserve < _TOUCH:
        floor = Line(_TOUCH, "empty", -1)
    return Level(
        id=generator.id,
        name=generator.name,
        what="fuel left",
        unit="gal",
        values=values,
        lines=(Line(full, f"as full as it is filled, {full:.0f} gal"), floor),
        dead=_stopped(run.served.running[generator.id], float(end_s[-1])),
    )


def burnt_by(run: Run, generator: Generator, row: int) -> tuple[Floats, Floats]:
    """Seconds from the start and fuel burnt by then, straight between them. [gal or 1000 Btu]

    ``row`` is the place of the set among the generators of the site.
    """
    served = run.served
    cell_end_s = served.cell_end_s
    cell_s = np.diff(cell_end_s, prepend=0.0)
    running = np.diff(run_hours(served.running[generator.id], cell_end_s), prepend=0.0)
    burn = burn_per_h(
        curve_of(generator),
        watts=served.set_w[row].astype(np.float64),
        running=running * 3600.0 / cell_s,
    )
    return np.append(0.0, cell_end_s), np.append(0.0, np.cumsum(burn * cell_s / 3600.0))


def _stopped(running: tuple[Span, ...], span_s: float) -> tuple[Span, ...]:
    """Spans in which a set does not turn."""
    edges = [0.0, *(min(max(s, 0.0), span_s) for span in running for s in span), span_s]
    return tuple((a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a)
