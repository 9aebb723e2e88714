"""Mends of branch circuits: another breaker, another place, another role."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.edits import free_spaces, move_circuit, with_changes
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.topology import bus_of_circuit
from server.rules.checks.circuits import needs_own_circuit
from server.rules.checks.cooling import nameplate_a
from server.rules.checks.ground_fault import (
    GROUND_FAULT_TYPES,
    ground_fault_asked,
    moved_without_ground_fault,
)
from server.rules.checks.motors import full_load_a, usual_motor_device_a
from server.rules.checks.protection import moved_without_arc_fault
from server.rules.editions import Rulebook
from server.rules.mends.offer import Maker, Offer, with_circuits
from server.rules.ocpd import next_standard_a, standard_at_most_a
from server.rules.words import a_rating


def _breaker(site: Site, finding: Finding, device_a: float) -> Offer:
    circuit = site.circuit(finding.element_id)
    return Offer(
        f"{a_rating(device_a)} breaker on {circuit.name}",
        with_circuits(site, [circuit], breaker_a=device_a),
    )


def smaller_breaker(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """The largest standard breaker within a limit that is told, not one still to be read."""
    if finding.severity == "note":
        return
    if finding.limit is not None and (finding.value or 0.0) > finding.limit:
        yield _breaker(site, finding, standard_at_most_a(finding.limit))


def larger_breaker(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The next standard breaker for what is asked, taken with wire for it."""
    circuit = site.circuit(finding.element_id)
    needed_a = finding.value or 0.0
    if finding.code == "device-below-load" and needs_own_circuit(circuit, needed_a, rules):
        yield from _own_circuit(site, circuit)
        return
    asked = finding.limit if finding.code == "cooling-device-small" else finding.value
    if asked is not None:
        yield _breaker(site, finding, next_standard_a(round(asked, 6)))


def _own_circuit(site: Site, circuit: Circuit) -> Iterator[Offer]:
    """What draws most on a circuit, on a new one of its own in the same panel."""
    if len(circuit.appliances) < 2:
        return
    largest = max(circuit.appliances, key=nameplate_a)
    rest = tuple(a for a in circuit.appliances if a is not largest)
    free = sorted(free_spaces(site, site.panel(circuit.panel_id)))
    for space in free[:1]:
        own = circuit.model_copy(
            update={
                "id": f"{circuit.id}-own",
                "name": f"{largest.name}, own circuit",
                "spaces": (space,),
                "half": None,
                "breaker_type": "dual_function",
                "multiwire_partner_id": None,
                "is_new": True,
                "appliances": (largest,),
            }
        )
        left = circuit.model_copy(update={"appliances": rest})
        kept = tuple(left if c is circuit else c for c in site.circuits)
        yield Offer(
            f"{largest.name} on a new circuit of its own in space {space}",
            with_changes(site, circuits=(*kept, own)),
        )


def usual_motor_breaker(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The usual breaker of the motor, and not the largest for a hard start."""
    (motor,) = site.circuit(finding.element_id).appliances
    full_load = full_load_a(motor.horsepower or 0.0, motor.volts)
    if full_load is not None:
        yield _breaker(site, finding, usual_motor_device_a(full_load, rules))


def arc_fault_breaker(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A breaker for arc and ground faults on the circuit."""
    circuit = site.circuit(finding.element_id)
    yield Offer(
        f"a breaker for arc and ground faults on {circuit.name}",
        with_circuits(site, [circuit], breaker_type="dual_function"),
    )


def ground_fault_breaker(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A ground-fault breaker on the circuit, for arcs too where it stops those already."""
    circuit = site.circuit(finding.element_id)
    kind = "dual_function" if circuit.breaker_type == "afci" else "gfci"
    yield Offer(
        f"a ground-fault breaker on {circuit.name}",
        with_circuits(site, [circuit], breaker_type=kind),
    )


def arc_fault_breakers(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """Arc-fault breakers on every room circuit moved to a bus, for ground faults where asked."""
    for circuits in moved_without_arc_fault(site, rules):
        if circuits[0].panel_id != finding.element_id or not _have_room(circuits):
            continue
        both = [
            c
            for c in circuits
            if c.breaker_type in GROUND_FAULT_TYPES or ground_fault_asked(site, c, rules)
        ]
        changed = with_circuits(site, circuits, breaker_type="afci")
        if both:
            changed = with_circuits(changed, both, breaker_type="dual_function")
        words = f", for ground faults too on {'; '.join(c.name for c in both)}" if both else ""
        yield Offer(f"arc-fault breakers on {'; '.join(c.name for c in circuits)}{words}", changed)


def ground_fault_breakers(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """Ground-fault breakers on every moved circuit that asks, for arcs too where it has that."""
    for moved in moved_without_ground_fault(site, rules):
        circuits = [c for c, asked in moved.asked if not asked.always]
        if moved.panel_id != finding.element_id or not circuits or not _have_room(circuits):
            continue
        arcs = [c for c in circuits if c.breaker_type == "afci"]
        changed = with_circuits(site, circuits, breaker_type="gfci")
        if arcs:
            changed = with_circuits(changed, arcs, breaker_type="dual_function")
        yield Offer(
            f"ground-fault breakers on {'; '.join(c.name for c in circuits)}",
            changed,
        )


def _have_room(circuits: list[Circuit]) -> bool:
    """Half a space has no room for such a breaker; a shared neutral needs one with two poles."""
    return not any(c.half is not None or c.multiwire_partner_id is not None for c in circuits)


def plain_pair(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """Plain breakers on a pair that shares a neutral, its protection at the first outlet."""
    circuit = site.circuit(finding.element_id)
    partner = site.circuit(circuit.multiwire_partner_id or circuit.id)
    yield Offer(
        f"plain breakers on {circuit.name} and {partner.name}, tied, and the ground-fault "
        "protection at the first outlet of each",
        with_circuits(site, [circuit, partner], breaker_type="standard"),
    )


def beside_partner(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A multiwire circuit one space above or below its partner."""
    circuit = site.circuit(finding.element_id)
    partner = site.circuit(circuit.multiwire_partner_id or circuit.id)
    for mover, stays in ((circuit, partner), (partner, circuit)):
        for space in (stays.spaces[0] + 2, stays.spaces[0] - 2):
            if mover.poles == 1 and 1 <= space <= site.panel(stays.panel_id).spaces:
                yield Offer(
                    f"{mover.name} in space {space}, next to {stays.name}",
                    move_circuit(site, mover.id, stays.panel_id, spaces=(space,)),
                )


def whole_space(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A tandem circuit on a space of its own, in its panel."""
    circuit = site.circuit(finding.element_id)
    moved = move_circuit(site, circuit.id, circuit.panel_id)
    yield Offer(f"{circuit.name} in space {moved.circuit(circuit.id).spaces[0]}, alone", moved)


def always_on(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """An outage role of on."""
    circuit = site.circuit(finding.element_id)
    yield Offer(
        f"the outage role of {circuit.name} on", with_circuits(site, [circuit], outage_role="on")
    )


def to_backed_up(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A must-serve circuit in each panel of a backed-up bus, then with a battery of its own."""
    circuit = site.circuit(finding.element_id)
    free = site if not circuit.pinned else with_circuits(site, [circuit], pinned=False)
    for panel_id in backed_up_panels(site):
        yield Offer(
            f"{circuit.name} in {site.name_of[panel_id]}",
            move_circuit(free, circuit.id, panel_id),
        )


def backed_up_panels(site: Site) -> tuple[str, ...]:
    """Panels of backed-up buses that hold a circuit already."""
    buses = bus_of_circuit(site)
    return tuple(
        dict.fromkeys(c.panel_id for c in site.circuits if buses[c.id].kind == "backed_up")
    )


BRANCH_MENDS: dict[str, Maker] = {
    "device-below-load": larger_breaker,
    "cooling-device-small": larger_breaker,
    "cooling-device-large": smaller_breaker,
    "breaker-above-appliance": smaller_breaker,
    "motor-device-large": usual_motor_breaker,
    "breaker-above-wire": smaller_breaker,
    "plug-breaker-large": smaller_breaker,
    "new-circuit-arc-fault": arc_fault_breaker,
    "new-circuit-ground-fault": ground_fault_breaker,
    "tub-ground-fault": ground_fault_breaker,
    "arc-fault-on-a-move": arc_fault_breakers,
    "ground-fault-on-a-move": ground_fault_breakers,
    "multiwire-not-adjacent": beside_partner,
    "multiwire-same-leg": beside_partner,
    "multiwire-one-pole-ground-fault": plain_pair,
    "tandem-not-permitted": whole_space,
    "must-serve-not-always-on": always_on,
    "must-serve-goes-dead": to_backed_up,
}
