"""Feeders entered without a ground wire."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.neutral_bonds import on_old_three_wire_feeder, service_disconnects
from server.rules.raceway_metal import is_metal
from server.rules.wiring.service import of_service
from server.rules.words import listed


def ground_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """What stands for the ground of feeders entered without one: once for all of a kind."""
    kinds = ((True, False), (True, True), (False, False), (False, True))
    lacking: dict[tuple[bool, bool], list[Feeder]] = {kind: [] for kind in kinds}
    for feeder in site.feeders:
        if _asks_no_ground(site, feeder):
            continue
        bare = [is_metal(s) for s in feeder.segments if not s.ground_size]
        told = [metal for metal in bare if metal is not True]
        if told:
            lacking[False in told, feeder.no_neutral].append(feeder)
    for (plastic, no_neutral), feeders in lacking.items():
        if not feeders:
            continue
        names = listed([f.name for f in feeders])
        beside = (
            ", and a raceway that is not of metal cannot stand for one"
            if plastic
            else ", nor a raceway of metal that stands for one"
        )
        partner = "hots, with a neutral or without" if no_neutral else "neutral"
        wires, more = ("two", "third") if no_neutral else ("three", "fourth")
        yield made(
            "feeder-ground-asked",
            "warning" if plastic else "note",
            feeders[0].id,
            text=f"No ground wire is entered for {names}{beside}. A feeder has a ground beside its "
            f"{partner}.",
            mend=f"Enter the ground wire if there is one. Where only {wires} wires lie in plastic "
            f"or in an old cable, have an electrician run a {more}."
            if plastic
            else "Look what lies there: enter the ground wire of each run, or its raceway if that "
            "is metal.",
            figure=rules.figure("feeder_ground"),
        )


def _asks_no_ground(site: Site, feeder: Feeder) -> bool:
    """Whether it lies ahead of the disconnect, within a panel, or is an old one asked about so."""
    if feeder.breaker_a is None and _ahead(site, feeder):
        return True
    from_service = any(s.id == feeder.from_id and not s.building_feeder for s in site.services)
    if from_service and feeder not in service_disconnects(site):
        return True
    if any(t.id == feeder.from_id and t.kind == "interlock" for t in site.transfer_switches):
        return True
    panel = site.panel_by_id.get(feeder.to_id)
    return panel is not None and on_old_three_wire_feeder(site, panel)


def _ahead(site: Site, feeder: Feeder) -> bool:
    """Whether no disconnect of the service stands between it and the service."""
    if of_service(site, feeder):
        return True
    switch = next((t for t in site.transfer_switches if t.id == feeder.from_id), None)
    if switch is None or switch.service_rated:
        return False
    utility = site.feeder_into(switch.id, "utility")
    return utility is not None and of_service(site, utility)
