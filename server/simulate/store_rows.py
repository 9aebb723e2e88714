"""Packs cold boxes, pumps, tubs and own batteries into rows; see ``server.simulate.stores``."""

from __future__ import annotations

from server.domain.behaviour import Backed, Behaviour, ColdBox, RoomUnit, SumpPump, Tub, WellPump
from server.domain.site import Site
from server.physics.newton import WATER_BTU_PER_GAL_F
from server.simulate.stores import OUTDOORS, OWN_ROOM

DRAWING = frozenset({"tank", "well", "cold_box", "tub"})
"""Models that something is drawn from by the hour: water, cold by the door, warmth by the cover."""

WATCHED = {
    "tank": ("water temperature", "°F"),
    "cold_box": ("temperature", "°F"),
    "well": ("water in the pressure tank", "gal"),
    "sump": ("water in the pit", "gal"),
    "tub": ("water temperature", "°F"),
    "backed": ("own battery", "h"),
}
"""Models with a state that is worth a plot, what it is and its unit; see ``models.LEVEL``."""

DOORS_A_MINUTE = 2.0
"""A door stands open for half a minute (common practice, no source)."""


def stands_at(site: Site, behaviour: Behaviour) -> int:
    """The row of the zone whose air an appliance stands in, or ``OUTDOORS`` or ``OWN_ROOM``."""
    if not isinstance(behaviour, ColdBox) or behaviour.stands == "outdoors":
        return OUTDOORS
    if behaviour.stands == "own":
        return OWN_ROOM
    served = {
        a.behaviour.zone_id
        for c in site.circuits
        for a in c.appliances
        if isinstance(a.behaviour, RoomUnit)
    }
    wanted = served if behaviour.zone_id is None else {behaviour.zone_id}
    return next((z for z, zone in enumerate(site.zones) if zone.id in wanted), OWN_ROOM)


def store_row(
    model: ColdBox | WellPump | SumpPump | Tub | Backed, load_w: float
) -> tuple[float, ...]:
    """A row of ``params`` of a model whose appliance is rated at so many watts."""
    match model:
        case ColdBox():
            return (
                model.loss_btuh_per_f * model.time_constant_h,
                model.loss_btuh_per_f,
                model.kept_f,
                model.food_band_f(load_w),
                model.cop,
                -1.0,
                model.room_f,
                model.opening_btu,
                float(model.opened_when_dead),
                model.defrost_w,
                model.defrost_every_h,
                model.defrost_min / 60.0,
            )
        case WellPump():
            drawdown = model.drawdown_gal
            return (drawdown, drawdown, model.pump_gpm * 60.0, 0.0, 1.0)
        case SumpPump():
            brim = model.cycle_gal + model.reserve_gal
            return (model.cycle_gal, brim, model.pump_gpm * 60.0, model.inflow_gpm * 60.0, 0.0)
        case Tub():
            return (
                model.gallons * WATER_BTU_PER_GAL_F,
                model.loss_btuh_per_f,
                model.setpoint_f,
                model.deadband_f,
                1.0,
                1.0,
                model.open_times,
                model.circulation_w * model.circulation_share,
            )
        case Backed():
            return (model.battery_min / 60.0, model.recharge_h, model.efficiency)
