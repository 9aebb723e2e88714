"""Branch circuits: the device against its load, motor and cooling devices, protection asked for."""

from __future__ import annotations

import math
from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Advised, Finding
from server.domain.panel import beside
from server.domain.site import Site
from server.rules.checks.asked import (
    asked_a,
    cooking_kw,
    device_figure,
    for_largest_motor_a,
    short_of,
    wire_asked_a,
)
from server.rules.checks.branch_device import device_checks, main_checks, past_its_most
from server.rules.checks.branch_wire import branch_wire_checks, with_its_wire
from server.rules.checks.charging_together import (
    charging_together_checks,
    shared_a,
    shared_setting,
)
from server.rules.checks.cooling import cooling_checks
from server.rules.checks.drawn import between_legs_v
from server.rules.checks.ground_fault import GROUND_FAULT_TYPES
from server.rules.checks.made import made
from server.rules.checks.motors import motor_checks
from server.rules.checks.nothing_else import nothing_else_checks
from server.rules.checks.outlet_volts import outlet_volts_checks
from server.rules.checks.plugs import needs_own_circuit, of_several_outlets, plug_checks
from server.rules.checks.protection import (
    protection_checks,
)
from server.rules.checks.range_load import left_by_note_3_kw, smaller_by_note_3
from server.rules.checks.several_outlets import (
    next_of_several_a,
    of_several,
    several_outlets_checks,
)
from server.rules.checks.shared import shared_checks
from server.rules.checks.total import total_checks
from server.rules.checks.welders import is_welder
from server.rules.demand.circuit_loads import category_of
from server.rules.editions import Rulebook
from server.rules.ocpd import next_for_outlets_a, standard_or_none_a
from server.rules.old_cables import THREE_WIRE_CATEGORIES, at_service
from server.rules.words import NONE_SO_LARGE, a_rating, listed

FIGURES = (
    "room_cooling_factor_beside",
    "room_cooling_factor",
    "water_heater_factor",
    "fixed_heat_device_factor",
    "vehicle_device_factor",
    "continuous_factor",
)
"""Of several on one circuit the first is cited."""
OF_A_BRANCH = {"continuous_factor": "branch_continuous_factor"}
"""The same figure, cited without what it says of feeders."""
LEAST_SHARE = 0.1
"""Nobody brings a load down further: its entry is wrong (common practice, no source)."""


def circuit_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Findings about single circuits."""
    asked: dict[str, float] = {}
    for circuit in site.circuits:
        between_v = between_legs_v(site, circuit)
        # A welder asks no least device: its wire goes by its duty cycle (630.11).
        welds = is_welder(circuit)
        device_a = 0.0 if welds else asked_a(circuit, between_v, rules)
        asked[circuit.id] = 0.0 if welds else wire_asked_a(circuit, between_v, rules)
        sharing = shared_setting(site, circuit)
        held = sharing is not None and shared_a(sharing, rules) < device_a
        if sharing is not None and held:
            yield from charging_together_checks(circuit, sharing, device_a, rules)
            device_a = asked[circuit.id] = shared_a(sharing, rules)
        for finding in (
            *_device_for_load(circuit, device_a, between_v, rules),
            *total_checks(circuit, device_a, between_v, rules, held=held),
            *plug_checks(site, circuit, rules),
            *several_outlets_checks(circuit, device_a, rules),
            *device_checks(circuit, between_v, rules),
            *motor_checks(circuit, between_v, rules),
            *cooling_checks(circuit, between_v, rules),
        ):
            yield with_its_wire(finding, circuit, asked[circuit.id], between_v, rules)
        yield from shared_checks(circuit, rules)
        yield from nothing_else_checks(site, circuit, rules)
        yield from outlet_volts_checks(site, circuit, rules)
        yield from _multiwire_tie(site, circuit, rules)
        yield from _old_three_wire_kept(site, circuit, rules)
    yield from main_checks(site, rules)
    yield from protection_checks(site, rules)
    yield from branch_wire_checks(site, asked, rules)


def _device_for_load(
    circuit: Circuit, needed: float, between_v: float, rules: Rulebook
) -> Iterator[Finding]:
    if not short_of(needed, circuit.breaker_a):
        return
    names = {device_figure(circuit, a) for a in circuit.appliances} - {None}
    name = next((n for n in FIGURES if n in names), "branch_load")
    if name == "branch_load":
        if cooking_kw(circuit) >= rules.value("range_large_kw"):
            name = "range_device_least_a"
        elif for_largest_motor_a(circuit, between_v, rules):
            name = "combined_motor_factor"
        elif len(circuit.appliances) > 1:
            name = "branch_total"
    larger_a = _next_a(circuit, round(needed, 6), rules)
    device = a_rating(larger_a or 0.0)
    advised = None if larger_a is None else Advised("breaker", amps=larger_a)
    less = _less(circuit, circuit.breaker_a / needed)
    most = past_its_most(circuit, larger_a or 0.0, between_v, rules)
    if larger_a is None:
        mend = (less or "Put it on more than one circuit") + NONE_SO_LARGE
    elif most and len(circuit.appliances) == 1:
        mend, advised = f"Read its plate again: {most}.", None
    elif most or needs_own_circuit(circuit, needed, rules):
        why = f": {most}" if most else ""
        mend, advised = (
            f"{less or 'Put less on it'}, or give what draws most a circuit of its own{why}.",
            None,
        )
    elif name == "range_device_least_a" or less is None:
        mend = f"Use {device} breaker with wire for it."
    else:
        mend = f"{less}, or use {device} breaker with wire for it."
    by_note_3_a = needed - left_by_note_3_kw(circuit) * 1000 / between_v
    yield made(
        "device-below-load",
        "warning" if short_of(by_note_3_a, circuit.breaker_a) else "note",
        circuit.id,
        text=f"What is on {circuit.name} asks for a breaker of {needed:.1f} A or more; it has "
        f"{circuit.breaker_a:g} A.{smaller_by_note_3(circuit)}",
        mend=mend,
        figure=rules.figure(OF_A_BRANCH.get(name, name)),
        value=needed,
        limit=circuit.breaker_a,
        unit="A",
        advised=advised,
    )


def _next_a(circuit: Circuit, needed_a: float, rules: Rulebook) -> float | None:
    """The next breaker for a load, of the ratings that its outlets have; None past the largest."""
    if standard_or_none_a(needed_a) is None:
        return None
    if of_several(circuit):
        return next_of_several_a(circuit, needed_a, rules) or next_for_outlets_a(needed_a)
    next_a = next_for_outlets_a if of_several_outlets(circuit) else standard_or_none_a
    return next_a(needed_a)


def _less(circuit: Circuit, share: float) -> str | None:
    """How the load comes down, or that an entry is hardly right; None where nothing can be less."""
    if share < LEAST_SHARE:
        return f"Correct its watts, which ask for {1.0 / share:,.0f} times its breaker"
    if any(category_of(a) == "vehicle" for a in circuit.appliances):
        return f"Bring the load to {math.floor(share * 100)} % of what it is or less"
    return "Put less on it" if len(circuit.appliances) > 1 else None


def _managed_apart(site: Site, circuit: Circuit, partner: Circuit, rules: Rulebook) -> Finding:
    """That a load manager opens one of a pair without the other, which a handle cannot."""
    held = [c for c in (circuit, partner) if c.energy_group_id is not None]
    by = listed([f"{c.name} by {site.name_of[c.energy_group_id or '']}" for c in held])
    return made(
        "multiwire-managed-apart",
        "note",
        circuit.id,
        text=f"{circuit.name} and {partner.name} share a neutral and one handle, but a load "
        f"manager holds them apart: {by}{'' if len(held) > 1 else ' alone'}. A run opens the one "
        "without the other, as a relay in its hot wire does; a manager that turns the breaker "
        "opens both.",
        mend="Put both under one load manager where it turns their breakers.",
        figure=rules.figure("multiwire_tie"),
    )


def _multiwire_tie(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    partner_id = circuit.multiwire_partner_id
    if partner_id is None or circuit.id > partner_id:
        return
    partner = site.circuit(partner_id)
    if partner.panel_id != circuit.panel_id:
        return
    sensing = [c for c in (circuit, partner) if c.breaker_type in GROUND_FAULT_TYPES]
    if sensing and circuit.poles == partner.poles == 1:
        yield made(
            "multiwire-one-pole-ground-fault",
            "warning",
            circuit.id,
            text=f"{circuit.name} and {partner.name} share a neutral, with a 1-pole ground-fault "
            f"breaker on {listed([c.name for c in sensing])}. It takes what comes back by the "
            "shared neutral for a fault and trips, or its neutral was joined so that it is blind.",
            mend="Fit one 2-pole ground-fault breaker for both, or plain breakers with the "
            "ground-fault protection at the first outlet of each.",
            figure=rules.figure("multiwire_ground_fault"),
        )
    if circuit.outage_role != partner.outage_role:
        roles = [c.outage_role.replace("_", " ") for c in (circuit, partner)]
        yield made(
            "multiwire-roles-differ",
            "warning",
            circuit.id,
            text=f"{circuit.name} and {partner.name} share a neutral and one handle, but in an "
            f"outage the first is {roles[0]} and the other {roles[1]}.",
            mend="Give both the same outage role.",
            figure=rules.figure("multiwire_tie"),
        )
    if circuit.energy_group_id != partner.energy_group_id:
        yield _managed_apart(site, circuit, partner, rules)
    if not beside(circuit.spaces, partner.spaces):
        yield made(
            "multiwire-not-adjacent",
            "warning",
            circuit.id,
            text=f"{circuit.name} and {partner.name} share a neutral but stand in spaces "
            f"{circuit.spaces[0]} and {partner.spaces[0]}, where one handle cannot tie them.",
            mend="Move one next to the other, one space above or below on the same side.",
            figure=rules.figure("multiwire_tie"),
        )
    elif circuit.poles == partner.poles == 1:
        yield made(
            "multiwire-tie-asked",
            "note",
            circuit.id,
            text=f"{circuit.name} and {partner.name} share a neutral on two 1-pole breakers: both "
            "must open together.",
            mend="See that a listed handle tie joins the two breakers, or fit one 2-pole breaker.",
            figure=rules.figure("multiwire_tie"),
        )


def _old_three_wire_kept(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """An old three-wire cable may stay at the service, as long as it is neither new nor moved."""
    allowed = all(category_of(a) in THREE_WIRE_CATEGORIES for a in circuit.appliances)
    old = circuit.grounding == "three_wire_old" and not circuit.is_new
    if old and allowed and at_service(site, circuit):
        yield made(
            "old-three-wire-kept",
            "note",
            circuit.id,
            text=f"{circuit.name} has an old three-wire cable. It may stay only while it is the "
            "cable that was always there, from the service to its outlet; a circuit that is "
            "brought here from another panel, or made longer, needs a ground wire.",
            mend="If the circuit is moved or renewed, run a four-wire cable, and a four-wire "
            "outlet and cord.",
            figure=rules.figure("three_wire_allowance"),
        )
