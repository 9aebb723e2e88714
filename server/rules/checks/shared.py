"""What shares a circuit and may not: 120 V outlets on a large breaker, dryers, cars, furnaces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.rules.checks.made import made
from server.rules.checks.protection import PLUGS_AND_LIGHTS
from server.rules.cords import on_a_cord
from server.rules.demand.circuit_loads import category_of, kind_row
from server.rules.editions import Rulebook
from server.rules.words import a_rating, listed

_SHARING = (
    " Chargers that share power between them are under one: enter it, with the amps it lets on."
)


def shared_checks(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """Findings about what stands on one breaker with something else, or on both its legs."""
    yield from _on_one_leg_of_two(circuit, rules)
    if len(circuit.appliances) > 1:
        yield from _dryer_not_alone(circuit, rules)
        yield from _vehicle_not_alone(circuit, rules)
        yield from _heater_not_alone(circuit, rules)


def beside_heater(circuit: Circuit) -> tuple[Appliance, ...]:
    """What shares the circuit of a furnace or boiler that burns fuel and is no part of it.

    Its pump, humidifier or air cleaner and wired cooling may be there (422.12 exceptions).
    """
    if not any(_row(a).get("central_heater") for a in circuit.appliances):
        return ()
    heater = next(a for a in circuit.appliances if _row(a).get("central_heater"))
    return tuple(a for a in circuit.appliances if a is not heater and not _is_part_of_heater(a))


def _row(appliance: Appliance) -> Mapping[str, Any]:
    return kind_row(appliance.kind) or {}


def _is_part_of_heater(appliance: Appliance) -> bool:
    if _row(appliance).get("central_heater"):
        return False
    cooled = category_of(appliance) in ("cooling", "heat_pump") and not on_a_cord(appliance.kind)
    return bool(_row(appliance).get("of_heater")) or cooled or appliance.kind == "air-handler"


def _heater_not_alone(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """A furnace or boiler that burns fuel, with what may not be on its circuit."""
    others = beside_heater(circuit)
    if not others:
        return
    heater = next(a for a in circuit.appliances if _row(a).get("central_heater"))
    names = listed([a.name for a in others])
    # A kind that tells nothing may be the heater's own pump.
    unsure = all(category_of(a) == "unknown" for a in others)
    yield made(
        "heater-not-alone",
        "note" if unsure else "warning",
        circuit.id,
        text=f"{circuit.name} feeds {heater.name} and also {names}. A furnace or boiler that "
        "burns fuel has a circuit of its own; only its own pump, valve, humidifier or air "
        "cleaner, and cooling that is wired in, may be on it.",
        mend=f"Give {names} a circuit apart, unless it is a part of the heater."
        if unsure
        else f"Give {names} a circuit apart.",
        figure=rules.figure("heater_circuit"),
    )


def _on_one_leg_of_two(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """120 V lights and plugs behind a breaker of two poles that is too large for them."""
    names = [
        a.name
        for a in circuit.appliances
        if a.volts == 120 and (on_a_cord(a.kind) or category_of(a) in PLUGS_AND_LIGHTS)
    ]
    usual, most = rules.value("plug_device_usual_a"), rules.value("plug_device_most_a")
    if circuit.poles == 1 or not names or circuit.breaker_a <= usual:
        return
    yield made(
        "plug-breaker-large",
        "warning" if circuit.breaker_a > most or len(circuit.appliances) > 1 else "note",
        circuit.id,
        text=f"{circuit.name} feeds {listed(names)} at 120 V from "
        f"{a_rating(circuit.breaker_a)} breaker of two poles. Outlets of 15 A or {usual:g} A may "
        "not stand on it, nor a dwelling’s lights.",
        mend=f"Give {listed(names)} a circuit of 15 A or {usual:g} A.",
        figure=rules.figure("plug_outlet_rating"),
        value=circuit.breaker_a,
        limit=usual,
        unit="A",
    )


def _dryer_not_alone(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    figure = rules.figure("dryer_device_most_a")
    dryers = [a.name for a in circuit.appliances if category_of(a) == "dryer"]
    if not dryers or circuit.breaker_a <= figure.value:
        return
    yield made(
        "breaker-above-appliance",
        "warning",
        circuit.id,
        text=f"{circuit.name} has {a_rating(circuit.breaker_a)} breaker and feeds "
        f"{listed([a.name for a in circuit.appliances])}; {figure.value:g} A is the most for "
        f"{listed(dryers)}, whose cord and outlet are made for that.",
        mend=f"Give {listed(dryers)} a circuit of {figure.value:g} A alone, unless a plate allows "
        "more.",
        figure=figure,
        value=circuit.breaker_a,
        limit=figure.value,
        unit="A",
    )


def _vehicle_not_alone(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """Equipment of more than 120 V, each of which asks for a circuit; a load manager lifts that."""
    cars = [a.name for a in circuit.appliances if category_of(a) == "vehicle" and a.volts > 120]
    if not cars or circuit.energy_group_id is not None:
        return
    yield made(
        "vehicle-not-alone",
        "warning",
        circuit.id,
        text=f"{circuit.name} feeds {listed([a.name for a in circuit.appliances])}; each outlet "
        "for charging a vehicle stands on a circuit of its own.",
        mend=f"Give {cars[0]} a circuit of its own, or put them under a load manager that is "
        f"listed for it.{_SHARING if len(cars) > 1 else ''}",
        figure=rules.figure("vehicle_circuit"),
    )
