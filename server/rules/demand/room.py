"""What still fits on an element: the least room of all between it and its sources."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from server.domain.base import LEGS, Leg, other_leg
from server.domain.site import Site
from server.rules.demand.worksheet import Worksheet
from server.rules.leg import LEG_V


@dataclass(frozen=True)
class Room:
    """What may still be added at one element, in calculated volt-amperes, and what holds it there.

    ``va`` is of a load between the legs and ``continuous_va`` of one of three hours or more;
    ``binding_id`` names the element with the least room. ``on`` is of a 120 V load on each leg of
    the element and ``on_binding`` what holds that; both are empty on a source of one leg.
    ``left`` names each element from here to the sources with the amps left on its fuller leg,
    negative where it is over; the least of them makes the room.
    ``utility`` is the same with the sets and their feeders left out, told where one of those
    binds: what a person transfers need not all run on the set.
    """

    va: float
    continuous_va: float
    binding_id: str
    binding_name: str
    on: Mapping[Leg, float]
    on_binding: Mapping[Leg, str]
    left: tuple[tuple[str, float], ...]
    utility: Room | None = None


@dataclass(frozen=True)
class _Spare:
    """Amps left on each leg, named as at the element asked about."""

    element_id: str
    leg_a: Mapping[Leg, float]
    volts: float
    continuous_factor: float
    from_set: bool
    by_wire: bool

    @property
    def least_a(self) -> float:
        return min(self.leg_a.values())


def rooms(
    site: Site, sheets: Mapping[str, Worksheet], carried_a: Mapping[str, float]
) -> dict[str, Room]:
    """Room of every element that has a rating on itself or on something ahead of it.

    A load added there is carried by all that feeds it, so it must fit each of them: its own
    device, feeders, switches, panels, services and sets. Of an element the sheet given counts, its
    heaviest switch position.

    Parameters
    ----------
    sheets : mapping      The governing worksheet of each element, by its id.
    carried_a : mapping   Amps that the wire of a feeder carries, where it is told, by its id.
    """
    found = {}
    for element_id, sheet in sheets.items():
        spares = list(_spares(site, element_id, sheets, carried_a))
        room = _least(site, spares, sheet.volts)
        if room is None:
            continue
        bound_by_set = any(s.from_set and s.element_id == room.binding_id for s in spares)
        if bound_by_set:
            utility = _least(site, [s for s in spares if not s.from_set], sheet.volts)
            room = replace(room, utility=utility)
        found[element_id] = room
    return found


def _least(site: Site, spares: list[_Spare], volts: float) -> Room | None:
    # A load between the legs is dead on a source of one leg, which then does not hold it.
    between = [s for s in spares if s.volts > LEG_V or volts <= LEG_V]
    if not between:
        return None
    least = min(between, key=lambda s: s.least_a)
    va = max(0.0, least.least_a) * volts
    of_leg = {leg: min(spares, key=lambda s: s.leg_a[leg]) for leg in LEGS}
    if volts <= LEG_V:
        of_leg = {}
    return Room(
        va=va,
        continuous_va=va / least.continuous_factor,
        binding_id=least.element_id,
        binding_name=_named(site, least),
        on={leg: max(0.0, s.leg_a[leg]) * LEG_V for leg, s in of_leg.items()},
        on_binding={leg: _named(site, s) for leg, s in of_leg.items()},
        left=tuple((_named(site, s), s.least_a) for s in between),
    )


def _named(site: Site, spare: _Spare) -> str:
    name = site.name_of.get(spare.element_id, spare.element_id)
    return f"the wire of {name}" if spare.by_wire else name


def _spares(
    site: Site,
    element_id: str,
    sheets: Mapping[str, Worksheet],
    carried_a: Mapping[str, float],
) -> Iterator[_Spare]:
    sets = {g.id for g in site.generators}
    of_sets = sets | {f.id for f in site.feeders if f.from_id in sets}
    for here, crossed in _ahead(site, element_id):
        sheet = sheets.get(here)
        if sheet is None or sheet.existing_a is None:
            continue
        most_a = min(sheet.existing_a, carried_a.get(here, sheet.existing_a))
        left = {
            other_leg(leg) if crossed else leg: most_a - needed_a
            for leg, needed_a in zip(LEGS, sheet.leg_needed_a, strict=True)
        }
        yield _Spare(
            here,
            left,
            sheet.volts,
            sheet.continuous_factor,
            from_set=here in of_sets,
            by_wire=most_a < sheet.existing_a,
        )


def _ahead(site: Site, element_id: str) -> Iterator[tuple[str, bool]]:
    """An element and all that can feed it, nearest first, and whether its legs lie crossed there.

    The legs of a feeder are told as they leave its panel or switch, before they cross.
    """
    feeders = {f.id: f for f in site.feeders}
    waiting = [(element_id, False)]
    seen = set(waiting)
    while waiting:
        here, crossed = waiting.pop(0)
        yield here, crossed
        if here in feeders:
            ahead = [(feeders[here].from_id, crossed)]
        else:
            ahead = [(f.id, crossed != f.swap_legs) for f in site.feeders_into.get(here, ())]
        for one in ahead:
            if one not in seen:
                seen.add(one)
                waiting.append(one)
