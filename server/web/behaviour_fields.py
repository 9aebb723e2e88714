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
    sort: Literal["number", "tick", "choice", "zone"] = "number"
    options: Options = ()


@dataclass(frozen=True)
class Questions:
    """The fields anyone can answer, those for an expert, and lists if any."""

    first: tuple[Asked, ...]
    expert: tuple[Asked, ...] = ()
    by_hour: tuple[str, str] | None = None
    rows: tuple[str, str, tuple[Asked, ...]] | None = None


QUESTIONS: Mapping[str, Questions] = {
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
    "room": Questions(
        first=(
            Asked("zone_id", "Serves", sort="zone"),
            Asked("mode", "What it does", sort="choice", options=words.MODES),
            Asked(
                "cop",
                "Heat moved for each watt",
                "",
                "1 for an element, 2 to 4 for a heat pump, 20 to 35 for a gas furnace’s blower.",
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
