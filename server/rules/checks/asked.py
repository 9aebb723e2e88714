"""Amps that what is on a branch circuit asks of its breaker and wire."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

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
DROPPED_A = 0.5
"""Less than this of a calculated load is dropped."""
WATER_HEATERS = ("water-heater", "water-heater-heat-pump")


def short_of(asked_a: float, has_a: float) -> bool:
    """Whether a device or a wire is less than a load asks for, its last part of an ampere dropped.

    Less than half an ampere may be (220.5(B), in 2026 120.5(B)).

    >>> short_of(20.3, 20), short_of(20.5, 20)
    (False, True)
    """
    return asked_a - has_a >= DROPPED_A - 1e-9


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
    return _sum_of_fixed_a(circuit, fixed, between_v, rules)


def _sum_of_fixed_a(
    circuit: Circuit, fixed: Sequence[Appliance], between_v: float, rules: Rulebook
) -> float:
    """What these, each wired or with a plate of its own, ask together of one device. [A]"""
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
    return total + for_largest_motor_a(circuit, between_v, rules, fixed)


def fastened_in_place(circuit: Circuit) -> tuple[Appliance, ...]:
    """What is screwed or wired where it stands, with a cord or without; no lights or plugs.

    A tool or a room cooling unit that plugs in is none of it (210.23, 440.62).
    """
    return tuple(
        a
        for a in circuit.appliances
        if _is_fixed(a) and category_of(a) != "individual" and a.kind not in ROOM_COOLING
    )


def by_pole(circuit: Circuit) -> tuple[tuple[Appliance, ...], ...]:
    """What each pole of a circuit feeds, 240 V things on both; all of it on a single pole."""
    if circuit.poles == 1:
        return (circuit.appliances,)
    return tuple(
        tuple(a for a in circuit.appliances if a.volts == BOTH_LEGS_VOLTS or a.on_pole == pole)
        for pole in (1, 2)
    )


def past_half(
    circuit: Circuit, fastened: Iterable[Appliance], between_v: float, rules: Rulebook
) -> bool:
    """Whether what is fastened in place takes more than lights and plugs beside it leave it.

    Half of the circuit's rating (210.23), to the nearest ampere (220.5(B)).
    """
    drawn_a = sum(nameplate_a(a, between_v) for a in fastened)
    return short_of(drawn_a, rules.value("fastened_share_most") * circuit.breaker_a)


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


def for_largest_motor_a(
    circuit: Circuit,
    between_v: float,
    rules: Rulebook,
    among: Sequence[Appliance] | None = None,
) -> float:
    """What the largest motor, ``among`` these, adds where others are on its circuit, else 0. [A]"""
    if len(circuit.appliances) < 2 or circuit.continuous:
        return 0.0
    least_hp = rules.value("combined_motor_least_hp")
    these = circuit.appliances if among is None else among
    motors = [a for a in these if a.horsepower is not None]
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

    [A] on the heavier pole; where no leg is told, all are on one. What is fastened in place is
    summed as well, and with it the largest of the rest where it takes more than half (220.11).
    """
    if not circuit.continuous:
        held: list[float] = []
        others = [0.0]
        for a in circuit.appliances:
            asked = _device_factor(circuit, a, rules) * nameplate_a(a, between_v)
            (held if _held_on(circuit, a) or category_of(a) == "vehicle" else others).append(asked)
        return max(sum(held) + max(others), _fastened_sum_a(circuit, between_v, rules))
    poles = [sum(nameplate_a(a, between_v) for a in carried) for carried in by_pole(circuit)]
    return max(poles) * (1.0 if circuit.full_rated else rules.value("continuous_factor"))


def _fastened_sum_a(circuit: Circuit, between_v: float, rules: Rulebook) -> float:
    """What is fastened in place beside plugs and lights, summed on the heavier pole. [A]"""
    sums = [0.0]
    every = fastened_in_place(circuit)
    for carried in by_pole(circuit):
        fastened = [a for a in carried if a in every]
        if not fastened:
            continue
        total = _sum_of_fixed_a(circuit, fastened, between_v, rules)
        if past_half(circuit, fastened, between_v, rules):
            others = [nameplate_a(a, between_v) for a in carried if a not in every]
            total += max(others, default=0.0)
        sums.append(total)
    return max(sums)


def _is_fixed(appliance: Appliance) -> bool:
    own = category_of(appliance)
    return own not in ("general", "small_appliance", "laundry", "unknown")
