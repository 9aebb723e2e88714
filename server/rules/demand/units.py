"""Dwelling units that share a site: whose panel is whose, and which of them an element carries."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from server.domain.site import Site
from server.rules.demand.outlets import outside_area
from server.rules.reach import above, below


@lru_cache(maxsize=64)
def unit_circuits(site: Site) -> dict[str, frozenset[str]]:
    """Circuit ids of every dwelling unit named on a panel, common areas left out.

    A panel without a name belongs to the unit of the nearest named one that feeds it. Empty
    where no panel is named: then each service is a dwelling of its own.
    """
    if not any(p.dwelling for p in site.panels):
        return {}
    found: dict[str, set[str]] = {}
    for panel in site.panels:
        unit = _unit_of(site, panel.id)
        mine = (c.id for c in site.circuits_in.get(panel.id, ()) if c.place != "common_area")
        if unit:
            found.setdefault(unit, set()).update(mine)
    return {unit: frozenset(ids) for unit, ids in found.items() if ids}


def _unit_of(site: Site, panel_id: str) -> str:
    named = {p.id: p.dwelling for p in site.panels if p.dwelling}
    waiting, seen = [panel_id], {panel_id}
    while waiting:
        here = waiting.pop(0)
        if here in named:
            return named[here]
        for feeder in site.feeders_into.get(here, ()):
            if feeder.from_id not in seen:
                seen.add(feeder.from_id)
                waiting.append(feeder.from_id)
    return ""


@lru_cache(maxsize=64)
def feeders_of_unit(site: Site, unit: str) -> int:
    """How many feeders supply a unit from outside of it, those of generators alone left out."""
    mine = {p.id for p in site.panels if _unit_of(site, p.id) == unit}
    services = {s.id for s in site.services}
    return sum(
        f.to_id in mine
        and f.from_id not in mine
        and not above(site, f.from_id) & mine
        and bool((above(site, f.from_id) | {f.from_id}) & services)
        for f in site.feeders
    )


def units_among(site: Site, circuit_ids: Iterable[str]) -> tuple[str, ...]:
    """Names of the units of which every circuit is among these."""
    ids = set(circuit_ids)
    return tuple(unit for unit, own in unit_circuits(site).items() if own <= ids)


@lru_cache(maxsize=64)
def serves_no_dwelling(site: Site, service_id: str) -> bool:
    """Whether a service feeds outbuildings alone, such as that of a barn.

    An only service does where no floor area of a dwelling is told.
    """
    if all(s.id != service_id for s in site.services):
        return False
    panels = below(site, service_id)
    circuits = [c for c in site.circuits if c.panel_id in panels]
    named = unit_circuits(site)
    if named:
        return not any(c.id in own for own in named.values() for c in circuits)
    if len(site.services) <= 1 and site.floor_area_ft2:
        return False
    return bool(circuits) and all(outside_area(site, c, {}) for c in circuits)


@lru_cache(maxsize=64)
def panels_of_no_dwelling(site: Site) -> frozenset[str]:
    """Panels behind services that all feed outbuildings alone."""
    alone = {s.id for s in site.services if serves_no_dwelling(site, s.id)}
    services = {s.id for s in site.services}
    return frozenset(
        p.id for p in site.panels if (mine := services & above(site, p.id)) and mine <= alone
    )


def one_family(site: Site) -> bool:
    """Whether the site is a one-family dwelling, with as many services as it may have.

    The units named on its panels tell. Where none is named, a service for each of several flats is
    taken for a house of several dwellings, but for one that feeds outbuildings alone (common
    practice, no source).
    """
    named = unit_circuits(site)
    if named:
        return len(named) <= 1
    return sum(not serves_no_dwelling(site, s.id) for s in site.services) <= 1


def taken_for_several(site: Site) -> bool:
    """Whether several services are taken for as many dwellings, none of which is named."""
    return not unit_circuits(site) and not one_family(site)
