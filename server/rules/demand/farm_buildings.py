"""Which circuits stand in which farm building, and what of a farm is entered as a dwelling's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.demand.outlets import outside_area
from server.rules.demand.units import panels_of_no_dwelling
from server.rules.tables import read_toml


def farm_circuits(
    site: Site, circuits: Iterable[Circuit], told_ft2: Mapping[str, float]
) -> dict[str, tuple[Circuit, ...]]:
    """Circuits of each farm building by its name: what is in one tells it from a shed or a garage.

    A panel in a detached building, or on a service of no dwelling, with anything of a farm behind
    it feeds a farm building; elsewhere each circuit tells of itself, and stands for a building
    alone (common practice, no source).
    """
    outside = [c for c in circuits if c.place != "common_area" and outside_area(site, c, told_ft2)]
    stands_in = {c.panel_id: _building_of(site, c.panel_id) for c in outside}
    of_farm = {c.id for c in outside if _farm_kinds(c)}
    buildings = {stands_in[c.panel_id] for c in outside if c.id in of_farm} - {None}
    found: dict[str, tuple[Circuit, ...]] = {}
    for circuit in outside:
        building = stands_in[circuit.panel_id]
        if building is not None and building in buildings:
            name = site.name_of[building]
        elif circuit.id in of_farm:
            name = circuit.name
        else:
            continue
        found[name] = (*found.get(name, ()), circuit)
    return found


def _building_of(site: Site, panel_id: str) -> str | None:
    """The panel a building of its own is named by: the nearest detached one at or above this one.

    Where no dwelling hangs on the service its first panel stands for the building. None for a
    panel in the building of a dwelling.
    """
    first: str | None = None
    waiting, seen = [panel_id], {panel_id}
    while waiting:
        here = waiting.pop(0)
        if here in site.panel_by_id:
            if site.panel(here).detached_building:
                return here
            first = here
        for feeder in site.feeders_into.get(here, ()):
            if feeder.from_id not in seen:
                seen.add(feeder.from_id)
                waiting.append(feeder.from_id)
    return first if panel_id in panels_of_no_dwelling(site) else None


def _farm_kinds(circuit: Circuit) -> tuple[str, ...]:
    """Names of what on a circuit is of a farm wherever it stands outside a dwelling."""
    rows = read_toml("appliance_kinds")["kinds"]
    return tuple(a.name for a in circuit.appliances if rows.get(a.kind, {}).get("farm"))
