"""Mends of branch circuits: another breaker, another place, another role."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.edits import free_spaces, move_circuit, with_changes
from server.domain.finding import Advised, Finding
from server.domain.pairs import pair_of, proposed_move
from server.domain.site import Site
from server.domain.topology import bus_of_circuit
from server.rules.checks.asked import fastened_in_place
from server.rules.checks.branch_wire import wire_of_breaker
from server.rules.checks.drawn import between_legs_v, nameplate_a
from server.rules.checks.ground_fault import (
    GROUND_FAULT_TYPES,
    ground_fault_asked,
    moved_without_ground_fault,
)
from server.rules.checks.nothing_else import mixed
from server.rules.checks.protection import moved_without_arc_fault
from server.rules.checks.shared import beside_heater
from server.rules.editions import Rulebook
from server.rules.mends.offer import Maker, Offer, with_circuits
from server.rules.words import a_rating, listed


def as_advised(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """The breaker or the wire that the mend names, on the circuit found."""
    circuit, advised = site.circuit(finding.element_id), finding.advised
    if advised is None:
        return
    if advised.of == "wire":
        yield Offer(
            f"{advised} {_cable(circuit)} to {circuit.name}",
            with_circuits(site, [circuit], **_renewed(advised)),
        )
        return
    device_a = advised.amps or 0.0
    words, wire = f"{a_rating(device_a)} breaker", {}
    if advised.size:
        words += f" and {advised.size} {advised.metal} {_cable(circuit)}"
        wire = _renewed(advised)
    yield Offer(
        f"{words} on {circuit.name}",
        with_circuits(site, [circuit], breaker_a=device_a, **wire),
    )


def _renewed(advised: Advised) -> dict[str, Any]:
    """The wire that is run anew, which has a ground wire (250.140)."""
    return {
        "wire_size": advised.size,
        "wire_metal": advised.metal,
        "grounding": "four_wire",
    }


def _cable(circuit: Circuit) -> str:
    """What is run: in place of an old three-wire cable one of four wires."""
    return "four-wire cable" if circuit.grounding == "three_wire_old" else "wire"


def larger_breaker(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The breaker that the mend names, else what draws most on a circuit of its own."""
    if finding.advised is None:
        yield from _own_circuit(site, site.circuit(finding.element_id), rules)
    yield from as_advised(site, finding, rules)


def _own_circuit(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Offer]:
    """What draws most on a circuit, on a new one of its own in the same panel, with wire for it."""
    if len(circuit.appliances) < 2:
        return
    between_v = between_legs_v(site, circuit)
    largest = max(circuit.appliances, key=lambda a: nameplate_a(a, between_v))
    yield from _new_circuit(
        site,
        circuit,
        rules,
        movers=(largest,),
        breaker_a=circuit.breaker_a,
        words=f"{largest.name} on a new circuit of its own",
    )


def fastened_apart(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """All that is fastened in place on a new circuit in the same panel, apart from the rest."""
    circuit = site.circuit(finding.element_id)
    yield from _apart(site, circuit, fastened_in_place(circuit), rules)


def apart_from_heater(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """What may not be with a furnace on a new circuit in the same panel."""
    circuit = site.circuit(finding.element_id)
    yield from _apart(site, circuit, beside_heater(circuit), rules)


def _apart(
    site: Site, circuit: Circuit, movers: tuple[Appliance, ...], rules: Rulebook
) -> Iterator[Offer]:
    """Some of a circuit's appliances on a new circuit with a breaker like its own."""
    yield from _new_circuit(
        site,
        circuit,
        rules,
        movers=movers,
        breaker_a=circuit.breaker_a,
        words=f"{listed([a.name for a in movers])} on a new circuit",
    )


def apart_from_others(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The part of a required circuit that its finding names, on a new circuit."""
    circuit = site.circuit(finding.element_id)
    found = mixed(site, circuit)
    if found is not None:
        yield from _new_circuit(
            site,
            circuit,
            rules,
            movers=found.movers(circuit, rules),
            breaker_a=rules.value(found.row["rating"]),
            words=found.apart_words(circuit, rules, " on "),
        )


def _new_circuit(
    site: Site,
    circuit: Circuit,
    rules: Rulebook,
    *,
    movers: tuple[Appliance, ...],
    breaker_a: float,
    words: str,
) -> Iterator[Offer]:
    """Part of what is on a circuit, on a new one in the same panel, with wire for its breaker."""
    rest = tuple(a for a in circuit.appliances if a not in movers)
    free = sorted(free_spaces(site, site.panel(circuit.panel_id)))
    both = circuit.poles > 1
    places = [(s, s + 2) for s in free if s + 2 in free] if both else [(s,) for s in free]
    for spaces in places[:1]:
        own = circuit.model_copy(
            update={
                "id": f"{circuit.id}-own",
                "name": f"{movers[0].name}, own circuit",
                "spaces": spaces,
                "half": None,
                "breaker_a": breaker_a,
                "breaker_type": circuit.breaker_type if both else "dual_function",
                "multiwire_partner_id": None,
                "is_new": True,
                "appliances": movers,
            }
        )
        if own.wire_size is not None:
            wire = wire_of_breaker(own, between_legs_v(site, circuit), rules)
            own = own.model_copy(update={"wire_size": wire, "wire_metal": "copper"})
        left = circuit.model_copy(update={"appliances": rest})
        kept = tuple(left if c is circuit else c for c in site.circuits)
        yield Offer(f"{words} in space {spaces[0]}", with_changes(site, circuits=(*kept, own)))


def arc_fault_breaker(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A breaker for arc and ground faults on the circuit, alone on its neutral."""
    circuit = site.circuit(finding.element_id)
    if circuit.multiwire_partner_id is not None:
        return
    yield Offer(
        f"a breaker for arc and ground faults on {circuit.name}",
        with_circuits(site, [circuit], breaker_type="dual_function"),
    )


def ground_fault_breaker(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A ground-fault breaker on the circuit, for arcs too where it stops those already.

    A pair that shares a neutral needs one 2-pole breaker for both, for a person to choose.
    """
    circuit = site.circuit(finding.element_id)
    if circuit.multiwire_partner_id is not None:
        return
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
    movers = pair_of(site, finding.element_id)
    free = with_circuits(site, movers, pinned=False)
    for panel_id in backed_up_panels(site):
        yield Offer(
            f"{listed([c.name for c in movers])} in {site.name_of[panel_id]}",
            proposed_move(free, finding.element_id, panel_id),
        )


def backed_up_panels(site: Site) -> tuple[str, ...]:
    """Panels of backed-up buses that hold a circuit already."""
    buses = bus_of_circuit(site)
    return tuple(
        dict.fromkeys(c.panel_id for c in site.circuits if buses[c.id].kind == "backed_up")
    )


BRANCH_MENDS: dict[str, Maker] = {
    "device-below-load": larger_breaker,
    "several-outlets-rating": as_advised,
    "vehicle-not-alone": larger_breaker,
    "cooling-device-small": as_advised,
    "cooling-device-large": as_advised,
    "breaker-above-appliance": as_advised,
    "motor-device-large": as_advised,
    "breaker-above-wire": as_advised,
    "branch-wire-small": as_advised,
    "fastened-past-half": fastened_apart,
    "heater-not-alone": apart_from_heater,
    "plug-breaker-large": as_advised,
    "plug-circuit-rating": as_advised,
    "plug-circuit-shared": apart_from_others,
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
