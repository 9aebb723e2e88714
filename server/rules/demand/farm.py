"""A farm on one service (Part V): the dwelling by its own method, and the farm loads beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from server.domain.errors import InputError
from server.rules.demand.general import carried
from server.rules.demand.inputs import HEATING, Dwelling, FarmBuilding
from server.rules.demand.motors import by_table
from server.rules.demand.optional import optional
from server.rules.demand.standard import standard, with_standard_legs
from server.rules.demand.worksheet import Line, Worksheet
from server.rules.editions import Rulebook
from server.rules.words import percent

METHOD = "farm"
FOR_NEW_WORK = (METHOD, "standard", "optional", "two_family", "multifamily")
"""Methods that size conductors, each from the loads of a site."""
WITH_DWELLING, WITHOUT = ", farm with its dwelling", ", farm buildings"
"""How the titles end of sheets that carry a farm with its dwelling, or without one."""
STANDARD, OPTIONAL = "standard method", "optional method"
PLACES = ("Largest farm load", "Second largest farm load", "Third largest farm load")


def farm(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    """Demand of a farm: its loads by Tables 220.102 and 220.103, and the dwelling added to them.

    Each building is one load. The dwelling counts by the standard method, or by the optional one
    where that may be used and comes to less (220.102(A)). On a service of a farm without its
    dwelling the farm loads stand alone, with what else hangs there by the standard method.

    Raises
    ------
    InputError   Where nothing is in a farm building, several dwellings are carried, or not all of
                 one.
    """
    cite = rules.figure("farm_dwelling").cite
    if not dwelling.farm_buildings:
        raise InputError(f"{dwelling.name} carries no farm building.", field="method")
    if not dwelling.of_a_farm or dwelling.dwellings:
        raise InputError(
            f"The farm’s method is for conductors that carry one whole farm dwelling and its "
            f"buildings ({cite.section}); {dwelling.name} does not. Use the standard method.",
            field="method",
        )
    # What energy management holds is counted once, by its setting, with the dwelling.
    held = dwelling.held_groups
    buildings = tuple(
        replace(b, loads=tuple(d for d in b.loads if d.group not in held))
        for b in dwelling.farm_buildings
    )
    turning = tuple(replace(b, loads=by_table(b.loads, dwelling.volts, rules)) for b in buildings)
    house = replace(
        dwelling,
        name=f"the dwelling of {dwelling.name}",
        is_service=not dwelling.no_dwelling and dwelling.is_service,
        loads=replace(dwelling, farm_buildings=buildings).dwelling_loads,
        farm_buildings=(),
        in_farm_buildings=(),
    )
    own, how = _of_dwelling(house, rules)
    lines = [*own.lines, *_farm_lines(turning, rules)]
    return with_standard_legs(
        dwelling,
        rules,
        method=METHOD,
        title=f"{dwelling.name}{WITHOUT if dwelling.no_dwelling else WITH_DWELLING}",
        lines=tuple(lines),
        notes=(
            f"{_beside(house, own, how, rules)}. Part V stands for the whole service; "
            "for one building’s own feeder see its sheet.",
            *_unknown(house, buildings, how, rules),
            f"Legs and neutral are by the standard method ({rules.load_article}.61).",
        ),
    )


def _beside(house: Dwelling, own: Worksheet, how: str, rules: Rulebook) -> str:
    """What the farm loads are added to."""
    if not house.no_dwelling:
        section = rules.figure("farm_dwelling").cite.section
        return (
            f"The dwelling by the {how}, {own.total_va:,.0f} VA, and the farm loads added to it "
            f"({section})"
        )
    section = rules.tiers("farm_load_shares")[1].section
    if not own.total_va:
        return f"No dwelling hangs on it: its farm loads alone ({section})"
    return (
        f"No dwelling hangs on it: its farm loads ({section}), and what else hangs there by the "
        f"{how}, {own.total_va:,.0f} VA"
    )


def by_part_v(sheets: Sequence[Worksheet]) -> list[Worksheet]:
    """The farm's own sheets where there are any, for they govern there (220.100); else all."""
    return [s for s in sheets if s.method == METHOD] or list(sheets)


def _unknown(
    house: Dwelling, buildings: Sequence[FarmBuilding], how: str, rules: Rulebook
) -> Iterable[str]:
    """What the site does not tell and the sheet takes for granted."""
    least_a = rules.tiers("farm_building_steps_a")[0][0].up_to_va
    if any(b.together_va is None and b.circuits > 1 for b in buildings):
        yield (
            "What of a building runs at one time is not told: all of it counts. Table "
            f"{rules.load_article}.102 lets the rest count less above {least_a:g} A."
        )
    if how == OPTIONAL and house.of(*HEATING):
        yield (
            "The dwelling has electric heat: where the farm dries grain by electricity, the "
            f"optional method may not be used ({rules.figure('farm_dwelling').cite.section})."
        )


def _of_dwelling(house: Dwelling, rules: Rulebook) -> tuple[Worksheet, str]:
    plain = standard(house, rules)
    if house.whose_untold:
        return plain, STANDARD
    try:
        other = optional(house, rules)
    except InputError:
        return plain, STANDARD
    return (other, OPTIONAL) if other.total_va < plain.total_va else (plain, STANDARD)


def _farm_lines(buildings: Sequence[FarmBuilding], rules: Rulebook) -> Iterable[Line]:
    """What is in each building, then each by its place among them (Table 220.103)."""
    steps = rules.figure("farm_largest_motor_factor").cite
    found: list[tuple[str, float, str]] = []
    for building in buildings:
        for d in building.loads:
            label = f"{building.name}: {d.name}"
            yield carried(label, quantity=d.quantity, each=d.va, unit="VA", cite=steps, note=d.note)
        va, note = building_va(building, rules)
        found.append((building.name, va, note))
    shares, cite = rules.tiers("farm_load_shares")
    found.sort(key=lambda one: -one[1])
    for place, (name, va, note) in enumerate(found, start=1):
        share = next(s.factor for s in shares if place <= s.up_to_va)
        words = PLACES[place - 1] if place <= len(PLACES) else "Another farm load"
        label = f"{words}, {name}, at {percent(share)}"
        yield Line(label, 1, va, "VA", va, share, va * share, cite, note)


def building_va(building: FarmBuilding, rules: Rulebook) -> tuple[float, str]:
    """Demand of one farm building by Table 220.102, and what decided it. [VA]

    The greatest of what runs at one time, 125 % of the largest motor and the first 60 A counts in
    full; of the rest the next 60 A count at 50 % and what is above at 25 %. One branch circuit
    alone counts in full.

    >>> from server.rules.demand.inputs import Load
    >>> from server.rules.editions import rulebook
    >>> heat = Load("Heat", "individual", 48_000)
    >>> building_va(FarmBuilding("Barn", (heat,), 4, 14_400), rulebook("2023"))[0]
    26400.0
    """
    total = sum(d.total_va for d in building.loads)
    if building.circuits < 2:
        return total, "one branch circuit, in full"
    steps, _ = rules.tiers("farm_building_steps_a")
    volts = rules.value("farm_volts")
    factor = rules.value("farm_largest_motor_factor")
    motor = factor * max((d.motor_va for d in building.loads), default=0.0)
    together = total if building.together_va is None else min(building.together_va, total)
    first = min(total, steps[0].up_to_va * volts)
    full = max(together, motor, first)
    widths = [(steps[1].up_to_va - steps[0].up_to_va) * volts, float("inf")]
    left, va = max(0.0, total - full), full
    for step, width in zip(steps[1:], widths, strict=True):
        part = min(left, width)
        va, left = va + step.factor * part, left - part
    if full == motor > total:
        return va, f"{percent(factor)} of its largest motor"
    words = {together: "all that runs at one time"}.get(full, f"{percent(factor)} of a motor")
    words = words if full > first else f"the first {steps[0].up_to_va:g} A in full"
    return va, words
