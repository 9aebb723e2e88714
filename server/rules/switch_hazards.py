"""Switches that cannot do what they are entered for."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.topology import generator_can_energise
from server.rules.hazard_table import hazard


def switch_hazards(site: Site) -> Iterator[Finding]:
    """Interlocks without a main to hold, and double-throws without a set behind BACKED-UP."""
    yield from _interlocks(site)
    yield from _dead_inputs(site)


def _interlocks(site: Site) -> Iterator[Finding]:
    """An interlock slides between a panel's main, or its feeder's breaker, and a back-fed one."""
    for switch in site.transfer_switches:
        if switch.kind != "interlock":
            continue
        held = [f for f in site.feeders_into.get(switch.id, ()) if f.to_input == "utility"]
        if held and all(f.breaker_a is not None for f in held):
            continue
        for feeder in site.feeders:
            panel = site.panel_by_id.get(feeder.to_id)
            if feeder.from_id == switch.id and panel is not None and panel.main_a is None:
                yield hazard(
                    "interlock-without-main",
                    switch.id,
                    f"{switch.name} has no breaker to hold: {panel.name} has no main breaker, and "
                    "no breaker is entered on its utility feed. Nothing would keep the generator "
                    "off the utility’s wires, where it can kill who works on them.",
                    f"Enter the main breaker of {panel.name} if it has one; else fit one with an "
                    "interlock listed for it, or use a transfer switch.",
                )


def _dead_inputs(site: Site) -> Iterator[Finding]:
    for throw in site.double_throws:
        feeder = site.feeder_into(throw.id, "backed_up")
        if feeder is not None and not generator_can_energise(site, feeder.from_id):
            yield hazard(
                "backed-up-input-dead",
                throw.id,
                f"The BACKED-UP input of {throw.name} comes from "
                f"{site.name_of[feeder.from_id]}, which no generator can energise. In an outage "
                "both of its positions are dead.",
                "Feed that input from a backed-up panel or from the generator’s switch.",
            )
