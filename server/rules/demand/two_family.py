"""Two dwelling units on one feeder or service (220.85): three identical units of 220.84."""

from __future__ import annotations

from dataclasses import replace

from server.domain.errors import InputError
from server.rules.demand.general import (
    carried,
    general_lines,
    outlet_cite,
    setting_lines,
    vehicle_line,
)
from server.rules.demand.inputs import BY_OUTLET, HEATING, HVAC, Dwelling, Load, sum_va
from server.rules.demand.motors import by_plate
from server.rules.demand.standard import standard, with_standard_legs
from server.rules.demand.worksheet import Line, Worksheet
from server.rules.editions import Rulebook
from server.rules.words import percent

METHOD = "two_family"
IMAGINED = 3
"""Identical units the two are compared with (220.85)."""


def two_family(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    """Demand of two dwelling units as of three like the larger, by Table 220.84.

    It may be used where it comes to less than the standard method. What the two share is added by
    the standard method (220.84(B)). Of unlike units the one with more connected counts thrice
    (common practice, no source: the section speaks of identical ones). Where neither cooks
    electrically each of the three counts as much as an electric range besides, by the exception of
    220.84(A)(2), by which the section has the three reckoned too.

    Parameters
    ----------
    dwelling : Dwelling   What both come to, with each of the two, and what they share, beside it.

    Raises
    ------
    InputError   For other than two units, or where one has no electric cooking while the other
                 has, or neither electric heating nor cooling (220.84(A)).
    """
    factor = rules.figure("two_family_factor")
    if len(dwelling.dwellings) != 2:
        raise InputError(
            f"This method is for two dwelling units ({factor.cite.section}); "
            f"{dwelling.name} carries {len(dwelling.dwellings)}.",
            field="units",
        )
    whole, dwelling = dwelling, outbuildings_apart(dwelling)
    none_cooks = not any(map(cooks, dwelling.dwellings))
    for unit in dwelling.dwellings:
        must_qualify(unit, rules, "two dwellings", cooking=not none_cooks)
    larger = max(
        dwelling.dwellings, key=lambda u: sum(x.connected_va for x in unit_lines(u, rules, 1))
    )
    lines = unit_lines(larger, rules, IMAGINED)
    if none_cooks:
        lines.append(cooking_taken_line(IMAGINED, rules))
    connected = sum(line.connected_va for line in lines)
    lines.append(
        Line(
            f"{percent(factor.value)} of the {connected:,.0f} VA of three units",
            1,
            connected,
            "VA",
            connected,
            factor.value,
            connected * factor.value,
            factor.cite,
        )
    )
    if rules.on("optional_vehicle_outside"):
        lines += [vehicle_line(d, 1.0, rules) for u in dwelling.dwellings for d in u.of("vehicle")]
    lines += setting_lines(dwelling, rules)
    lines += shared_lines(
        dwelling,
        rules,
        "What the two share or have in outbuildings"
        if whole is not dwelling
        else "What the two share",
    )
    return with_standard_legs(
        whole,
        rules,
        method=METHOD,
        title=f"{dwelling.name}, two dwellings as three like {larger.name}",
        lines=tuple(lines),
        notes=(
            f"The lesser of this and the standard method counts ({factor.cite.section}).",
            *((none_cooks_note(rules),) if none_cooks else ()),
            f"Legs and neutral are by the standard method ({rules.load_article}.61).",
        ),
    )


def outbuildings_apart(dwelling: Dwelling) -> Dwelling:
    """Several dwellings with what stands in the outbuildings of each among what they share.

    It is of no dwelling unit, so no table of units takes it; it counts once and in full by the
    standard method (220.84(B), from memory). What a setting holds stays where that is.
    """

    def stays(unit: Dwelling, load: Load) -> bool:
        return not load.outbuilding or load.group in unit.held_groups

    moved = tuple(d for u in dwelling.dwellings for d in u.loads if not stays(u, d))
    if not moved:
        return dwelling
    shared = dwelling.shared or Dwelling(
        "What stands in outbuildings",
        0.0,
        small_appliance_circuits=0,
        laundry_circuits=0,
        volts=dwelling.volts,
        whole=False,
        is_service=False,
    )
    return replace(
        dwelling,
        dwellings=tuple(
            replace(u, loads=tuple(d for d in u.loads if stays(u, d))) for u in dwelling.dwellings
        ),
        shared=replace(shared, loads=(*shared.loads, *moved)),
    )


def shared_lines(dwelling: Dwelling, rules: Rulebook, label: str) -> list[Line]:
    """What belongs to no unit, by the standard method and added in full (220.84(B))."""
    if dwelling.shared is None:
        return []
    house = standard(dwelling.shared, rules).total_va
    cite = rules.figure("house_load_factor").cite
    return [Line(label, 1, house, "VA", house, 1.0, house, cite, "by the standard method")]


def cooking_taken_line(units: int, rules: Rulebook) -> Line:
    """The cooking that each of so many units counts for where none has any (220.84(A)(2))."""
    taken = rules.figure("cooking_taken_va")
    return carried(
        "Electric cooking, as if each had it",
        quantity=units,
        each=taken.value,
        unit="VA",
        cite=taken.cite,
        note="none of them cooks electrically",
    )


def none_cooks_note(rules: Rulebook) -> str:
    """Why cooking counts that nobody has."""
    section = rules.figure("cooking_taken_va").cite.section
    return f"None cooks electrically, so the lesser counts ({section})."


def cooks(unit: Dwelling) -> bool:
    """Whether a unit has electric cooking equipment (220.84(A)(2))."""
    return any(d.category == "cooking" for d in unit.loads)


def must_qualify(unit: Dwelling, rules: Rulebook, of: str, *, cooking: bool = True) -> None:
    """Refuse a unit without electric cooking, or with neither electric heating nor cooling.

    ``cooking`` False does not ask for cooking, where an exception lifts that.

    Raises
    ------
    InputError   Where 220.84(A) does not let the method ``of`` so many dwellings be used.
    """
    section = f"{rules.load_article}.84(A)"
    if cooking and not cooks(unit):
        raise InputError(
            f"The method for {of} asks for electric cooking in each ({section}); "
            f"{unit.name} has none. Use the standard method.",
            field="method",
        )
    if not any(d.category in (*HEATING, "cooling") for d in unit.loads):
        raise InputError(
            f"The method for {of} asks for electric heating or cooling in each "
            f"({section}); {unit.name} has neither. Use the standard method.",
            field="method",
        )


def unit_lines(unit: Dwelling, rules: Rulebook, count: int) -> list[Line]:
    """Connected load of so many units like this one, all carried to the factor (220.84(C))."""
    cite = rules.figure("two_family_connected").cite
    own = [rules.figure(n).cite for n in ("two_family_lighting", *("two_family_circuits",) * 2)]
    general = general_lines(replace(unit, units=count), rules, "lighting_va_per_ft2")
    lines = [replace(line, cite=c) for line, c in zip(general, own, strict=True)]

    def add(load: Load, note: str = "") -> Line:
        of_it = outlet_cite(load, rules) if load.category in BY_OUTLET else cite
        quantity = load.quantity * count
        return carried(
            load.name,
            quantity=quantity,
            each=load.va,
            unit="VA",
            cite=of_it,
            note=note or by_plate(load, unit.volts, rules),
        )

    lines += [add(d) for d in unit.of("cooking", "dryer", "fastened", "individual", *BY_OUTLET)]
    if not rules.on("optional_vehicle_outside"):
        lines += [
            vehicle_line(replace(d, quantity=d.quantity * count), None, rules)
            for d in unit.of("vehicle")
        ]
    heat, cool = unit.of(*HEATING), unit.of("cooling")
    side = heat if sum_va(heat) >= sum_va(cool) else cool
    lines += [add(d, "larger of heating and cooling") for d in side]
    lines += [add(d, "runs with both") for d in unit.of(*HVAC) if d.category == "air_handler"]
    return lines
