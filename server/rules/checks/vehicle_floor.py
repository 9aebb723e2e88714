"""That a demand fits but for 25 % put upon the least that vehicle equipment counts for."""

from __future__ import annotations

from server.domain.site import Site
from server.rules.demand.circuit_loads import category_of
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.demand.report import ElementDemand
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.words import listed, percent


def by_its_plate(
    site: Site,
    element: ElementDemand,
    sheet: Worksheet,
    *,
    needed_a: float,
    limit_a: float,
    rules: Rulebook,
) -> str:
    """That a demand fits where 25 % goes on the plate of a charger and not on its least load.

    Empty where it does not fit so, nothing so small is carried, or no 25 % is held against the
    rating. What a manager holds is left out.
    """
    positions = dict(distinct_positions(site, element.element_id)).get(sheet.position)
    if positions is None or needed_a <= sheet.leg_a:
        return ""
    least, factor = rules.figure("vehicle_least_va"), rules.value("continuous_factor")
    small = [
        (a.name, a.load_w / a.power_factor)
        for c in carried_by(site, element.element_id, positions)
        if c.circuit.energy_group_id is None
        for a in c.circuit.appliances
        if category_of(a) == "vehicle" and a.load_w / a.power_factor < least.value
    ]
    plate_a = sheet.plate_needed_a
    if not small or plate_a is None or round_half_up(plate_a) > limit_a:
        return ""
    more, one = percent(factor - 1.0), len(small) == 1
    return (
        f" {listed([name for name, _ in small])} {'counts' if one else 'count'} here at "
        f"{least.value:,.0f} VA{'' if one else ' each'} ({least.cite.section}) and {more} is put "
        f"on that, our safe reading; with {more} on {'its' if one else 'each'} plate alone, and "
        f"no less than with the {least.value:,.0f} VA, it is {round_half_up(plate_a)} A, which "
        "fits: show the authority both figures."
    )
