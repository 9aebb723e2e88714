"""Circuits that every dwelling has of its own: two for counters, one for laundry, one for baths."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.demand.circuit_loads import category_of, counts_as, feeds_counters
from server.rules.demand.outlets import outside_area
from server.rules.demand.units import unit_circuits
from server.rules.editions import Rulebook
from server.rules.tables import read_toml
from server.rules.words import listed


def own_circuit_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """A note for each dwelling whose circuits are entered, but not all that 210.11(C) asks for.

    Only where lights and plugs of its rooms and its floor area are told: a planner that was told
    of a workshop, or of a few circuits, does not hold a dwelling. Laundry that several dwellings
    share is enough for each (210.52(F) exception 1).
    """
    for name, own in _dwellings(site).items():
        if not any(category_of(a) == "general" for c in own for a in c.appliances):
            continue
        least = int(rules.value("small_appliance_circuits_least"))
        counters = sum(counts_as(c, rules) == "small_appliance" and feeds_counters(c) for c in own)
        shared = [c for c in site.circuits if c.place == "common_area"]
        lacking = []
        if counters < least:
            lacking.append(f"kitchen counters have {counters or 'none'} of at least {least}")
        if not any(counts_as(c, rules) == "laundry" for c in (*own, *shared)):
            lacking.append("laundry outlets have none")
        if not any(map(_of_a_bathroom, own)):
            lacking.append("bathroom outlets have none")
        if not lacking:
            continue
        yield made(
            "dwelling-circuits-missing",
            "note",
            own[0].panel_id,
            text=f"Not all the circuits of 20 A that a dwelling has are entered"
            f"{f' for {name}' if name else ''}: {listed(lacking)}. Its demand counts the least of "
            "kitchen and laundry circuits all the same.",
            mend="Enter those that are there. An older house may stand as it was built: ask; "
            "a new kitchen, laundry or bathroom has them.",
            figure=rules.figure("dwelling_circuits"),
        )


def _of_a_bathroom(circuit: Circuit) -> bool:
    rows = read_toml("protection")["ground_fault"]
    row = next(r for r in rows if r["place"] == "bathrooms")
    words = "|".join(row["words"])
    return any(a.kind in row["kinds"] for a in circuit.appliances) or any(
        re.search(rf"\b({words})", text, re.I) for text in (circuit.area, circuit.name)
    )


def _dwellings(site: Site) -> dict[str, Sequence[Circuit]]:
    """Circuits of each dwelling of a told floor area, by its name; empty for the only one."""
    named = unit_circuits(site)
    found: dict[str, Sequence[Circuit]] = {}
    for name, ids in (named or {"": frozenset(c.id for c in site.circuits)}).items():
        own = [c for c in site.circuits if c.id in ids and not outside_area(site, c, {})]
        told = any(site.panel(c.panel_id).floor_area_ft2 for c in own)
        if own and (told or site.floor_area_ft2):
            found[name] = own
    return found
