"""Circuits of which a load manager lets one run at a time: the largest counts."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache, partial, reduce

from server.domain.site import Site
from server.rules.demand.legs import LEAST_ADDED_A, no_less
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook
from server.rules.words import listed

ONE_AT_A_TIME = ("turns", "interlock")
"""Ways of a manager by which no two of its circuits draw together.

In an interlock each runs only while none that is shed after it draws, so it is one of them too.
"""


@dataclass(frozen=True)
class Turns:
    """A manager and those of its circuits, two or more, that one conductor carries."""

    name: str
    circuit_ids: tuple[str, ...]


def turns_among(site: Site, circuit_ids: Iterable[str]) -> tuple[Turns, ...]:
    """Managers that let one at a time of these circuits run, where that leaves any out."""
    carried = set(circuit_ids)
    found = []
    for group in site.energy_groups:
        if group.way not in ONE_AT_A_TIME:
            continue
        mine = tuple(
            c.id for c in site.circuits if c.energy_group_id == group.id and c.id in carried
        )
        if len(mine) > 1:
            found.append(Turns(group.name, mine))
    return tuple(found)


def largest_alone(
    site: Site,
    turns: tuple[Turns, ...],
    make: Callable[[frozenset[str]], Worksheet],
    rules: Rulebook,
) -> Worksheet:
    """The worksheet with only the largest circuit of each of these managers, and a note of it.

    ``make`` gives the worksheet without the loads of the circuits it is handed. The largest is
    the one that leaves the most volt-amperes by that method.
    """
    left_out: frozenset[str] = frozenset()
    notes = []
    make = cache(make)
    why = f"{rules.figure('noncoincident').cite.words}; {rules.figure('managed_by').cite.words}"
    for one in turns:
        without = {i: left_out | (frozenset(one.circuit_ids) - {i}) for i in one.circuit_ids}
        kept = max(one.circuit_ids, key=lambda i: (make(without[i]).total_va, i))
        left_out = without[kept]
        names = listed([site.circuit(i).name for i in one.circuit_ids])
        notes.append(
            f"{one.name} lets one at a time of {names} run, so the largest counts, "
            f"{site.circuit(kept).name}, and the others do not ({why})."
        )
    sheet = make(left_out)
    taken = [i for one in turns for i in one.circuit_ids if i in left_out]
    others = [make(_instead(turns, left_out, i)) for i in taken]
    fullest = reduce(partial(wires_no_less, label="More in another’s turn"), others, sheet)
    if fullest.needed_a > sheet.needed_a:
        notes.append(
            f"In another’s turn one leg carries more, {fullest.leg_a:.1f} A: the amps and the "
            "rating are those of that turn."
        )
    return replace(fullest, notes=(*sheet.notes, *notes))


def _instead(turns: tuple[Turns, ...], left_out: frozenset[str], circuit_id: str) -> frozenset[str]:
    """What is left out where this circuit has its turn, and the largest of its manager has not."""
    (mine,) = (frozenset(one.circuit_ids) for one in turns if circuit_id in one.circuit_ids)
    return (left_out | mine) - {circuit_id}


def wires_no_less(sheet: Worksheet, other: Worksheet, label: str) -> Worksheet:
    """Each wire no less than in another sheet: a smaller load on one leg can load it more.

    ``label`` is of the row in which the leg table shows what that adds.
    """
    legs = sheet.legs
    if legs is not None and other.legs is not None:
        legs = no_less(legs, other.legs, label)
    first, second = (max(a, b) for a, b in zip(sheet.leg_needed_a, other.leg_needed_a, strict=True))
    raised = replace(sheet, legs=legs, leg_needed_a=(first, second), plate_needed_a=None)
    if (sheet.plate_needed_a, other.plate_needed_a) != (None, None):
        # A turn without such equipment asks for all of its amps whatever a plate says.
        by_plate = (s.plate_needed_a or s.needed_a for s in (sheet, other))
        raised = replace(raised, plate_needed_a=max(by_plate))
    if other.needed_a < sheet.needed_a + LEAST_ADDED_A:
        return raised
    return replace(
        raised,
        leg_a=max(sheet.leg_a, other.leg_a),
        needed_a=other.needed_a,
        amp_lines=other.amp_lines,
        standard_a=other.standard_a,
    )
