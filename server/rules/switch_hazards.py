"""Switches that cannot do what they are entered for."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Generator, TransferSwitch
from server.domain.topology import generator_can_energise
from server.rules.hazard_table import hazard
from server.rules.neutral_bonds import opens_neutral
from server.rules.reach import above
from server.rules.words import listed


def switch_hazards(site: Site) -> Iterator[Finding]:
    """Interlocks without a main, double-throws without a set, services joined by their neutrals."""
    yield from _interlocks(site)
    yield from _dead_inputs(site)
    yield from _joined_neutrals(site)


def unopened_by_service(site: Site, generator: Generator) -> dict[str, list[TransferSwitch]]:
    """Switches that leave their neutral joined to a set, by the service they stand behind."""
    services = {s.id for s in site.services}
    found: dict[str, list[TransferSwitch]] = {}
    for switch in site.transfer_switches:
        set_feeds = any(
            f.to_input == "generator"
            and not f.no_neutral
            and generator.id in {f.from_id, *above(site, f.from_id)}
            for f in site.feeders_into.get(switch.id, ())
        )
        if not set_feeds or opens_neutral(switch):
            continue
        starts = {f.from_id for f in site.feeders_into[switch.id] if f.to_input == "utility"}
        starts |= {site.circuit(h.circuit_id).panel_id for h in switch.handles}
        for service_id in services & starts.union(*(above(site, e) for e in starts)):
            found.setdefault(service_id, []).append(switch)
    return found


def _joined_neutrals(site: Site) -> Iterator[Finding]:
    """One set behind two services, with no switch that opens a neutral between them."""
    for generator in site.generators:
        behind = unopened_by_service(site, generator)
        switches = {t.id: t.name for found in behind.values() for t in found}
        if len(behind) > 1 and len(switches) > 1:
            yield hazard(
                "neutrals-joined-by-set",
                generator.id,
                f"{generator.name} stands behind "
                f"{listed(sorted(site.name_of[s] for s in behind))}, and "
                f"{listed(sorted(switches.values()))} do not open the neutral. The neutrals of "
                "both services are joined at the set, and current of one returns by the other "
                "at any time.",
                "Ask the electrician about switches that open the neutral too, with neutral and "
                "ground joined at the set as a source of its own.",
            )


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
