"""Old three-wire cables of ranges and dryers, whose neutral also grounds the case (250.140)."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.demand.circuit_loads import category_of
from server.rules.hazard_table import hazard
from server.rules.neutral_bonds import service_disconnects
from server.rules.reach import above
from server.rules.words import listed

THREE_WIRE_CATEGORIES = ("cooking", "dryer")


def old_cable_hazards(site: Site) -> Iterator[Finding]:
    """Old three-wire cables that the exception for existing ranges and dryers does not cover."""
    for circuit in site.circuits:
        if circuit.grounding == "three_wire_old":
            yield from _new(circuit)
            yield from _not_at_service(site, circuit)
            yield from _not_allowed(circuit)


def at_service(site: Site, circuit: Circuit) -> bool:
    """Whether a circuit starts where neutral and ground join.

    Not in a panel behind another, nor behind a service disconnect of its own.
    """
    return site.panel(circuit.panel_id).neutral_bonded and not _behind(site, circuit)


def _behind(site: Site, circuit: Circuit) -> str:
    """What its panel stands behind, empty where that is the service itself."""
    ahead = above(site, circuit.panel_id)
    if (ahead - {circuit.panel_id}) & set(site.panel_by_id):
        return "another panel"
    if any(s.building_feeder and s.id in ahead for s in site.services):
        return "the service of the building"
    disconnected = any(f.to_id in ahead for f in service_disconnects(site))
    return "a service disconnect of its own" if disconnected else ""


def _new(circuit: Circuit) -> Iterator[Finding]:
    if circuit.is_new:
        yield hazard(
            "old-three-wire-new",
            circuit.id,
            f"{circuit.name} is planned or newly run and has a three-wire cable, where the "
            "neutral also grounds the case. Only a cable that is already there may stay so.",
            "Run a four-wire cable with a ground wire of its own, and a four-wire outlet and cord.",
        )


def _not_at_service(site: Site, circuit: Circuit) -> Iterator[Finding]:
    if not at_service(site, circuit):
        panel = site.panel(circuit.panel_id)
        apart = "not where neutral and ground join"
        place = f"behind {_behind(site, circuit)}" if panel.neutral_bonded else apart
        yield hazard(
            "old-three-wire-not-at-service",
            circuit.id,
            f"{circuit.name} has an old three-wire cable, where the neutral also grounds the "
            f"case, and {panel.name} is {place}. With a bare neutral, as in old service-entrance "
            "cable, such a circuit must start at the service. Only one whose neutral is insulated "
            "may stay elsewhere, and only where it was always there: moved to this panel or made "
            "longer, it needs a ground wire.",
            "Is the neutral of that cable insulated? Have an electrician look. If it is bare, was "
            "moved, or nobody knows, run a four-wire cable and outlet, or leave the circuit in the "
            "service panel.",
        )


def _not_allowed(circuit: Circuit) -> Iterator[Finding]:
    others = [a.name for a in circuit.appliances if category_of(a) not in THREE_WIRE_CATEGORIES]
    if others:
        yield hazard(
            "old-three-wire-not-allowed",
            circuit.id,
            f"{circuit.name} has an old three-wire cable, where the neutral also grounds the "
            "case. Only ranges, cooktops, ovens and dryers were ever allowed that; on it: "
            f"{listed(sorted(others))}.",
            "Have a cable with a ground wire run. If it is a range, cooktop, oven or dryer, "
            "choose that kind.",
        )
