"""From a site to what a demand worksheet asks for; what the site does not tell is asked."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.demand.circuit_loads import (
    category_of,
    counts_as,
    dries_as_laundry,
    kind_row,
    loads_of,
)
from server.rules.demand.farm_buildings import farm_circuits, farm_kinds_of_dwelling
from server.rules.demand.inputs import Dwelling, FarmBuilding, Load, Setting
from server.rules.demand.outlets import outlet_questions, outside_area
from server.rules.demand.reach import Carried, Positions, carried_by, dwelling_circuits, resting
from server.rules.demand.units import (
    feeders_of_unit,
    one_family,
    panels_of_no_dwelling,
    serves_no_dwelling,
    taken_for_several,
    unit_circuits,
    units_among,
)
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V

WHOSE = (
    "Which dwelling each panel is of: until it is told the standard method counts, as a house on "
    "two services may not use the optional ones."
)

NO_AREA = "Floor area: 0 ft² is entered, so lights and plugs count for nothing."


@dataclass(frozen=True)
class ManagedGroup:
    """Circuits that a listed energy-management system holds at a setting. [A at the volts]

    ``of_all_a``: a limit on all that is carried, of which the setting is what is left to them;
    else 0.
    """

    id: str
    name: str
    circuit_ids: tuple[str, ...]
    setting_a: float
    of_all_a: float = 0.0


@dataclass(frozen=True)
class Facts:
    """Answers a site document has no field for.

    ``area_ft2_by_panel`` is the floor area each panel serves; ``new_circuit_ids`` are added to an
    existing dwelling; ``groups`` are held by energy management; ``together_va_by_building`` is what
    runs at one time in a farm building, by its name. [VA]
    """

    area_ft2_by_panel: Mapping[str, float] = field(default_factory=dict)
    new_circuit_ids: frozenset[str] = frozenset()
    groups: tuple[ManagedGroup, ...] = ()
    together_va_by_building: Mapping[str, float] = field(default_factory=dict)


def facts_of(site: Site, facts: Facts | None = None) -> Facts:
    """Answers beside the site with the managers of the site that hold their own circuits' load.

    One that watches something else leaves what its circuits can draw as it is, and so does one
    without a setting; of one that lets a single circuit run at a time the largest counts.
    """
    facts = facts or Facts()
    told = {g.id for g in facts.groups}
    own = tuple(
        ManagedGroup(
            group.id,
            group.name,
            tuple(c.id for c in site.circuits if c.energy_group_id == group.id),
            group.setting_a,
        )
        for group in site.energy_groups
        if group.way == "setting"
        and group.id not in told
        and group.setting_a is not None
        and group.watch_id is None
    )
    return replace(facts, groups=(*facts.groups, *own)) if own else facts


def dwelling_of(
    site: Site,
    element_id: str,
    *,
    rules: Rulebook,
    positions: Positions | None = None,
    facts: Facts | None = None,
    existing_a: float | None = None,
    conductors_a: float | None = None,
    volts: float = 240.0,
    only: frozenset[str] | None = None,
    left_out: frozenset[str] = frozenset(),
) -> Dwelling:
    """What an element carries, as a worksheet asks for it.

    Parameters
    ----------
    positions : mapping, optional   Position of each double-throw; at rest when left out.
    only : frozenset, optional      Restrict to these circuit ids (what is transferred).
    left_out : frozenset            Circuits whose loads do not count beside the others.
    """
    facts = facts or Facts()
    carried = carried_by(site, element_id, positions or resting(site))
    if only is not None:
        carried = tuple(c for c in carried if c.circuit.id in only)
    circuits = [c.circuit for c in carried]
    ids = {c.id for c in circuits}
    no_house = bool(circuits) and {c.panel_id for c in circuits} <= panels_of_no_dwelling(site)
    whole = not no_house and (
        _is_whole(site, ids)
        or (only is None and _always_all_of_a_service(site, element_id, positions or resting(site)))
    )
    units = units_among(site, (c.id for c in circuits))
    every = whole and len(site.services) <= 1 and len(units) == len(unit_circuits(site))
    area, note, missing = _area(site, circuits, facts, whole=whole, every=every)
    small, laundry = _own_circuits(circuits, rules)
    if whole:
        count = max(1, len(units))
        small = max(small, count * int(rules.value("small_appliance_circuits_least")))
        laundry = max(laundry, count * int(rules.value("laundry_circuits_least")))
    least = max(1, len(units)) * int(rules.value("small_appliance_circuits_least"))
    cold = _refrigerator_circuits(circuits, rules)[: small - least] if small > least else ()
    in_place = _own_appliance_circuits(circuits, rules) if small > least else ()
    counted = [c for c in carried if c.circuit.id not in left_out]
    own_loads = [
        (c.circuit.id, tuple(_at_volts(load, volts) for load in _loads(site, c, facts, rules)))
        for c in counted
    ]
    loads_by_circuit = dict(own_loads)
    groups = [g for g in facts.groups if ids & set(g.circuit_ids)]

    def part(circuit_ids: frozenset[str], name: str) -> Dwelling:
        found = dwelling_of(
            site,
            element_id,
            rules=rules,
            positions=positions,
            facts=facts,
            volts=volts,
            only=circuit_ids,
            left_out=left_out,
        )
        return replace(found, name=name, is_service=False)

    farms = farm_circuits(site, circuits, facts.area_ft2_by_panel)

    def building(name: str, own: tuple[Circuit, ...]) -> FarmBuilding:
        inside = tuple(d for c in own for d in loads_by_circuit.get(c.id, ()))
        return FarmBuilding(name, inside, len(own), facts.together_va_by_building.get(name))

    several = len(units) > 1
    whose_untold = whole and taken_for_several(site)
    of_several = tuple(c.name for c in circuits if c.place == "common_area")
    untold = len(site.services) <= 1 and not unit_circuits(site)
    common = of_several if untold else ()
    shared = ids - frozenset().union(*(unit_circuits(site)[u] for u in units))
    return Dwelling(
        name=site.name_of.get(element_id, element_id),
        area_ft2=area,
        small_appliance_circuits=small,
        laundry_circuits=laundry,
        loads=tuple(load for _, own in own_loads for load in own),
        settings=tuple(
            Setting(g.id, g.name, g.setting_a * volts, g.of_all_a * volts) for g in groups
        ),
        volts=volts,
        whole=whole,
        is_service=any(s.id == element_id and not s.building_feeder for s in site.services),
        one_family=one_family(site) and not serves_no_dwelling(site, element_id),
        at_service=_at_service(site, element_id),
        dwellings=tuple(
            replace(part(unit_circuits(site)[u], u), feeders=feeders_of_unit(site, u))
            for u in units
        )
        if several
        else (),
        shared=part(frozenset(shared), "What they share") if several and shared else None,
        existing_a=existing_a,
        conductors_a=conductors_a,
        area_note=note,
        common_circuits=common,
        shared_circuits=() if several or untold else of_several,
        refrigerator_circuits=cold,
        appliance_circuits=in_place,
        laundry_dryers=tuple(c.name for c in circuits if dries_as_laundry(c, rules)),
        in_farm_buildings=tuple(c.name for own in farms.values() for c in own),
        farm_buildings=tuple(building(name, own) for name, own in farms.items()),
        farm_in_dwelling=farm_kinds_of_dwelling(site, circuits, facts.area_ft2_by_panel),
        no_dwelling=no_house,
        whose_untold=whose_untold,
        whole_service=no_house and _all_of_a_service(site, ids),
        missing=(
            *missing,
            *(("Which panel is whose: several dwellings share some circuits.",) if common else ()),
            *((WHOSE,) if whose_untold else ()),
            *_questions(circuits),
            *outlet_questions(site, circuits, facts.area_ft2_by_panel),
        ),
    )


def _at_service(site: Site, element_id: str) -> bool:
    """Whether an element is a service, or conductors of one with no device ahead of them."""
    services = {s.id for s in site.services if not s.building_feeder}
    return element_id in services or any(
        f.id == element_id and f.from_id in services and f.breaker_a is None for f in site.feeders
    )


def _is_whole(site: Site, circuit_ids: set[str]) -> bool:
    """Whether these are all the circuits of some service or unit, in whatever position.

    What several dwellings share is part of none of them.
    """
    if units_among(site, circuit_ids):
        return True
    for service in site.services:
        every = _in_any_position(site, service.id)
        if every and every <= circuit_ids and not _has_part_of_a_unit(site, service.id):
            return True
    return False


def _all_of_a_service(site: Site, circuit_ids: set[str]) -> bool:
    every = (_in_any_position(site, service.id) for service in site.services)
    return any(bool(own) and own <= circuit_ids for own in every)


def _in_any_position(site: Site, service_id: str) -> frozenset[str]:
    """Ids of the circuits of dwellings that a service carries in one position or another."""
    thrown: list[Positions] = [
        {d.id: p for d in site.double_throws} for p in ("normal", "backed_up")
    ]
    return frozenset().union(*(dwelling_circuits(site, service_id, t) for t in thrown))


@lru_cache(maxsize=64)
def _has_part_of_a_unit(site: Site, service_id: str) -> bool:
    """Whether a named dwelling hangs on this service and on another one: no method of a whole."""
    if len(site.services) <= 1:
        return False
    mine = _in_any_position(site, service_id)
    others = frozenset().union(
        *(_in_any_position(site, s.id) for s in site.services if s.id != service_id)
    )
    for own in unit_circuits(site).values():
        inside = {i for i in own if not outside_area(site, site.circuit(i), {})}
        if inside & mine and (inside - mine) & others:
            return True
    return False


def _always_all_of_a_service(site: Site, element_id: str, now: Positions) -> bool:
    """Whether an element carries all that some service carries, in whatever position.

    Such conductors carry their whole dwelling also while a part of it is thrown to another source.
    """
    positions_of: list[Positions] = [now]
    positions_of += [{d.id: p for d in site.double_throws} for p in ("normal", "backed_up")]
    return any(
        bool(dwelling_circuits(site, s.id, now))
        and not _has_part_of_a_unit(site, s.id)
        and all(
            dwelling_circuits(site, s.id, p) <= dwelling_circuits(site, element_id, p)
            for p in positions_of
        )
        for s in site.services
    )


def _area(
    site: Site, circuits: Collection[Circuit], facts: Facts, *, whole: bool, every: bool
) -> tuple[float | None, str, tuple[str, ...]]:
    told_there = facts.area_ft2_by_panel
    if every:
        if site.floor_area_ft2 == 0 and any(
            not outside_area(site, c, told_there) for c in circuits
        ):
            return 0.0, "entered as 0", (NO_AREA,)
        if site.floor_area_ft2 is not None:
            return site.floor_area_ft2, "", ()
        return _area_by_panels(site, circuits, told_there)
    # A whole dwelling always counts its area; a part only where it feeds lights and plugs.
    inside = [c for c in circuits if not outside_area(site, c, told_there)]
    general = {c.panel_id for c in inside if whole or _is_general(c)}
    if not general:
        return 0.0, "no lights or plugs of a dwelling’s own rooms here", ()
    told = {p.id: p.floor_area_ft2 for p in site.panels if p.floor_area_ft2 is not None}
    told |= told_there
    unknown = sorted(general - set(told))
    if not unknown:
        return sum(told[p] for p in general), "", ()
    carried = {c.id for c in circuits}
    general_of_site = (
        c.id for c in site.circuits if _is_general(c) and not outside_area(site, c, told_there)
    )
    alone = len(site.services) <= 1 and len(unit_circuits(site)) <= 1 and not told
    if alone and all(i in carried for i in general_of_site):
        return site.floor_area_ft2, "", ()
    names = ", ".join(site.name_of[p] for p in unknown)
    question = f"Floor area served by {names}."
    if site.floor_area_ft2 is None:
        return None, "", (question,)
    return site.floor_area_ft2, "at most: area served not told, whole floor area", (question,)


def _area_by_panels(
    site: Site, circuits: Collection[Circuit], told_there: Mapping[str, float]
) -> tuple[float | None, str, tuple[str, ...]]:
    """The floor area of all that a site has, as its panels tell it where the site does not."""
    told = {p.id: p.floor_area_ft2 for p in site.panels if p.floor_area_ft2 is not None}
    told |= told_there
    if not told:
        return None, "", ()
    fed = {c.panel_id for c in circuits if _is_general(c) and not outside_area(site, c, told_there)}
    unknown = sorted(fed - set(told))
    if not unknown:
        return sum(told.values()), "as its panels tell it", ()
    names = ", ".join(site.name_of[p] for p in unknown)
    question = f"Floor area served by {names}."
    return sum(told.values()), f"at least: area served by {names} not told", (question,)


def _is_general(circuit: Circuit) -> bool:
    if circuit.poles == 2:
        return False
    return not circuit.appliances or any(category_of(a) == "general" for a in circuit.appliances)


def _own_circuits(circuits: Iterable[Circuit], rules: Rulebook) -> tuple[int, int]:
    """Small-appliance and laundry circuits among these."""
    found = [counts_as(c, rules) for c in circuits]
    return found.count("small_appliance"), found.count("laundry")


def _refrigerator_circuits(circuits: Iterable[Circuit], rules: Rulebook) -> tuple[str, ...]:
    """Names of the 1,500 VA circuits that feed one refrigerator, or its like, and nothing else."""
    return tuple(
        c.name
        for c in circuits
        if len(c.appliances) == 1
        and counts_as(c, rules) == "small_appliance"
        and (kind_row(c.appliances[0].kind) or {}).get("refrigeration")
    )


def _own_appliance_circuits(circuits: Iterable[Circuit], rules: Rulebook) -> tuple[str, ...]:
    """Names of the 1,500 VA circuits of a kitchen that feed one thing in its place, none cold."""
    return tuple(
        c.name
        for c in circuits
        if len(c.appliances) == 1
        and counts_as(c, rules) == "small_appliance"
        and (row := kind_row(c.appliances[0].kind) or {}).get("own_circuit")
        and not row.get("refrigeration")
    )


def _loads(site: Site, carried: Carried, facts: Facts, rules: Rulebook) -> tuple[Load, ...]:
    circuit = carried.circuit
    return loads_of(
        carried,
        rules,
        group=next((g.id for g in facts.groups if circuit.id in g.circuit_ids), ""),
        new=circuit.is_new or circuit.id in facts.new_circuit_ids,
        outside=outside_area(site, circuit, facts.area_ft2_by_panel),
    )


def _at_volts(load: Load, volts: float) -> Load:
    """A load where it is fed: what is rated by its current draws its amps at the volts there."""
    if not load.by_current or not LEG_V < volts < load.volts:
        return load
    return replace(load, va=load.va * volts / load.volts, neutral_va=0.0)


def _questions(circuits: Iterable[Circuit]) -> tuple[str, ...]:
    found = []
    empty = [c.name for c in circuits if not c.appliances]
    if empty:
        found.append(f"What these circuits feed: {', '.join(empty)}.")
    unknown = [a.name for c in circuits for a in c.appliances if category_of(a) == "unknown"]
    if unknown:
        found.append(f"What kind these are (counted in full until told): {', '.join(unknown)}.")
    return tuple(found)
