"""What the choices of a site document are called on a page."""

from __future__ import annotations

from collections.abc import Mapping

Options = tuple[tuple[str, str], ...]

LOAD_CLASSES: Options = (
    ("must_serve", "must-serve"),
    ("important", "important"),
    ("comfort", "comfort"),
    ("deferrable", "deferrable"),
)
OUTAGE_ROLES: Options = (
    ("on", "on"),
    ("managed", "managed"),
    ("by_hand", "by hand"),
    ("off", "off"),
)
BREAKER_TYPES: Options = (
    ("standard", "standard"),
    ("afci", "arc-fault"),
    ("gfci", "ground-fault"),
    ("dual_function", "arc- and ground-fault"),
    ("tandem", "tandem"),
)
CIRCUIT_PLACES: Options = (
    ("dwelling", "in a dwelling"),
    ("outbuilding", "in an outbuilding"),
    ("common_area", "in a common area of several dwellings"),
)
GROUNDINGS: Options = (
    ("four_wire", "own ground wire"),
    ("three_wire_old", "old three-wire, no ground wire"),
)
WIRE_SIZES: Options = (
    ("", "not read"),
    *((size, size) for size in ("14", "12", "10", "8", "6", "4", "3", "2", "1")),
    *((size, size) for size in ("1/0", "2/0", "3/0", "4/0")),
)
WIRE_METALS: Options = (("copper", "copper"), ("aluminum", "aluminum"))
POLES: Options = (("1", "1 pole, 120 V"), ("2", "2 poles, 240 V"))
HALVES: Options = (("", "whole space"), ("a", "half a of a tandem"), ("b", "half b of a tandem"))
VOLTS: Options = (("120", "120 V"), ("240", "240 V"))
ON_POLES: Options = (("1", "first pole, lower space"), ("2", "second pole, higher space"))
FIGURE_SOURCES: Options = (
    ("nameplate", "read off the nameplate"),
    ("measured", "measured"),
    ("guess", "a guess"),
)
SOURCE_TAGS: Mapping[str, str] = {"nameplate": "nameplate", "measured": "measured", "guess": ""}
LOAD_TYPES: Options = (
    ("resistance", "heating element"),
    ("motor", "motor or compressor"),
    ("electronic", "electronic"),
)
RESTARTS: Options = (("by_itself", "by itself"), ("by_hand", "only by hand"))
MODELS: Options = (
    ("constant", "always on"),
    ("hourly", "by the hour of the day"),
    ("lighting", "lights"),
    ("cycle", "on and off in turns"),
    ("timed", "a run in stages"),
    ("charger", "a car charger"),
    ("tank", "a water tank with a thermostat"),
    ("room", "heats or cools rooms by a thermostat"),
    ("cold_box", "keeps food cold"),
    ("well", "a well pump with a pressure tank"),
    ("sump", "a pump that empties a pit"),
    ("tub", "a hot tub"),
    ("backed", "always on, with a battery of its own"),
)
STANDS: Options = (
    ("zone", "in the house, as warm as it is"),
    ("outdoors", "outdoors, or in a garage or shed without heat"),
    ("own", "in a room that stays as warm as it is"),
)
FIRST_ZONE = "the first that is heated or cooled"
MODES: Options = (("heat", "heats"), ("cool", "cools"), ("fan", "only blows"))
CODE_EDITIONS: Options = tuple((year, f"NEC {year}") for year in ("2017", "2020", "2023", "2026"))
FUEL_RATES: Options = (
    ("", "gal/h, or 1000 Btu/h of natural gas"),
    ("gal/h", "gal/h"),
    ("ft3/h", "ft³/h of gas or propane vapour"),
    ("Btu/h", "Btu/h"),
    ("kBtu/h", "1000 Btu/h"),
)
FUELS: Options = (
    ("propane", "propane"),
    ("natural_gas", "natural gas"),
    ("gasoline", "gasoline"),
    ("diesel", "diesel"),
)
SERVICE_SYSTEMS: Options = (("120/240", "120/240 V"), ("120/208", "120/208 V"))
SET_SYSTEMS: Options = (*SERVICE_SYSTEMS, ("120", "120 V only"))
PLACES_OF_SET: Options = (("off", "fixed in its place"), ("on", "portable, wheeled out"))
STARTS: Options = (("automatic", "by itself"), ("by_hand", "by hand"))
SWITCH_KINDS: Options = (
    ("automatic", "by itself"),
    ("manual", "by hand, all at once"),
    ("interlock", "by hand, an interlock at the main"),
    ("handles", "by hand, a handle for each circuit"),
)
SWITCH_POLES: Options = (("1", "1"), ("2", "2"), ("3", "3, with the neutral"))
THROW_POLES: Options = (("2", "2"), ("3", "3, with the neutral"))
METALS: Options = (("copper", "copper"), ("aluminum", "aluminum"))
GENERATOR_STATES: Options = (
    ("ready", "starts and runs"),
    ("fails", "does not start"),
    ("absent", "is not used"),
)
OWN_STATES: Options = (("", "as every set"), *GENERATOR_STATES)
ROADS: Options = (
    ("open", "open: fuel can be fetched"),
    ("closed", "closed: only what is at hand"),
)
STEPS: Options = (
    ("10", "10 s"),
    ("30", "30 s"),
    ("60", "1 minute"),
    ("300", "5 minutes"),
    ("900", "15 minutes"),
)
TRACE_STATES: Options = (
    ("not_yet", "not traced yet"),
    ("traced", "traced"),
    ("unsure", "not sure"),
)
RESTING: Options = (("normal", "NORMAL"), ("backed_up", "BACKED-UP"))


def said(options: Options, value: str) -> str:
    """The words for one value.

    >>> said(LOAD_CLASSES, "must_serve")
    'must-serve'
    """
    return dict(options).get(value, value)


CONTROL_WAYS = (
    ("setting", "sheds in order above the amps it is held at"),
    ("interlock", "never two at once: the last to be shed goes first"),
    ("turns", "one at a time: whichever began, the others wait"),
)
