"""What of a demand is only 25 % put upon the least that vehicle equipment counts for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from server.rules.demand.general import vehicle_va
from server.rules.demand.inputs import Dwelling
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.words import listed, percent


def raised_twice_va(plates_va: Iterable[float], rules: Rulebook) -> float:
    """What 25 % on the least of vehicle equipment asks above 25 % on its plate. [VA]

    220.57 has 7,200 VA for a smaller one, which is the plate of 5,760 VA with its 25 % already.
    It never counts for less than that least.

    >>> from server.rules.editions import rulebook
    >>> raised_twice_va((5760, 7000, 7200), rulebook("2023"))
    1850.0
    """
    least, factor = rules.value("vehicle_least_va"), rules.value("continuous_factor")
    return sum(factor * least - max(least, factor * va) for va in plates_va if va < least)


def with_plate_note(sheet: Worksheet, dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    """A sheet that says where 25 % is put upon the least load of vehicle equipment."""
    told = {line.label for line in sheet.lines}
    small = [
        d
        for d in dwelling.of("vehicle")
        if d.known and d.name in told and d.va < vehicle_va(d, rules)
    ]
    if not small or sheet.needed_a <= sheet.leg_a:
        return sheet
    plates_va = [d.va for d in small for _ in range(round(d.quantity))]
    plate_a = sheet.needed_a - raised_twice_va(plates_va, rules) / sheet.volts
    more, one = percent(rules.value("continuous_factor") - 1.0), len(plates_va) == 1
    least = rules.figure("vehicle_least_va")
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
        f"{'its' if one else 'each'} plate alone it is {plate_a:.1f} A{fits}."
    )
    return replace(sheet, notes=(*sheet.notes, words))
