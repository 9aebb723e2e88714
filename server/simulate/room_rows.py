"""Packs zones and the units that heat and cool them into rows; see ``server.physics.rooms``."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.domain.behaviour import RoomUnit, Zone
from server.domain.site import Site

_LEAST = 0.001 + 1e-9
"""A rest of a zone no larger than this is none, as where shares are rounded to make the whole."""
_SIGN = {"heat": 1.0, "cool": -1.0, "fan": 0.0}


@dataclass(frozen=True)
class RoomPlan:
    """Rows of rooms, what each is called for its random draws, and the row of each unit's room.

    The site's zones come first, in order; rooms of single units follow.
    """

    rows: NDArray[np.float64]
    names: tuple[str, ...]
    room_of: dict[str, int]
    own_rooms: tuple[str, ...]
    """The unit of each room that follows the zones, by id."""


def room_plan(site: Site) -> RoomPlan:
    """Zones, less the rooms of units that have one of their own, and those rooms.

    Where those rooms make the whole zone, the first of them stands in for it.
    """
    index = {zone.id: i for i, zone in enumerate(site.zones)}
    left = [1.0] * len(site.zones)
    units = [
        (a.id, a.behaviour)
        for c in site.circuits
        for a in c.appliances
        if isinstance(a.behaviour, RoomUnit)
    ]
    for _, unit in units:
        left[index[unit.zone_id]] -= unit.own_room_share
    names = [zone.id for zone in site.zones]
    shares = [(zone, share) for zone, share in zip(site.zones, left, strict=True)]
    room_of: dict[str, int] = {}
    for unit_id, unit in units:
        zone_row = index[unit.zone_id]
        if unit.own_room_share <= 0.0:
            room_of[unit_id] = zone_row
        elif shares[zone_row][1] <= _LEAST:
            shares[zone_row] = (site.zones[zone_row], unit.own_room_share)
            room_of[unit_id] = zone_row
        else:
            room_of[unit_id] = len(shares)
            shares.append((site.zones[zone_row], unit.own_room_share))
            names.append(f"{unit_id}/room")
    own_rooms = tuple(unit_id for unit_id, row in room_of.items() if row >= len(site.zones))
    rows = np.array([_row(zone, share) for zone, share in shares], dtype=np.float64)
    return RoomPlan(rows.reshape(len(shares), 11), tuple(names), room_of, own_rooms)


def _row(zone: Zone, share: float) -> tuple[float, ...]:
    loss = zone.loss_btuh_per_f * share
    heat, cool = zone.heat_setpoint_f, zone.cool_setpoint_f
    return (
        loss,
        loss * zone.time_constant_h,
        zone.gain_btuh * (1.0 - zone.things_share) * share,
        heat,
        cool,
        zone.sun_ft2 * share,
        heat if zone.heat_setback_f is None else zone.heat_setback_f,
        cool if zone.cool_setback_f is None else zone.cool_setback_f,
        zone.setback_from_hour,
        zone.setback_to_hour,
        zone.gain_btuh * zone.things_share * share,
    )


def unit_row(unit: RoomUnit) -> tuple[float, ...]:
    """A unit's row of ``params``."""
    return (
        _SIGN[unit.mode],
        unit.cop,
        unit.deadband_f,
        unit.stage_drop_f,
        unit.min_off_min * 60.0,
        unit.min_on_min * 60.0,
        unit.least_share,
        math.inf if unit.off_above_f is None else unit.off_above_f,
        -math.inf if unit.off_below_f is None else unit.off_below_f,
        float(unit.on_generator),
        unit.defrost_every_min * 60.0,
        unit.defrost_min * 60.0,
        float(unit.tempers_defrost),
        float(unit.ducted),
    )


def curve_rows(unit: RoomUnit) -> list[tuple[float, ...]]:
    """The points of its sheet by rising outdoor temperature, filled to the width of a stage."""
    return sorted((r.outdoor_f, r.capacity_btuh, r.cop, 0.0) for r in unit.ratings)
