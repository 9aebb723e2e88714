"""The begun house: choices in, a checked site out, with the built-in days to try it on."""

from __future__ import annotations

from datetime import date
from typing import Any

from server.advise.begin.choices import WAYS, Choices
from server.advise.begin.circuits import circuits_of
from server.advise.begin.places import Placed, place
from server.advise.begin.supply import EDITION, SUN, supply_of
from server.advise.begin.taken import assumed
from server.advise.begin.typical import CLIMATES, FLOOR, LOSS_PER_FT2, USUAL_CLIMATE
from server.domain.behaviour import Zone
from server.domain.circuit import Circuit
from server.domain.edits import new_id, with_changes
from server.domain.site import PLACE_NOT_TOLD, Place, Site
from server.simulate.builtin import builtin_scenarios

HOUSE_ZONE = "house"
"""The zone that heating and cooling of the catalogue serve."""

ONE_HOUSE = "House"


def begin_site(choices: Choices, *, today: date) -> Site:
    """A house that can be run, with every figure that was not told marked as a guess.

    Parameters
    ----------
    choices : Choices   What was chosen.
    today : date        No scenario begins before this day.

    Returns
    -------
    Site   Valid, with circuits in spaces, legs balanced, and the built-in scenarios.
    """
    supply = supply_of(choices)
    placed = place(circuits_of(choices), supply, choices)
    climate = CLIMATES.get(choices.climate or "", USUAL_CLIMATE)
    area_ft2 = choices.floor_area_ft2 or FLOOR.value
    taken = supply.ids() | {HOUSE_ZONE}
    site = Site(
        name=choices.name,
        place=Place(name=choices.place_name or PLACE_NOT_TOLD, latitude_deg=climate.latitude_deg),
        design_low_f=climate.low_f,
        design_high_f=climate.high_f,
        code_edition=EDITION,
        floor_area_ft2=area_ft2,
        people=choices.people,
        note=_note(choices),
        services=tuple(supply.services),
        generators=tuple(supply.generators),
        transfer_switches=tuple(supply.switches),
        double_throws=tuple(supply.throws),
        panels=tuple(
            # One house on two meters: none of them serves a dwelling of its own (220.82(A)).
            p.model_copy(update={"dwelling": ONE_HOUSE}) if WAYS[choices.way].second_meter else p
            for p in supply.panels.values()
        ),
        feeders=tuple(supply.feeders),
        solar=tuple(supply.solar),
        zones=(
            Zone(
                id=HOUSE_ZONE,
                name="House",
                loss_btuh_per_f=round(area_ft2 * LOSS_PER_FT2.value, 1),
                figure_source="guess",
            ),
        ),
        circuits=tuple(_circuits(placed, taken)),
    )
    return with_changes(site, scenarios=builtin_scenarios(site, start=today))


def _circuits(placed: tuple[Placed, ...], taken: set[str]) -> list[Circuit]:
    made: list[Circuit] = []
    for at in placed:
        draft = at.draft
        circuit_id = new_id(draft.name, taken)
        taken.add(circuit_id)
        fields: dict[str, Any] = {
            "id": circuit_id,
            "name": draft.name,
            "panel_id": at.panel_id,
            "poles": draft.poles,
            "spaces": at.spaces,
            "breaker_a": draft.breaker_a,
            "continuous": draft.continuous,
            "load_class": draft.load_class,
            "allowed_gap_min": draft.gap_min,
            "own_battery_min": draft.battery_min,
            "outage_role": at.role,
            "area": draft.area,
            "appliances": tuple(r.appliance for r in draft.riders),
        }
        made.append(Circuit.model_validate(fields))
    return made


def _note(choices: Choices) -> str:
    """What is known of the house and what is not, for whoever opens the file."""
    text = (
        f"Begun by the guided start: {WAYS[choices.way].name.lower()}. Circuits, spaces, breakers "
        "and watts are typical values until somebody reads the panel and the nameplates."
    )
    if taken := assumed(choices):
        text += f" Taken, for nobody told: {'; '.join(f'{a.name} {a.words}' for a in taken)}."
    if choices.solar and WAYS[choices.way].id in {"whole-house", "portable"}:
        text += (
            f" Solar is drawn on a disconnect of its own ({SUN}) ahead of the switch, where the "
            "generator cannot reach it. If its breaker is in the main panel, move it there on "
            "Supply: that is a hazard, and the findings will say so."
        )
    return text
