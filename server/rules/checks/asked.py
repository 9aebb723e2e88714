"""Amps that what is on a branch circuit asks of its breaker and wire."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.rules.checks.cooling import ROOM_COOLING
from server.rules.checks.drawn import full_load_a, nameplate_a
from server.rules.checks.range_load import cooking_branch_kw, plate_kw
from server.rules.demand.circuit_loads import (
    category_of,
    kind_row,
    left_out_beside,
    wired_motor,
)
from server.rules.editions import Rulebook

FACTORS = {
    "vehicle": "vehicle_device_factor",
    "room_heat": "fixed_heat_device_factor",
    "central_heat": "fixed_heat_device_factor",
}
BESIDE = "room_cooling_factor_beside"
BOTH_LEGS_VOLTS = 240
WATER_HEATERS = ("water-heater", "water-heater-heat-pump")


def wire_asked_a(circuit: Circuit, between_v: float, rules: Rulebook) -> float:
    """Amps what is on a circuit asks of its wire, ``between_v`` between its legs. [A]

    The share of a circuit that a room cooling unit may take beside others (440.62(C)) is no
    ampacity: its wire carries what it draws.
    """
    asked = asked_a(circuit, between_v, rules)
    if all(device_figure(circuit, a) != BESIDE for a in circuit.appliances):
        return asked
    drawn_a = max(nameplate_a(a, between_v) for a in circuit.appliances)
    return min(asked, max(drawn_a, circuit.breaker_a))


def asked_a(circuit: Circuit, between_v: float, rules: Rulebook) -> float:
    """Amps what is on a circuit asks of its breaker, ``between_v`` between its legs. [A]

    Of a heat pump's heating and cooling, one machine, the larger (220.60).
    """
    beside = left_out_beside(circuit.appliances)
    if beside:
        kept = tuple(a for a in circuit.appliances if a not in beside)
        circuit = circuit.model_copy(update={"appliances": kept})
    needed = needed_device_a(circuit, between_v, rules)
    return _needed_at_least_a(circuit, between_v, rules) if needed is None else needed


def needed_device_a(circuit: Circuit, between_v: float, rules: Rulebook) -> float | None:
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
        total += _device_factor(circuit, appliance, rules) * _drawn_a(appliance, between_v)
    if cooking:
        kw = sum(map(plate_kw, cooking))
        amps = cooking_branch_kw(cooking) * 1000 / between_v
        if kw >= rules.value("range_large_kw"):
            amps = max(amps, rules.value("range_device_least_a"))
        held = circuit.continuous and not circuit.full_rated
        total += amps * (rules.value("continuous_factor") if held else 1.0)
    return total + for_largest_motor_a(circuit, between_v, rules)


def _held_on(circuit: Circuit, appliance: Appliance) -> bool:
    """Whether it runs three hours or more, by what its circuit says or by its kind."""
    return circuit.continuous or bool((kind_row(appliance.kind) or {}).get("continuous"))


def device_figure(circuit: Circuit, appliance: Appliance) -> str | None:
    """Name of the factor an appliance asks of its device, None where it counts as it is."""
    if appliance.kind in WATER_HEATERS:
        return "water_heater_factor"
    if appliance.kind in ROOM_COOLING:
        alone = len(circuit.appliances) == 1
        return "room_cooling_factor" if alone else BESIDE
    held = "continuous_factor" if _held_on(circuit, appliance) else None
    return FACTORS.get(category_of(appliance), held)


def _device_factor(circuit: Circuit, appliance: Appliance, rules: Rulebook) -> float:
    """Its share of its amps, 1.25 or as its article says.

    A device rated for 100 % takes off the 125 % of a continuous load alone (210.20(A)): 625.41,
    422.13, 424.4(B) and 440.62 know no such exception.
    """
    name = device_figure(circuit, appliance)
    if name is None or (circuit.full_rated and name == "continuous_factor"):
        return 1.0
    return rules.value(name)


def for_largest_motor_a(circuit: Circuit, between_v: float, rules: Rulebook) -> float:
    """What the largest motor adds where other loads are on its circuit, else 0. [A]"""
    if len(circuit.appliances) < 2 or circuit.continuous:
        return 0.0
    least_hp = rules.value("combined_motor_least_hp")
    motors = [a for a in circuit.appliances if a.horsepower is not None]
    largest = max(
        (a for a in motors if (a.horsepower or 0.0) > least_hp),
        key=lambda a: _drawn_a(a, between_v),
        default=None,
    )
    if largest is None or _device_factor(circuit, largest, rules) > 1.0:
        return 0.0
    return (rules.value("combined_motor_factor") - 1.0) * _drawn_a(largest, between_v)


def _drawn_a(appliance: Appliance, between_v: float) -> float:
    """Amps of an appliance; a wired motor by its table where that is more (430.6(A)(1)). [A]"""
    plate_a = nameplate_a(appliance, between_v)
    if appliance.horsepower is None or not wired_motor(appliance):
        return plate_a
    return max(full_load_a(appliance, between_v) or 0.0, plate_a)


def cooking_kw(circuit: Circuit) -> float:
    """Cooking on a circuit at its plates. [kW]"""
    cooking = [a for a in circuit.appliances if category_of(a) == "cooking"]
    return sum(a.load_w / a.power_factor for a in cooking) / 1000


def _needed_at_least_a(circuit: Circuit, between_v: float, rules: Rulebook) -> float:
    """What plugs and lights ask of their device: all that is held on and the largest of the rest.

    [A] on the heavier pole; where no leg is told, all are on one.
    """
    if not circuit.continuous:
        held: list[float] = []
        others = [0.0]
        for a in circuit.appliances:
            asked = _device_factor(circuit, a, rules) * nameplate_a(a, between_v)
            (held if _held_on(circuit, a) or category_of(a) == "vehicle" else others).append(asked)
        return sum(held) + max(others)
    by_pole = [
        sum(
            nameplate_a(a, between_v)
            for a in circuit.appliances
            if circuit.poles == 1 or a.volts == BOTH_LEGS_VOLTS or a.on_pole == pole
        )
        for pole in (1, 2)
    ]
    return max(by_pole) * (1.0 if circuit.full_rated else rules.value("continuous_factor"))


def _is_fixed(appliance: Appliance) -> bool:
    own = category_of(appliance)
    return own not in ("general", "small_appliance", "laundry", "unknown")
