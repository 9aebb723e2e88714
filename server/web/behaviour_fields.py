"""What the form of an appliance asks of each behaviour: few questions first, the rest behind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from server.web import words
from server.web.words import Options


@dataclass(frozen=True)
class Asked:
    """One field of a behaviour, named as in the document without ``behaviour.``."""

    name: str
    label: str
    unit: str = ""
    hint: str = ""
    sort: Literal["number", "tick", "choice", "zone", "any_zone"] = "number"
    options: Options = ()


@dataclass(frozen=True)
class Questions:
    """The fields anyone can answer, those for an expert, and lists if any."""

    first: tuple[Asked, ...]
    expert: tuple[Asked, ...] = ()
    by_hour: tuple[str, str] | None = None
    rows: tuple[str, str, tuple[Asked, ...]] | None = None


_WEEK = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

_STORES: dict[str, Questions] = {
    "cold_box": Questions(
        first=(
            Asked("kept_f", "Keeps at", "°F", "37 for a refrigerator, 0 for a freezer."),
            Asked(
                "time_constant_h",
                "Warms with a time constant of",
                "h",
                "42 for a refrigerator, 57 for a full freezer, 28 for a half-full one.",
            ),
            Asked("stands", "Stands", sort="choice", options=words.STANDS),
        ),
        expert=(
            Asked("zone_id", "In which zone", sort="any_zone"),
            Asked("room_f", "Room its figures are for", "°F"),
            Asked("too_warm_f", "What it holds is lost above", "°F", "40 for food."),
            Asked("deadband_f", "Comes on and goes off within", "°F"),
            Asked("cycle_min", "Comes on about every", "min", "30 to 60, doors shut."),
            Asked("loss_btuh_per_f", "Takes in", "Btu/h °F"),
            Asked("cop", "Heat moved for each watt"),
            Asked("opening_btu", "Each opening lets in", "Btu"),
            Asked("opened_when_dead", "Opened as usual while it is dead", sort="tick"),
            Asked("defrost_w", "Its defrost draws", "W", "0 for none."),
            Asked("defrost_every_h", "Defrosts every", "h"),
            Asked("defrost_min", "A defrost lasts", "min"),
        ),
        by_hour=("openings_by_hour", "Times its door is opened in each hour."),
    ),
    "well": Questions(
        first=(
            Asked("pump_gpm", "The pump gives", "gal/min"),
            Asked("tank_gal", "The pressure tank holds", "gal", "Its whole size, on its label."),
        ),
        expert=(
            Asked("cut_in_psi", "Starts at", "psi"),
            Asked("cut_out_psi", "Stops at", "psi"),
            Asked("draw_gal", "One use draws about", "gal"),
            Asked("draw_gpm", "A tap runs at", "gal/min", "0 spreads it evenly."),
        ),
        by_hour=("draws_gal_by_hour", "Gallons of water drawn in each hour."),
    ),
    "sump": Questions(
        first=(
            Asked("inflow_gpm", "Water comes in at", "gal/min"),
            Asked("reserve_gal", "From the float’s start to the brim", "gal"),
        ),
        expert=(
            Asked("pump_gpm", "The pump moves", "gal/min"),
            Asked("cycle_gal", "Between the float’s stop and start", "gal"),
        ),
    ),
    "tub": Questions(
        first=(
            Asked("gallons", "Holds", "gal"),
            Asked("setpoint_f", "Thermostat", "°F"),
        ),
        expert=(
            Asked("deadband_f", "Comes on and goes off within", "°F"),
            Asked("open_times", "Loses this many times as much uncovered"),
            Asked("circulation_w", "Its circulation draws", "W"),
            Asked("circulation_share", "Circulates this share of the time"),
        ),
        by_hour=("open_by_hour", "Share of each hour with the cover off."),
    ),
    "backed": Questions(
        first=(
            Asked("share", "Share of its watts", "", "1 is all of it, 0.5 half."),
            Asked("battery_min", "Its battery lasts", "min", "Of this device alone; 180 is 3 h."),
        ),
        expert=(
            Asked("recharge_h", "Recharges in", "h"),
            Asked("efficiency", "Share of the charge that is kept"),
        ),
    ),
}

QUESTIONS: Mapping[str, Questions] = {
    **_STORES,
    "lighting": Questions(
        first=(
            Asked("dark_share", "Lit after dark while people are up", "", "1 is all of it."),
            Asked("day_share", "Lit by day while people are up"),
            Asked("night_share", "Left on in the dark while they sleep or nobody is home"),
        ),
        expert=(
            Asked("up_hour", "People are up from hour", "h", "6.5 is 6:30."),
            Asked("bed_hour", "To bed at hour", "h"),
            Asked("spread_min", "Give or take", "min"),
        ),
    ),
    "tank": Questions(
        first=(
            Asked("gallons", "Holds", "gal"),
            Asked("setpoint_f", "Thermostat", "°F"),
            Asked("heat_pump_w", "Its heat pump draws", "W", "Empty where it has none."),
        ),
        expert=(
            Asked("cop", "Heat for each watt", "", "1 for elements, 2.5 to 3.5 for a heat pump."),
            Asked(
                "boost_below_f", "Element boosts a heat pump this far below the thermostat", "°F"
            ),
            Asked("boost_on_set", "Element may boost on a generator", sort="tick"),
            Asked("deadband_f", "Comes on below the thermostat by", "°F"),
            Asked("loss_btuh_per_f", "Loses", "Btu/h °F", "2 to 4 for a common tank."),
            Asked("inlet_f", "Cold water", "°F"),
            Asked("room_f", "Air around it", "°F"),
            Asked("upper_share", "Share of its water above the upper thermostat"),
            Asked("draw_gal", "One use draws about", "gal"),
            Asked("draw_gpm", "A tap runs at", "gal/min", "0 spreads it evenly."),
        ),
        by_hour=("draws_gal_by_hour", "Gallons of hot water drawn in each hour."),
    ),
    "charger": Questions(
        first=(
            Asked("energy_kwh", "Energy from the wall each day", "kWh", "A mile needs about 0.3."),
            Asked("arrive_hour", "Plugged in at hour", "h", "18.5 is 18:30."),
            Asked("depart_hour", "Leaves at hour", "h"),
        ),
        expert=(
            Asked("setting_a", "Set to", "A", "Empty: all its watts."),
            Asked(
                "battery_kwh",
                "Its battery",
                "kWh",
                "Told: the charge below counts, not the energy.",
            ),
            Asked("arrive_pct", "Arrives charged to", "%"),
            Asked("target_pct", "Wanted when it leaves", "%"),
            Asked(
                "efficiency", "Share of the energy that gets in", "", "0.9 at 240 V, 0.8 at 120 V."
            ),
            Asked("waits", "Waits and is ready just when it leaves", sort="tick"),
            *(Asked(f"leaves.{day.lower()[:3]}", f"Leaves on {day}", sort="tick") for day in _WEEK),
        ),
    ),
    "room": Questions(
        first=(
            Asked("zone_id", "Serves", sort="zone"),
            Asked("mode", "What it does", sort="choice", options=words.MODES),
            Asked(
                "cop",
                "Heat moved for each watt",
                "",
                "1 for an element, 2 to 4 for a heat pump, 20 to 35 for a gas furnace’s blower. "
                "A heat pump without points of its sheet counts the same at every temperature; in "
                "cold it gives less: enter the maker’s points.",
            ),
        ),
        expert=(
            Asked("deadband_f", "Comes on and goes off within", "°F"),
            Asked("stage_drop_f", "Second stage: only past the thermostat by", "°F"),
            Asked("min_off_min", "Stays off at least", "min"),
            Asked("min_on_min", "Stays on at least", "min"),
            Asked("least_share", "Slows down to", "", "1 for one speed, 0.25 for variable speed."),
            Asked("off_above_f", "Stays off while outdoors is above", "°F"),
            Asked("off_below_f", "Stays off while outdoors is below", "°F"),
            Asked("on_generator", "May run on a generator", sort="tick"),
            Asked("defrost_every_min", "Defrosts after running", "min", "0 for never."),
            Asked("defrost_min", "A defrost lasts", "min"),
            Asked("tempers_defrost", "Runs while a heat pump defrosts", sort="tick"),
            Asked("ducted", "Blows through the ducts of an air handler", sort="tick"),
            Asked("own_room_share", "Has a room of its own: share of the zone"),
        ),
        rows=(
            "ratings",
            "Points of its sheet",
            (
                Asked("outdoor_f", "Outdoors", "°F"),
                Asked("capacity_btuh", "Gives", "Btu/h"),
                Asked("cop", "Heat for each watt"),
            ),
        ),
    ),
}
