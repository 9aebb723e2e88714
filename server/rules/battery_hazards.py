"""Batteries: what parts them from a set and from the utility, and that runs leave them out."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Battery
from server.domain.topology import generator_can_energise, root_of, sources_above
from server.rules.hazard_table import hazard
from server.rules.words import listed


def battery_hazards(site: Site) -> Iterator[Finding]:
    """One finding for each battery of a site."""
    services = {s.id for s in site.services}
    for battery in site.batteries:
        if generator_can_energise(site, battery.panel_id):
            yield _battery_on_a_set(site, battery)
            continue
        if (
            battery.grid_forming
            and not battery.parted
            and root_of(site, battery.panel_id) in services
        ):
            yield _battery_on_the_utility(site, battery)
            continue
        yield hazard(
            "battery-not-modelled",
            battery.id,
            f"{battery.name} is not modelled: ask the installer what it carries in an outage, "
            "and where. Runs show the house without it.",
            "Read runs as if the battery were empty.",
        )


def _battery_on_a_set(site: Site, battery: Battery) -> Finding:
    above = sources_above(site, battery.panel_id)
    sets = listed(sorted(g.name for g in site.generators if g.id in above))
    where = f"{battery.name} ties to {site.name_of[battery.panel_id]}, which {sets} can energise."
    if battery.grid_forming:
        return hazard(
            "battery-forms-grid-beside-set",
            battery.id,
            f"{where} It forms its own grid, and how the two are kept apart is not modelled: ask "
            "the installer. Runs show the house without it.",
            "Have the installer show what keeps the battery and the generator from feeding one "
            "bus together.",
        )
    return hazard(
        "battery-on-generator",
        battery.id,
        f"{where} An inverter that pushes into a generator can overspeed and destroy it. Runs "
        "show the house without it.",
        "Move the battery to a panel on the normal bus, or have it positively locked out while "
        "the generator runs.",
    )


def _battery_on_the_utility(site: Site, battery: Battery) -> Finding:
    """One that forms its own grid with no switch between it and the service."""
    panel, service = site.name_of[battery.panel_id], site.name_of[root_of(site, battery.panel_id)]
    return hazard(
        "battery-forms-grid-on-utility",
        battery.id,
        f"{battery.name} forms its own grid and ties to {panel}, with nothing entered that parts "
        f"it from {service}. In an outage it would put power on the utility’s wires, where it can "
        "kill who works on them. What it carries is not modelled: runs show the house without it.",
        "Have the installer show the listed switch that opens the utility by itself before the "
        "battery forms a grid, and tick that it is there in the battery’s form; without one, have "
        "it fitted, and leave the battery off until then.",
    )
