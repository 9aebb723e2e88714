"""Chargers of vehicles that may share power between them, and count together until that is told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.rules.demand.circuit_loads import category_of
from server.rules.demand.reach import Carried
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook
from server.rules.words import listed


def sharing_notes(carried: Iterable[Carried], sheet: Worksheet, rules: Rulebook) -> Iterator[str]:
    """That chargers under no load manager count together, and what counts where they share."""
    told = {line.label for line in sheet.lines}
    cars = [
        a.name
        for c in carried
        if c.circuit.energy_group_id is None
        for a in c.circuit.appliances
        if category_of(a) == "vehicle" and a.volts > 120 and a.name in told
    ]
    if len(cars) < 2:
        return
    section = rules.figure("vehicle_shared_setting").cite.section
    yield (
        f"{listed(cars)} count together. Where they share power between them, under management "
        f"that is listed for it, what it lets on counts in place of their sum ({section}): enter "
        "it as a load manager with its setting, measured at its own circuits together."
    )
