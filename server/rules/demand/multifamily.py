"""Three or more dwelling units on one feeder or service (220.84)."""

from __future__ import annotations

from dataclasses import replace

from server.domain.errors import InputError
from server.rules.demand.general import setting_lines, vehicle_line
from server.rules.demand.inputs import Dwelling
from server.rules.demand.standard import with_standard_legs
from server.rules.demand.two_family import (
    cooking_taken_line,
    cooks,
    must_qualify,
    none_cooks_note,
    outbuildings_apart,
    shared_lines,
    unit_lines,
)
from server.rules.demand.worksheet import Line, Worksheet
from server.rules.editions import Rulebook
from server.rules.words import percent

METHOD = "multifamily"
LEAST_UNITS = 3
"""The method is for more than two units (220.84(A))."""
OF = "three or more dwellings"


def multifamily(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    """Demand of three or more dwelling units by Table 220.84, with what they share added.

    It may be used in place of the standard method. The larger of heating and cooling counts unit
    by unit, which is never less than over all of them (common practice, no source). Where none of
    them cooks electrically each counts as much as an electric range besides, by the exception of
    220.84(A)(2), which lets the lesser of this and the standard method be used.

    Parameters
    ----------
    dwelling : Dwelling   What all of them come to, with each unit and what they share beside it.

    Raises
    ------
    InputError   For two units or fewer, or where one is supplied by several feeders, has no
                 electric cooking while another has, or neither electric heating nor cooling
                 (220.84(A)).
    """
    tiers, cite = rules.tiers("multifamily_factors")
    whole, dwelling = dwelling, outbuildings_apart(dwelling)
    units = dwelling.dwellings
    if len(units) < LEAST_UNITS:
        raise InputError(
            f"This method is for {OF} ({cite.section}); {dwelling.name} carries {len(units)}.",
            field="units",
        )
    none_cooks = not any(map(cooks, units))
    for unit in units:
        if unit.feeders > 1:
            raise InputError(
                f"The method for {OF} asks for no more than one feeder to each "
                f"({rules.load_article}.84(A)); {unit.name} has {unit.feeders}. Use the standard "
                "method.",
                field="method",
            )
        must_qualify(unit, rules, OF, cooking=not none_cooks)
    lines = [
        replace(line, label=f"{unit.name}: {line.label}")
        for unit in units
        for line in unit_lines(unit, rules, 1)
    ]
    if none_cooks:
        lines.append(cooking_taken_line(len(units), rules))
    connected = sum(line.connected_va for line in lines)
    factor = next(t.factor for t in tiers if len(units) <= t.up_to_va)
    words = f"{percent(factor)} of the {connected:,.0f} VA of {len(units)} units"
    va = connected * factor
    lines.append(Line(words, 1, connected, "VA", connected, factor, va, cite))
    if rules.on("optional_vehicle_outside"):
        lines += [vehicle_line(d, 1.0, rules) for u in units for d in u.of("vehicle")]
    lines += setting_lines(dwelling, rules)
    lines += shared_lines(
        dwelling,
        rules,
        "What they share or have in outbuildings" if whole is not dwelling else "What they share",
    )
    return with_standard_legs(
        whole,
        rules,
        method=METHOD,
        title=f"{dwelling.name}, {len(units)} dwellings by their table",
        lines=tuple(lines),
        notes=(
            f"It may be used in place of the standard method ({cite.section}).",
            *((none_cooks_note(rules),) if none_cooks else ()),
            f"Legs and neutral are by the standard method ({rules.load_article}.61).",
        ),
    )
