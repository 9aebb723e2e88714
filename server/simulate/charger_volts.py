"""The volts that a car's charger has on its utility service: it holds its amps, so watts follow."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.domain.topology import sources_above
from server.physics.legs import NOMINAL_240_V, between_volts


def charger_volts(site: Site, circuit: Circuit, appliance: Appliance) -> float:
    """Volts between the legs of the service above a 240 V charger, 0 for anything else. [V]"""
    if appliance.behaviour.model != "charger" or appliance.volts != NOMINAL_240_V:
        return 0.0
    above = sources_above(site, circuit.panel_id)
    systems = [service.system for service in site.services if service.id in above]
    return between_volts(systems[0]) if systems else NOMINAL_240_V


def charger_share(site: Site, circuit: Circuit, appliance: Appliance) -> float:
    """Share of its watts at 240 V that a charger draws on its service, 1 for anything else."""
    return (charger_volts(site, circuit, appliance) or NOMINAL_240_V) / NOMINAL_240_V
