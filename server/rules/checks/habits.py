"""What people mean to leave off on a set that transfers by itself, which the code counts."""

from __future__ import annotations

from server.domain.site import Site
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.demand.worksheet import Worksheet
from server.rules.words import listed

MOST_NAMED = 6
"""Circuits named in a sentence; past that they are counted."""


def habit_words(site: Site, element_id: str, sheet: Worksheet) -> str:
    """That circuits set to stay off count all the same, with their names; empty where none are.

    So it is on a sheet of what transfers by itself: a breaker that a person is to open can be on
    when the switch transfers, and only what a listed manager keeps off is left out (702.4(B)(2)).
    """
    if sheet.method not in ("full", "managed"):
        return ""
    positions = dict(distinct_positions(site, element_id))
    found = positions.get(sheet.position) or next(iter(positions.values()))
    names = [
        c.circuit.name
        for c in carried_by(site, element_id, found)
        if c.circuit.outage_role in {"off", "by_hand"}
        and c.circuit.energy_group_id is None
        and c.circuit.appliances
    ]
    if not names:
        return ""
    more = len(names) - MOST_NAMED
    if more > 1:
        names = [*names[:MOST_NAMED], f"{more} more"]
    one = len(names) == 1
    return (
        f" {listed(names)} {'counts' if one else 'count'} in it though a person is to keep "
        f"{'it' if one else 'them'} off: that is a habit, and a breaker can be on when the set "
        "takes over by itself. Left out is only what a listed load manager keeps off."
    )
