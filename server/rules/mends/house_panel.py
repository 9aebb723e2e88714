"""The mend of common circuits on the equipment of one dwelling: a panel of the house."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.edits import new_id, with_changes
from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.common_area import common_circuits, dwelling_panels
from server.rules.demand.ratings import feeder_device_a
from server.rules.editions import Rulebook
from server.rules.mends.offer import Maker, Offer, changed
from server.rules.reach import above


def house_panel(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A panel for the common circuits, fed from ahead of every dwelling's own panel.

    A common panel with one feed has that feed moved; one with several is for a person to plan.
    """
    panel = site.panel(finding.element_id)
    tenants = {p.id for p in dwelling_panels(site, panel)}
    start = _clear_of(site, panel.id, tenants)
    into = site.feeders_into.get(panel.id, ())
    if start is None or not into:
        return
    if panel.id not in tenants:
        if len(into) == 1 and into[0].from_id in tenants:
            yield Offer(
                f"{panel.name} fed from {site.name_of[start]}",
                changed(site, "feeders", [into[0].id], from_id=start, spaces=()),
            )
        return
    common = {c.id for c in common_circuits(site, panel)}
    taken = set(site.name_of)
    own_id = new_id("House panel", taken)
    own = panel.model_copy(
        update={
            "id": own_id,
            "name": "House panel",
            "floor_area_ft2": None,
            "main_a": panel.main_a or feeder_device_a(site, into[0]) or panel.rating_a,
            "neutral_bonded": start in {s.id for s in site.services},
        }
    )
    feeder = into[0].model_copy(
        update={
            "id": new_id(f"to-{own_id}", taken | {own_id}),
            "name": "House panel feeder",
            "from_id": start,
            "to_id": own_id,
            "to_input": None,
            "breaker_a": feeder_device_a(site, into[0]),
            "spaces": (),
        }
    )
    circuits = tuple(
        c.model_copy(update={"panel_id": own_id}) if c.id in common else c for c in site.circuits
    )
    yield Offer(
        f"a house panel on {site.name_of[start]} for what {panel.name} feeds of it",
        with_changes(
            site,
            panels=(*site.panels, own),
            feeders=(*site.feeders, feeder),
            circuits=circuits,
        ),
    )


def _clear_of(site: Site, element_id: str, tenants: set[str]) -> str | None:
    """The nearest element ahead that no dwelling's panel feeds, sets left out."""
    sets = {g.id for g in site.generators}
    queue, seen = [element_id], {element_id}
    while queue:
        for feeder in site.feeders_into.get(queue.pop(0), ()):
            here = feeder.from_id
            if here in sets or here in seen:
                continue
            if above(site, here).isdisjoint(tenants):
                return here
            seen.add(here)
            queue.append(here)
    return None


HOUSE_PANEL_MENDS: dict[str, Maker] = {"common-area-on-a-dwelling": house_panel}
