"""Which questions the form of each part of the supply asks: the everyday ones, then the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from server.domain.current_path import SupplyGroup
from server.web import words

Kind = Literal["number", "text", "choice", "tick", "spaces", "area"]


@dataclass(frozen=True)
class Ask:
    """One question: a field of the part by its dotted name, as a person is asked for it."""

    name: str
    label: str
    unit: str = ""
    kind: Kind = "number"
    options: words.Options = ()
    hint: str = ""


@dataclass(frozen=True)
class Asks:
    """The questions of one group. ``lists`` are groups of rows that the template draws itself.

    ``of_list`` is asked above the rows of the first of them.
    """

    everyday: tuple[Ask, ...]
    more: tuple[tuple[str, tuple[Ask, ...]], ...]
    lists: tuple[str, ...] = ()
    of_list: tuple[Ask, ...] = ()

    @property
    def all(self) -> tuple[Ask, ...]:
        """Every question, without those of the lists."""
        return (*self.everyday, *(ask for _, asks in self.more for ask in asks), *self.of_list)

    @property
    def percents(self) -> tuple[str, ...]:
        """Fields that are stored as shares and asked for in per cent."""
        return tuple(ask.name for ask in self.all if ask.unit == "%")


NAME = Ask("name", "What it is called", kind="text")
SOURCE = Ask("figure_source", "These figures are", kind="choice", options=words.FIGURE_SOURCES)
FORMS = Ask("grid_forming", "Can form its own grid", kind="tick")
PARTED = Ask("parted", "A listed switch opens the utility first", kind="tick")
NOTE = Ask("note", "Note", kind="area")


def _upper_space(what: str) -> Ask:
    return Ask(
        "spaces", f"Upper space of {what}", kind="spaces", hint="It takes the one below too."
    )


ASKS: Mapping[SupplyGroup, Asks] = {
    "services": Asks(
        (NAME, Ask("main_a", "Main breaker", "A", hint="Printed on its handle."), SOURCE),
        (
            (
                "The meter and the utility",
                (
                    Ask("meter_socket_a", "Meter socket", "A", hint="On its label."),
                    Ask("system", "Voltage", kind="choice", options=words.SERVICE_SYSTEMS),
                    Ask("fault_current_a", "Fault current", "A", hint="Ask the utility for it."),
                    Ask(
                        "building_feeder",
                        "It is a feeder from the building’s service",
                        kind="tick",
                        hint="As an apartment has: the breaker above is in the building’s gear.",
                    ),
                ),
            ),
            ("Note", (NOTE,)),
        ),
    ),
    "generators": Asks(
        (
            NAME,
            Ask(
                "rated_kw",
                "Running power",
                "kW",
                hint="The running figure, not the surge; 12,000 W are 12 kW.",
            ),
            Ask("fuel", "Fuel", kind="choice", options=words.FUELS),
            Ask("tank.capacity_gal", "Tank and cans hold", "gal", hint="Empty: none (piped gas)."),
            Ask("portable", "It is", kind="choice", options=words.PLACES_OF_SET),
            Ask("start", "It starts", kind="choice", options=words.STARTS),
            SOURCE,
        ),
        (
            (
                "Fuel on hand",
                (
                    Ask("tank.fill_share", "Filled to at most", "%", hint="Propane: 80."),
                    Ask("tank.reserve_share", "Kept in reserve", "%"),
                    Ask(
                        "tank.vessels",
                        "In how many vessels",
                        hint="Propane cylinders side by side each give gas. A tank: 1.",
                    ),
                    Ask(
                        "tank.other_btu_h",
                        "Other appliances on it",
                        "Btu/h",
                        hint="A mean of day and night, as a furnace’s plate × share of the "
                        "time it burns. 0: none.",
                    ),
                ),
            ),
            (
                "On natural gas",
                (
                    Ask(
                        "gas_meter_btu_h",
                        "Gas meter and pipe carry",
                        "Btu/h",
                        hint="The lesser of the two. A meter’s ft³/h × about 1039.",
                    ),
                    Ask(
                        "other_gas_btu_h",
                        "All other gas appliances",
                        "Btu/h",
                        hint="The inputs on their plates, added up; 0: none.",
                    ),
                ),
            ),
            (
                "Plate and outlet",
                (
                    Ask("rated_kva", "Apparent power", "kVA", hint="Empty: as the kW."),
                    Ask("system", "Voltage", kind="choice", options=words.SET_SYSTEMS),
                    Ask("breaker_a", "Its own breaker", "A"),
                    Ask(
                        "start_kva_limit",
                        "Largest motor start",
                        "kVA",
                        hint="Its maker or dealer says it; the field beside is then not needed.",
                    ),
                    Ask(
                        "reactance_pu",
                        "Sag at a start",
                        "per unit",
                        hint="Called transient reactance X′d on its data sheet. Empty: 0.25.",
                    ),
                    Ask("neutral_bonded", "Neutral bonded at the set", kind="tick"),
                ),
            ),
            (
                "A portable set",
                (
                    Ask("receptacle_a", "Its receptacle", "A"),
                    Ask("cord_a", "The cord", "A"),
                    Ask("inlet_a", "The inlet on the house", "A"),
                ),
            ),
            (
                "Starting",
                (
                    Ask("start_delay_s", "Ready after", "s"),
                    Ask("retry_s", "If it does not catch, tries again after", "s"),
                    Ask("cool_down_min", "Cools down for", "min"),
                    Ask("oil_check_h", "Oil is checked every", "h"),
                ),
            ),
            (
                "Less power up high and in heat",
                (
                    Ask("altitude_derate_per_1000ft", "Lost for each 1000 ft", "%"),
                    Ask("altitude_free_ft", "above", "ft"),
                    Ask("heat_derate_per_10f", "Lost for each 10 °F", "%"),
                    Ask("heat_free_f", "above", "°F"),
                ),
            ),
            ("Note", (NOTE,)),
        ),
        ("fuel_points",),
        (
            Ask(
                "fuel_rate_in",
                "The sheet tells it in",
                kind="choice",
                options=words.FUEL_RATES,
            ),
        ),
    ),
    "transfer_switches": Asks(
        (
            NAME,
            Ask("kind", "How it changes over", kind="choice", options=words.SWITCH_KINDS),
            Ask("rating_a", "Rating", "A", hint="On its label. Of an interlock: the panel’s main."),
            SOURCE,
        ),
        (
            (
                "The neutral and the service",
                (
                    Ask("service_rated", "Rated as service equipment", kind="tick"),
                    Ask("switches_neutral", "Switches the neutral too", kind="tick"),
                    Ask("poles", "Poles", kind="choice", options=words.SWITCH_POLES),
                    Ask("withstand_a", "Withstands a fault of", "A"),
                ),
            ),
            (
                "In its panel",
                (
                    Ask(
                        "spaces",
                        "Upper space of the back-fed breaker",
                        kind="spaces",
                        hint="Of an interlock: where its kit puts it, most often next to the main.",
                    ),
                ),
            ),
            (
                "Its times",
                (
                    Ask("transfer_delay_s", "Waits before it transfers", "s"),
                    Ask("return_delay_min", "Waits before it goes back", "min"),
                    Ask("motion_s", "Moves for", "s"),
                ),
            ),
            ("Note", (NOTE,)),
        ),
        ("handles",),
    ),
    "double_throws": Asks(
        (
            NAME,
            Ask("rating_a", "Rating", "A", hint="On its label."),
            Ask("resting", "It rests on", kind="choice", options=words.RESTING),
            SOURCE,
        ),
        (
            (
                "The neutral",
                (
                    Ask("switches_neutral", "Switches the neutral too", kind="tick"),
                    Ask("poles", "Poles", kind="choice", options=words.THROW_POLES),
                    Ask("motion_s", "A throw takes", "s"),
                ),
            ),
            ("Note", (NOTE,)),
        ),
    ),
    "panels": Asks(
        (
            NAME,
            Ask("rating_a", "Bus rating", "A", hint="On the label inside the door."),
            Ask("spaces", "Spaces for breakers", hint="Full-width places, both columns."),
            SOURCE,
        ),
        (
            (
                "Its main and its place",
                (
                    Ask("main_a", "Own main breaker", "A", hint="Empty: lugs only."),
                    Ask("neutral_bonded", "Neutral and ground joined here", kind="tick"),
                    Ask("detached_building", "In a detached building", kind="tick"),
                    Ask("location", "Where it hangs", kind="text"),
                ),
            ),
            (
                "From its label",
                (
                    Ask(
                        "tandem_spaces",
                        "Spaces made for tandems",
                        kind="text",
                        hint="Such as 17-24, 30.",
                    ),
                    Ask("interrupting_a", "Interrupting rating", "A"),
                    Ask("floor_area_ft2", "Lights and plugs of", "ft²"),
                    Ask(
                        "dwelling",
                        "Dwelling it supplies",
                        kind="text",
                        hint="Where two share a service or a feeder, such as Downstairs, or where "
                        "a house has two services: then one name on all its panels.",
                    ),
                ),
            ),
            ("Note", (NOTE,)),
        ),
    ),
    "feeders": Asks(
        (
            NAME,
            Ask(
                "breaker_a",
                "Breaker where it starts",
                "A",
                hint="Empty: none there. A disconnect outside, at the meter, is entered here, and "
                "the main in the panel there.",
            ),
            Ask("ampacity_a", "Its wires carry", "A", hint="Empty: not known."),
            SOURCE,
        ),
        (
            (
                "Breaker and neutral",
                (
                    _upper_space("that breaker"),
                    Ask("full_rated", "Breaker rated 100 %", kind="tick"),
                    Ask("neutral_ampacity_a", "Its neutral carries", "A"),
                    Ask("no_neutral", "No neutral: two hots and a ground", kind="tick"),
                    Ask("swap_legs", "Legs crossed: L1 lands on L2", kind="tick"),
                ),
            ),
            ("Note", (NOTE,)),
        ),
        ("segments",),
    ),
    "solar": Asks(
        (
            NAME,
            Ask("ac_kw", "Inverter", "kW ac"),
            Ask("dc_kw", "Panels on the roof", "kW dc"),
            SOURCE,
        ),
        (
            (
                "Where it ties in",
                (
                    Ask("breaker_a", "Its breaker", "A"),
                    _upper_space("that breaker"),
                    Ask("grid_following", "Needs the grid to run", kind="tick"),
                    Ask("reconnect_s", "Rejoins the grid after", "s"),
                ),
            ),
            (
                "The roof",
                (
                    Ask("tilt_deg", "Tilt", "°", hint="0 lies flat."),
                    Ask("azimuth_deg", "Faces", "°", hint="90 is east, 180 south."),
                    Ask("losses_share", "Lost on the way", "%"),
                ),
            ),
            ("Note", (NOTE,)),
        ),
    ),
    "batteries": Asks(
        (
            NAME,
            Ask("usable_kwh", "Usable energy", "kWh"),
            Ask("inverter_kw", "Inverter", "kW"),
        ),
        (
            ("In an outage", (FORMS, PARTED)),
            ("Note", (NOTE,)),
        ),
    ),
}

OPTIONAL = (
    "rated_kva",
    "breaker_a",
    "receptacle_a",
    "cord_a",
    "inlet_a",
    "reactance_pu",
    "start_kva_limit",
    "oil_check_h",
    "gas_meter_btu_h",
    "other_gas_btu_h",
    "fuel_rate_in",
    "load_kw",
    "load_pct",
    "meter_socket_a",
    "fault_current_a",
    "withstand_a",
    "main_a",
    "interrupting_a",
    "floor_area_ft2",
    "ampacity_a",
    "neutral_ampacity_a",
    "neutral_size",
    "ground_size",
)
TEXTS = (
    "name",
    "note",
    "location",
    "dwelling",
    "size",
    "neutral_size",
    "ground_size",
    "insulation",
    "raceway",
)
