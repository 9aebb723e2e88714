"""Harms that a temperature of the run brings: rooms, pipes and hot water."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.domain.behaviour import RoomUnit, Tank, Zone
from server.domain.working import Term
from server.simulate.given_up import given_up
from server.simulate.harm import Harm, HarmClock, HarmKind, Place
from server.simulate.harm_words import room_clause
from server.simulate.verdict import moment

HOT_WATER_F = 105.0
"""Water cooler than this is cold to a shower (common practice, no source)."""

LONG_DEAD_S = 3600.0
"""What heats a room and is dead for less is not what let it cool, where another was dead for longer
(common practice, no source). [s]"""

_ROOM = (
    "The room’s heat balance in this run, C dT/dt = Q − UA (T − outdoors). The limit is the zone’s "
    "own; 55, 90 and 40 °F are common practice, no source."
)
_TANK = (
    "The tank’s heat balance in this run, water above the upper thermostat. 105 °F is common "
    "practice, no source."
)


def rooms(clock: HarmClock) -> Iterator[Harm]:
    """Each zone below and above its limits, and its pipes, by the worst of its rooms."""
    for zone in clock.run.site.zones:
        parts = parts_of(clock, zone)
        yield _room(clock, zone, parts, _Limit("room_cold", zone.cold_f, -1, "below"))
        yield _room(clock, zone, parts, _Limit("pipes", zone.pipes_f, -1, "pipes: below"))
        yield _room(clock, zone, parts, _Limit("room_hot", zone.hot_f, 1, "above"))


@dataclass(frozen=True)
class Part:
    """Temperatures of a zone, or of the room of the one unit that is named. [F]"""

    temps: NDArray[np.float32]
    unit: Place | None


def parts_of(clock: HarmClock, zone: Zone) -> tuple[Part, ...]:
    """A zone, and each room cut out of it that has a unit of its own."""
    row = clock.run.site.zones.index(zone)
    return (Part(clock.run.zone_f[row], None), *_own_rooms(clock, zone))


def _own_rooms(clock: HarmClock, zone: Zone) -> Iterator[Part]:
    of = {place.appliance.id: place for place in clock.places}
    run = clock.run
    for unit_id, temps in zip(run.own_room_units, run.own_room_f, strict=True):
        behaviour = of[unit_id].appliance.behaviour
        if isinstance(behaviour, RoomUnit) and behaviour.zone_id == zone.id:
            yield Part(temps, of[unit_id])


@dataclass(frozen=True)
class _Limit:
    """What a room must not fall below (sign -1) or rise above (sign 1). [F]"""

    kind: HarmKind
    limit_f: float
    sign: int
    words: str


def _room(clock: HarmClock, zone: Zone, parts: tuple[Part, ...], to: _Limit) -> Harm:
    """A zone against a limit, by the part that passes it first, or else comes nearest."""
    passed = [(part, *crossing(clock, part.temps, to.limit_f, to.sign)) for part in parts]
    part, at_s, most, most_s = min(
        passed, key=lambda p: (math.inf if p[1] is None else p[1], -to.sign * p[2])
    )
    mode, word = ("cool", "highest") if to.sign > 0 else ("heat", "lowest")
    where = f" in the room of {clock.name(part.unit)}" if part.unit else ""
    return clock.harm(
        to.kind,
        zone.id,
        f"{zone.name}, {to.words} {to.limit_f:g} °F",
        at_s,
        formula=f"time the room passes {to.limit_f:g} °F − start of the outage",
        terms=(
            Term("limit", to.limit_f, "°F", "the zone"),
            Term(f"{word}{where or ' in the room'}", most, "°F", "this run"),
        ),
        source=_ROOM,
        why=""
        if at_s is None
        else _room_why(clock, zone, part, mode, limit_f=to.limit_f, at_s=at_s),
        nearest=f"{word} {most:.1f} °F{where}, {moment(clock.time(most_s))}",
        clause=room_clause(zone, to.kind),
    )


def so_before(clock: HarmClock, zone: Zone, mode: str, limit_f: float, at_s: float) -> bool:
    """Whether a room was past a limit before the outage.

    One in which a run begins started with the room within half a degree of its set points.
    """
    if at_s > clock.first_s + 0.5:
        return False
    if not clock.run.scenario.dark_before_s:
        return True
    heat, cool = zone.heat_setpoint_f, zone.cool_setpoint_f
    if mode == "cool":
        return max(cool, zone.cool_setback_f or cool) + 0.5 > limit_f
    return min(heat, heat if zone.heat_setback_f is None else zone.heat_setback_f) - 0.5 < limit_f


def _room_why(
    clock: HarmClock, zone: Zone, part: Part, mode: str, *, limit_f: float, at_s: float
) -> str:
    verb = "heats" if mode == "heat" else "cools"
    if so_before(clock, zone, mode, limit_f, at_s):
        return "it was so before the outage"
    elsewhere = set(clock.run.own_room_units)
    here = (
        [part.unit] if part.unit else [p for p in clock.places if p.appliance.id not in elsewhere]
    )
    units = {
        p.circuit: None
        for p in here
        if isinstance(p.appliance.behaviour, RoomUnit)
        and p.appliance.behaviour.zone_id == zone.id
        and p.appliance.behaviour.mode == mode
    }
    if not units:
        return f"nothing {verb} it"
    run = clock.run
    dropped = {c: given_up(run.site.circuits[c], run.scenario) for c in units}
    dead = {c: words for c in units if (words := clock.dead_words(c, at_s))}
    since = {c: span[0] for c in dead if (span := clock.dead_at(c, at_s))}
    if len({begin > at_s - LONG_DEAD_S for begin in since.values()}) > 1:
        return "; ".join(dead[c] for c in sorted(dead, key=lambda c: since[c]))
    said = [dead[c] for c in sorted(dead, key=lambda c: dropped[c])]
    if not dead or (all(dropped[c] for c in dead) and not all(dropped.values())):
        said.insert(0, f"what {verb} it had power and could not keep up")
    return "; ".join(said)


def tanks(clock: HarmClock) -> Iterator[Harm]:
    """Each water heater whose water turns cold, where it is set hotter than that."""
    for place in clock.places:
        tank = place.appliance.behaviour
        if not isinstance(tank, Tank) or tank.setpoint_f - tank.deadband_f < HOT_WATER_F:
            continue
        name = clock.name(place)
        at_s, most, most_s = crossing(clock, clock.levels[place.appliance.id], HOT_WATER_F, -1)
        why = ""
        if at_s is not None:
            why = clock.dead_words(place.circuit, at_s) or "drawn faster than it heats"
        yield clock.harm(
            "tank_cold",
            place.appliance.id,
            f"{name} below {HOT_WATER_F:g} °F",
            at_s,
            formula=f"time the water passes {HOT_WATER_F:g} °F − start of the outage",
            terms=(
                Term("limit", HOT_WATER_F, "°F", "common practice, no source"),
                Term("coolest water", most, "°F", "this run"),
            ),
            source=_TANK,
            why=why,
            nearest=f"coolest {_beside(most, HOT_WATER_F)} °F, {moment(clock.time(most_s))}",
        )


def _beside(told_f: float, limit_f: float) -> str:
    """A temperature to the degree, to its tenth where it would read as the limit itself.

    >>> _beside(104.6, 105.0), _beside(101.2, 105.0)
    ('104.6', '101')
    """
    return f"{told_f:.1f}" if round(told_f) == round(limit_f) else f"{told_f:.0f}"


def crossing(
    clock: HarmClock, levels: NDArray[np.float32], limit: float, sign: int
) -> tuple[float | None, float, float]:
    """When a level first passes a limit in or after the outage, and its most and when. [s, -, s]

    Of several times the first that falls into an outage or its recovery is taken. ``levels`` are
    those at each step's end; between two of them the way is taken as straight.
    """
    step_s = float(clock.run.scenario.step_s)
    first = int(clock.first_s // step_s)
    part = sign * levels[first:].astype(np.float64)
    top = int(np.argmax(part))
    most, most_s = sign * float(part[top]), (first + top + 1) * step_s
    beyond = part > sign * limit
    if not beyond.any():
        return None, most, most_s
    passed = first + np.flatnonzero(beyond & ~np.append(False, beyond[:-1]))
    within = (int(k) for k in passed if clock.of_outage(float(k) * step_s))
    k = next(within, int(passed[0]))
    if k == first:
        before = levels[k - 1] if k else levels[k]
        if sign * float(before) > sign * limit:
            return clock.first_s, most, most_s
    low, high = float(levels[k - 1]) if k else float(levels[k]), float(levels[k])
    share = 1.0 if high == low else (limit - low) / (high - low)
    return max(clock.first_s, (k + min(max(share, 0.0), 1.0)) * step_s), most, most_s
