"""The legs of a method that borrows them, where the smaller of heating and cooling runs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from server.rules.demand.inputs import HEATING, Category, Dwelling
from server.rules.demand.turns import wires_no_less
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook

Method = Callable[[Dwelling, Rulebook], Worksheet]
SIDES: tuple[tuple[str, tuple[Category, ...]], ...] = (
    ("cooling", HEATING),
    ("heating", ("cooling",)),
)
"""What runs in a season, and what of a dwelling does not."""


def in_either_season(calculate: Method) -> Method:
    """A method by which each leg is no less than in the season that loads it most.

    220.60 leaves the smaller of heating and cooling out of the sum; 120 V units on one leg may load
    that leg more in their own season, though the total is less. Such a method has no legs of its
    own: they are in proportion to those of the standard method of that season (common practice,
    no source).
    """

    def way(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
        sheet = calculate(dwelling, rules)
        if not all(_has(dwelling, off) for _, off in SIDES):
            return sheet
        fullest = sheet
        for running, off in SIDES:
            other = calculate(_without(dwelling, off), rules)
            if not other.needed_a > fullest.needed_a:
                fullest = wires_no_less(fullest, other, f"More where {running} alone runs")
                continue
            words = (
                f"Where {running} alone runs, one leg carries more, {other.leg_a:.1f} A: the amps "
                "and the rating are those of that season."
            )
            fuller = wires_no_less(fullest, other, f"More where {running} alone runs")
            fullest = replace(fuller, notes=(*sheet.notes, words))
        return fullest

    return way


def _has(dwelling: Dwelling, categories: Sequence[Category]) -> bool:
    return any(d.category in categories for d in dwelling.loads)


def _without(dwelling: Dwelling, categories: Sequence[Category]) -> Dwelling:
    """A dwelling without its loads of these categories, wherever they count."""

    def part(one: Dwelling) -> Dwelling:
        return _without(one, categories)

    return replace(
        dwelling,
        loads=tuple(d for d in dwelling.loads if d.category not in categories),
        dwellings=tuple(map(part, dwelling.dwellings)),
        shared=None if dwelling.shared is None else part(dwelling.shared),
        farm_buildings=tuple(
            replace(b, loads=tuple(d for d in b.loads if d.category not in categories))
            for b in dwelling.farm_buildings
        ),
    )
