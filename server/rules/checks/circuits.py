"""Branch circuits: the device against its load, motor and cooling devices, protection asked for."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.topology import bus_of_circuit
from server.rules.checks.made import made
from server.rules.demand.cooking import cooking_demand
from server.rules.demand.mapping import category_of
from server.rules.editions import Rulebook
from server.rules.ocpd import next_standard_a, standard_at_most_a, standard_ratings_a
from server.rules.tables import read_toml
from server.rules.words import listed, percent

FACTORS = {
    "vehicle": "vehicle_device_factor",
    "room_heat": "fixed_heat_device_factor",
    "central_heat": "fixed_heat_device_factor",
}
BOTH_LEGS_VOLTS = 240
PLUGS_AND_LIGHTS = ("general", "small_appliance", "laundry")
WATER_HEATERS = ("water-heater", "water-heater-heat-pump")


def circuit_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Findings about single circuits."""
    for circuit in site.circuits:
        yield from _device_for_load(circuit, rules)
        yield from _plugs_and_lights(circuit, rules)
        yield from _motor_device(circuit, rules)
        yield from _cooling_device(circuit, rules)
        yield from _multiwire_tie(site, circuit, rules)
    yield from _protection_on_a_move(site, rules)
    yield from _branch_wire(site, rules)


def amps_of(appliance: Appliance) -> float:
    """Nameplate amps. [A]"""
    return appliance.load_w / appliance.power_factor / appliance.volts


def needed_device_a(circuit: Circuit, rules: Rulebook) -> float | None:
    """Amps a fixed circuit asks of its device, None where it feeds plugs and lights. [A]

    Vehicle equipment, fixed heat, water heaters and continuous loads at 125 %, several cooking
    appliances by the demand table, the rest at its nameplate.
    """
    fixed = [a for a in circuit.appliances if _is_fixed(a)]
    if not fixed or len(fixed) != len(circuit.appliances):
        return None
    cooking = [a for a in fixed if category_of(a) == "cooking"]
    total = 0.0
    for appliance in fixed:
        if appliance in cooking:
            continue
        name = FACTORS.get(category_of(appliance))
        if appliance.kind in WATER_HEATERS:
            name = "water_heater_factor"
        elif name is None and circuit.continuous:
            name = "continuous_factor"
        factor = 1.0 if name is None or circuit.full_rated else rules.value(name)
        total += factor * amps_of(appliance)
    if cooking:
        kw = sum(a.load_w / a.power_factor for a in cooking) / 1000
        notes = read_toml("cooking")["notes"]
        covered = notes["column_c_kw"] < kw <= notes["largest_kw"]
        amps = (cooking_demand([kw]).demand_kw if covered else kw) * 1000 / 240
        held = circuit.continuous and not circuit.full_rated
        total += amps * (rules.value("continuous_factor") if held else 1.0)
    return total


def _needed_at_least_a(circuit: Circuit, rules: Rulebook) -> float:
    """What plugs and lights ask of their device: the largest appliance, or all that is held on.

    [A] on the heavier pole.
    """
    if not circuit.continuous:
        return max((amps_of(a) for a in circuit.appliances), default=0.0)
    by_pole = [
        sum(
            amps_of(a)
            for a in circuit.appliances
            if circuit.poles == 1 or a.volts == BOTH_LEGS_VOLTS or a.on_pole == pole
        )
        for pole in (1, 2)
    ]
    return max(by_pole) * (1.0 if circuit.full_rated else rules.value("continuous_factor"))


def _is_fixed(appliance: Appliance) -> bool:
    own = category_of(appliance)
    return own not in ("general", "small_appliance", "laundry", "unknown")


def _device_for_load(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    needed = needed_device_a(circuit, rules)
    if needed is None:
        needed = _needed_at_least_a(circuit, rules)
    if needed <= circuit.breaker_a + 0.5:
        return
    categories = {category_of(a) for a in circuit.appliances}
    name = next((FACTORS[c] for c in sorted(categories) if c in FACTORS), "continuous_factor")
    if any(a.kind in WATER_HEATERS for a in circuit.appliances):
        name = "water_heater_factor"
    if name == "continuous_factor" and not circuit.continuous:
        name = "branch_load"
    device = next_standard_a(round(needed, 6))
    yield made(
        "device-below-load",
        "warning",
        circuit.id,
        text=f"What is on {circuit.name} asks for a breaker of {needed:.1f} A or more; it has "
        f"{circuit.breaker_a:g} A.",
        mend=f"Bring the load to {percent(circuit.breaker_a / needed)} of what it is or less, or "
        f"use a {device:g} A breaker with wire for it.",
        figure=rules.figure(name),
        value=needed,
        limit=circuit.breaker_a,
        unit="A",
    )


def _plugs_and_lights(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    figure = rules.figure("plug_device_most_a")
    plugs = any(category_of(a) in PLUGS_AND_LIGHTS for a in circuit.appliances)
    if plugs and circuit.poles == 1 and circuit.breaker_a > figure.value:
        yield made(
            "plug-breaker-large",
            "warning",
            circuit.id,
            text=f"{circuit.name} feeds lights or plugs from a {circuit.breaker_a:g} A breaker; "
            f"{figure.value:g} A is the most for them, and less for common outlets and wire.",
            mend="Read the breaker and the outlets: 15 A or 20 A is usual.",
            figure=figure,
            value=circuit.breaker_a,
            limit=figure.value,
            unit="A",
        )


def _motor_device(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """A single motor's breaker is at most 250 % of its table amps, the next size up allowed."""
    if len(circuit.appliances) != 1:
        return
    motor = circuit.appliances[0]
    if motor.horsepower is None or category_of(motor) in ("cooling", "heat_pump"):
        return
    full_load = full_load_a(motor.horsepower, motor.volts)
    if full_load is None:
        return
    figure = rules.figure("motor_device_factor")
    usual = next_standard_a(figure.value * full_load)
    smallest = standard_ratings_a()[0]
    large = full_load > rules.value("motor_device_large_a")
    start = rules.value("motor_device_factor_start_large" if large else "motor_device_factor_start")
    most = max(usual, standard_at_most_a(max(start * full_load, smallest)))
    if circuit.breaker_a <= max(usual, smallest):
        return
    over = circuit.breaker_a > most
    yield made(
        "motor-device-large",
        "warning" if over else "note",
        circuit.id,
        text=f"{motor.name} draws {full_load:g} A by the table; its breaker of "
        f"{circuit.breaker_a:g} A is above {usual:g} A"
        + (f" and above {most:g} A, the most there is for a hard start." if over else "."),
        mend=f"Use a breaker of {usual:g} A"
        + ("." if over else f"; up to {most:g} A only where it will not start on less."),
        figure=figure,
        value=circuit.breaker_a,
        limit=most if over else usual,
        unit="A",
    )


def full_load_a(horsepower: float, volts: int) -> float | None:
    """Table full-load amps of a single-phase motor, None for a size not in the table. [A]

    >>> full_load_a(1.0, 240), full_load_a(0.333, 120)
    (8.0, 7.2)
    """
    table = read_toml("motors")
    column = table["table"]["volts"].index(230 if volts == 240 else 115)
    for row in table["rows"]:
        if abs(row["hp"] - horsepower) < 0.01:
            return float(row["full_load_a"][column])
    return None


def _cooling_device(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    units = [a for a in circuit.appliances if category_of(a) in ("cooling", "heat_pump")]
    if not units or circuit.poles == 1:
        return
    amps = max(amps_of(a) for a in units)
    figure = rules.figure("cooling_device_factor_start")
    if circuit.breaker_a > max(standard_ratings_a()[0], figure.value * amps):
        yield made(
            "cooling-device-large",
            "note",
            circuit.id,
            text=f"{units[0].name} draws {amps:.1f} A; its breaker of "
            f"{circuit.breaker_a:g} A is above {percent(figure.value)} of that, which only its "
            "plate can allow.",
            mend="Read the maximum overcurrent device (MOCP) on its plate and use that, rounded "
            "down to a standard size.",
            figure=figure,
            value=circuit.breaker_a,
            limit=figure.value * amps,
            unit="A",
        )
        return
    yield made(
        "cooling-plate-asked",
        "note",
        circuit.id,
        text=f"{units[0].name}: its plate gives a minimum circuit ampacity (MCA) and a maximum "
        "overcurrent device (MOCP), which govern its wire and breaker.",
        mend="Read both from the plate and compare them with the wire and the "
        f"{circuit.breaker_a:g} A breaker.",
        figure=rules.figure("cooling_circuit_factor"),
    )


def _multiwire_tie(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    partner_id = circuit.multiwire_partner_id
    if partner_id is None or circuit.id > partner_id:
        return
    partner = site.circuit(partner_id)
    if partner.panel_id != circuit.panel_id:
        return
    adjacent = abs(partner.spaces[0] - circuit.spaces[0]) == 2
    if not adjacent:
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


def _protection_on_a_move(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """One note for each backed-up or switchable bus with plain breakers on plug circuits."""
    bus = bus_of_circuit(site)
    most = rules.value("arc_fault_most_a")
    by_bus: dict[str, list[Circuit]] = {}
    for circuit in site.circuits:
        own = bus[circuit.id]
        plug = any(category_of(a) in PLUGS_AND_LIGHTS for a in circuit.appliances)
        if (
            own.kind in ("backed_up", "switchable")
            and plug
            and circuit.poles == 1
            and (circuit.breaker_a <= most and circuit.breaker_type in ("standard", "tandem"))
        ):
            by_bus.setdefault(own.id, []).append(circuit)
    for circuits in by_bus.values():
        names = listed([c.name for c in circuits])
        for code, words, name in (
            ("arc-fault-on-a-move", "arc-fault", "arc_fault_extension"),
            ("ground-fault-on-a-move", "ground-fault", "ground_fault_extension"),
        ):
            yield made(
                code,
                "note",
                circuits[0].panel_id,
                text=f"Moving a circuit can require {words} protection for it. On a plain "
                f"breaker: {names}.",
                mend=f"Ask which of them need {words} protection here, and allow for the breaker.",
                figure=rules.figure(name),
            )


def _branch_wire(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Once for a site: nothing here knows what wire leaves a branch breaker."""
    if site.circuits:
        yield made(
            "branch-wire-unknown",
            "note",
            "",
            text="The size of branch wire is not entered and not checked. A breaker that fits its "
            "load can still be too large for its wire.",
            mend="Have the wire at each breaker read before a breaker is made larger or a circuit "
            "is moved.",
            figure=rules.figure("branch_wire"),
        )
