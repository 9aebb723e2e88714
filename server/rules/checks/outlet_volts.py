"""Lights and small plugged loads between the legs, which a dwelling has from leg to neutral."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.checks.plugs import GROW_LIGHTS
from server.rules.cords import is_plugged
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V
from server.rules.tables import read_toml
from server.rules.words import listed


def outlet_volts_checks(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """Luminaires, and what plugs in and is small, at 240 V in a dwelling (210.6(A)).

    A motor is left out: its limit goes by horsepower, which is mostly not told.
    """
    elsewhere = circuit.place != "dwelling" or site.panel(circuit.panel_id).detached_building
    if elsewhere:
        return
    most = rules.figure("dwelling_outlet_most_va")
    names = [a.name for a in circuit.appliances if a.volts > LEG_V and _small(a, most.value)]
    if not names:
        return
    yield made(
        "small-load-between-legs",
        "warning",
        circuit.id,
        text=f"{circuit.name} feeds {listed(names)} at 240 V. In a dwelling, lights and what plugs "
        f"in and draws {most.value:,.0f} VA or less are at 120 V.",
        mend="See what its plate says. Where it is for 120 V, enter it so and put it on a 1-pole "
        "breaker with a neutral; else ask the authority.",
        figure=most,
    )


def _small(appliance: Appliance, most_va: float) -> bool:
    row = read_toml("appliance_kinds")["kinds"].get(appliance.kind, {})
    if row.get("outside") == "luminaire" or appliance.kind == GROW_LIGHTS:
        return True
    motor = appliance.load_type == "motor" or appliance.horsepower is not None
    small = 0 < appliance.load_w / appliance.power_factor <= most_va
    return is_plugged(appliance.kind) and small and not motor
