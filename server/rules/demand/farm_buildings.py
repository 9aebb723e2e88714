"""Which circuits stand in which farm building, and what of a farm is entered as a dwelling's."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

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
    it feeds a farm building; elsewhere circuits of one area stand in one building, and one without
    an area alone. On a farm an area that is called a barn or the like is such a building too
    (common practice, no source).
    """
    outside = [c for c in circuits if c.place != "common_area" and outside_area(site, c, told_ft2)]
    stands_in = {c.id: _building_of(site, c) for c in outside}
    of_farm = {stands_in[c.id] for c in outside if _farm_kinds(c)}
    if of_farm:
        of_farm |= {stands_in[c.id] for c in outside if _called_of_a_farm(c)}
    names = {building: building.name for building in reversed(stands_in.values())}
    found: dict[str, tuple[Circuit, ...]] = {}
    for circuit in outside:
        building = stands_in[circuit.id]
        if building in of_farm:
            name = names[building]
            found[name] = (*found.get(name, ()), circuit)
    return found


def farm_kinds_of_dwelling(
    site: Site, circuits: Iterable[Circuit], told_ft2: Mapping[str, float]
) -> tuple[str, ...]:
    """Names of what is usual on farms and is counted with a dwelling, as its circuit is entered."""
    inside = (c for c in circuits if not outside_area(site, c, told_ft2))
    return tuple(name for c in inside for name in _farm_kinds(c))


def water_alone(circuits: tuple[Circuit, ...]) -> bool:
    """Whether all of a farm in a building moves water: 547.1 asks for dust or what corrodes."""
    rows = read_toml("appliance_kinds")["kinds"]
    of_farm = [rows.get(a.kind, {}) for c in circuits for a in c.appliances]
    of_farm = [row for row in of_farm if row.get("farm")]
    return bool(of_farm) and all(row.get("water_alone") for row in of_farm)


def asks_copper_ground(site: Site, panel_id: str) -> bool:
    """Whether what feeds a panel has a ground of copper: it feeds dust or what corrodes (547)."""
    return any(
        not water_alone(circuits) and any(c.panel_id == panel_id for c in circuits)
        for circuits in farm_circuits(site, site.circuits, {}).values()
    )


@dataclass(frozen=True)
class _Building:
    """What tells a building from another: the panel that it is named by, or an area or circuit."""

    key: str
    name: str = field(compare=False)


def _building_of(site: Site, circuit: Circuit) -> _Building:
    panel_id = _panel_of_building(site, circuit.panel_id)
    if panel_id is not None:
        return _Building(panel_id, site.name_of[panel_id])
    area = circuit.area.strip()
    return (
        _Building(f"area {area.casefold()}", area) if area else _Building(circuit.id, circuit.name)
    )


def _panel_of_building(site: Site, panel_id: str) -> str | None:
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


def _called_of_a_farm(circuit: Circuit) -> bool:
    words = "|".join(read_toml("appliance_kinds")["farm_areas"]["words"])
    return bool(re.search(rf"\b({words})", circuit.area, re.I))
