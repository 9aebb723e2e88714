"""What of a demand is only 25 % put upon the least that vehicle equipment counts for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from server.rules.demand.general import vehicle_va
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Amendment, Rulebook
from server.rules.words import listed, percent

FLOOR = "vehicle_least_va"
Method = Callable[[Dwelling, Rulebook], Worksheet]


def small_vehicles(dwelling: Dwelling, rules: Rulebook) -> tuple[Load, ...]:
    """Vehicle equipment of a plate below the least it counts for (220.57)."""
    return tuple(d for d in dwelling.of("vehicle") if d.known and d.va < vehicle_va(d, rules))


def _with_loads(dwelling: Dwelling, change: Callable[[Load], Load]) -> Dwelling:
    """A dwelling with its loads changed, wherever they count."""

    def of(part: Dwelling) -> Dwelling:
        return _with_loads(part, change)

    return replace(
        dwelling,
        loads=tuple(map(change, dwelling.loads)),
        dwellings=tuple(map(of, dwelling.dwellings)),
        shared=None if dwelling.shared is None else of(dwelling.shared),
        farm_buildings=tuple(
            replace(b, loads=tuple(map(change, b.loads))) for b in dwelling.farm_buildings
        ),
    )


def with_plate(
    sheet: Worksheet, dwelling: Dwelling, calculate: Method, rules: Rulebook
) -> Worksheet:
    """A sheet with the amps it asks for where 25 % goes on plates alone, by its own steps.

    220.57 has 7,200 VA for smaller equipment, which is the plate of 5,760 VA with its 25 % already.
    Steps that count the least at 40 % take the plate at 40 % too, and the 25 % is of the whole
    plate; so it is worked out anew. It is no less than with the least and no 25 % on that.
    """
    if not small_vehicles(dwelling, rules) or sheet.needed_a <= sheet.leg_a:
        return sheet
    least, factor = rules.value(FLOOR), rules.value("continuous_factor")
    rest = tuple(a for a in rules.amendments if a.figure != FLOOR)
    own = replace(rules, amendments=(*rest, Amendment(FLOOR, 0.0, "by the plate alone")))

    def floored(load: Load) -> Load:
        if load.category == "vehicle" and load.known and factor * load.va <= least:
            return replace(load, va=least, continuous=False)
        return load

    by_plate = calculate(dwelling, own).needed_a
    by_floor = calculate(_with_loads(dwelling, floored), own).needed_a
    return replace(sheet, plate_needed_a=max(by_plate, by_floor, sheet.leg_a))


def with_plate_note(
    sheet: Worksheet, dwelling: Dwelling, calculate: Method, rules: Rulebook
) -> Worksheet:
    """A sheet that says where 25 % is put upon the least load of vehicle equipment."""
    told = {line.label for line in sheet.lines}
    small = [d for d in small_vehicles(dwelling, rules) if d.name in told]
    if not small:
        return sheet
    sheet = with_plate(sheet, dwelling, calculate, rules)
    plate_a = sheet.plate_needed_a
    if plate_a is None:
        return sheet
    one = sum(d.quantity for d in small) == 1
    more = percent(rules.value("continuous_factor") - 1.0)
    least = rules.figure(FLOOR)
    rating_a = sheet.existing_a
    fits = ""
    if rating_a is not None and round_half_up(sheet.needed_a) > rating_a:
        by_plate = round_half_up(plate_a) <= rating_a
        fits = f", which {'fits' if by_plate else 'is above'} the {rating_a:g} A here"
    words = (
        f"{listed([d.name for d in small])} {'counts' if one else 'count'} at "
        f"{least.value:,.0f} VA{'' if one else ' each'} ({least.cite.section}), more than "
        f"{'its plate' if one else 'their plates'}, and {more} for three hours or longer is put on "
        f"that again, our safe reading: {sheet.needed_a:.1f} A. With {more} on "
        f"{'its' if one else 'each'} plate alone, and no less than with "
        f"the {least.value:,.0f} VA, it is {plate_a:.1f} A{fits}."
    )
    return replace(sheet, notes=(*sheet.notes, words))
