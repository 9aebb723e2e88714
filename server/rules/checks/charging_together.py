"""Chargers of one circuit that share power between them, as a load manager lets on."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.rules.checks.made import made
from server.rules.demand.circuit_loads import category_of
from server.rules.editions import Rulebook
from server.rules.words import listed


def shared_setting(site: Site, circuit: Circuit) -> EnergyGroup | None:
    """The manager that holds the chargers of a circuit together at a setting, None without one.

    It holds its own circuits' amperes, so one that measures further ahead is none: it lets them
    all on where there is room.
    """
    cars = [a for a in circuit.appliances if category_of(a) == "vehicle"]
    if len(cars) < 2 or len(cars) < len(circuit.appliances):
        return None
    groups = (g for g in site.energy_groups if g.id == circuit.energy_group_id)
    group = next(groups, None)
    if group is None or group.way != "setting" or group.watch_id is not None:
        return None
    return group if group.setting_a else None


def shared_a(group: EnergyGroup, rules: Rulebook) -> float:
    """What a setting asks of breaker and wire, a continuous load (625.42). [A]"""
    return rules.value("vehicle_device_factor") * (group.setting_a or 0.0)


def charging_together_checks(
    circuit: Circuit, group: EnergyGroup, full_a: float, rules: Rulebook
) -> Iterator[Finding]:
    """That breaker and wire of a circuit are for the setting and not for all its chargers."""
    figure = rules.figure("vehicle_shared_setting")
    yield made(
        "charging-together",
        "note",
        circuit.id,
        text=f"{listed([a.name for a in circuit.appliances])} share {circuit.name}: together they "
        f"would ask for {full_a:.1f} A. {group.name} lets on {group.setting_a:g} A of it, "
        f"{shared_a(group, rules):.1f} A as a continuous load, which its breaker and wire are held "
        "to here.",
        mend="Show the authority that the chargers or their manager are listed for sharing power "
        "and marked with this setting, and that it is locked against change.",
        figure=figure,
        value=full_a,
        limit=circuit.breaker_a,
        unit="A",
    )
