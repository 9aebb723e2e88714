"""A scenario as a form, and back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.web import words
from server.web.forms import Form, checked_with, flat, nested
from server.web.percents import percents_of, shares_in

OPTIONAL = (
    "people",
    "oil_stop_min",
    "pit_inflow_gpm",
    "energy_kwh",
    "state",
    "tries",
    "fuel_share",
    "set_id",
)
TEXTS = ("name", "note", "proves")
_OWN_FUEL = re.compile(r"own_sets\.[0-9]+\.fuel_share")
PERCENTS = ("fuel_at_start_share", "weather.sun_share")
"""Shares that a person writes in per cent."""

SPARE = 1
"""Empty rows shown after the last of each list."""

_FIELDS = frozenset(Scenario.model_fields) - {"id"}
_LISTS = (
    "outages",
    "switch_moves",
    "hand_windows",
    "kept_off",
    "events",
    "generator_stops",
    "generator_exercise",
    "deliveries",
    "own_sets",
)


@dataclass(frozen=True)
class ScenarioOptions:
    """What the lists of a scenario form can name on this site, and whether a car charges here."""

    sets: words.Options
    any_sets: words.Options
    double_throws: words.Options
    by_hand: words.Options
    circuits: words.Options
    appliances: words.Options
    charges: bool


def options_of(site: Site) -> ScenarioOptions:
    """Double-throws, circuits a person switches, and appliances that runs can start."""
    nothing = (("", "choose"),)
    return ScenarioOptions(
        sets=(*nothing, *((g.id, g.name) for g in site.generators)),
        any_sets=(("", "every set"), *((g.id, g.name) for g in site.generators)),
        double_throws=(*nothing, *((d.id, d.name) for d in site.double_throws)),
        by_hand=(*nothing, *((c.id, c.name) for c in site.circuits if c.outage_role == "by_hand")),
        circuits=(*nothing, *((c.id, c.name) for c in site.circuits)),
        appliances=(
            *nothing,
            *(
                (a.id, f"{a.name}, {c.name}" if a.name != c.name else a.name)
                for c in site.circuits
                for a in c.appliances
                if a.behaviour.model in {"timed", "charger"}
            ),
        ),
        charges=any(a.behaviour.model == "charger" for c in site.circuits for a in c.appliances),
    )


def form_of(scenario: Scenario) -> Form:
    """A saved scenario as a form; times as a datetime field holds them."""
    values = flat(scenario.model_dump(mode="json", include=set(_FIELDS)))
    shown = percents_of(values, _percents(values))
    return Form({name: _short_time(text) for name, text in shown.items()})


def _percents(values: Mapping[str, str]) -> tuple[str, ...]:
    return (*PERCENTS, *(name for name in values if _OWN_FUEL.fullmatch(name)))


def _short_time(text: str) -> str:
    is_time = len(text) == len("2026-11-26T17:30:00") and text[10] == "T" and text[13] == ":"
    return text.removesuffix(":00") if is_time else text


def scenario_from(values: Mapping[str, str], base: Scenario) -> Scenario:
    """The scenario that was typed, over the one it began from.

    Raises
    ------
    SiteFileError   With the problems, named by field.
    """
    mine = {name: text for name, text in values.items() if name.split(".")[0] in _FIELDS}
    mine, wrong = shares_in(mine, _percents(mine))
    document = nested(mine, optional=OPTIONAL, texts=TEXTS)
    for name in _LISTS:
        rows = document.get(name, [])
        document[name] = [r for r in rows if _is_filled(r)] if isinstance(rows, list) else rows
    weather = document.get("weather", {})
    if isinstance(weather, dict):
        weather = base.weather.model_dump() | weather
    document = base.model_dump() | document | {"id": base.id, "weather": weather}
    return checked_with(wrong, Scenario, document)


def _is_filled(row: object) -> bool:
    if isinstance(row, dict):
        return any(_is_filled(part) for key, part in row.items() if key != "position")
    return row not in {"", None}


def filled_rows(values: Mapping[str, str], name: str) -> tuple[int, ...]:
    """Numbers of the rows of a list that hold something, as they were typed.

    >>> filled_rows({"outages.0.start": "", "outages.2.start": "2027-09-20T09:00"}, "outages")
    (2,)
    """
    rows = {
        int(parts[1])
        for field, text in values.items()
        if len(parts := field.split(".")) > 2
        and parts[0] == name
        and parts[1].isdecimal()
        and parts[-1] != "position"
        and text
    }
    return tuple(sorted(rows))
