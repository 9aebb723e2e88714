"""The mend of common circuits on the equipment of one dwelling: equipment of the house."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from server.domain.base import MAX_NAME
from server.domain.edits import new_id, with_changes
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.checks.common_area import common_circuits, dwelling_panels
from server.rules.editions import Rulebook
from server.rules.mends.offer import Maker, Offer
from server.rules.reach import above, below

COPIED = ("panels", "transfer_switches", "double_throws")


def house_panel(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A panel of the house for the common circuits, fed as the dwelling's own panel is.

    Everything between it and the sources that also feeds a dwelling is set beside a second time,
    so that a circuit kept through an outage stays kept; what feeds the common panel alone stays.
    """
    panel = site.panel(finding.element_id)
    tenants = {p.id for p in dwelling_panels(site, panel)}
    taken = set(site.name_of)
    twice: dict[str, str] = {}
    for element_id in sorted(above(site, panel.id)):
        if _is_shared(site, element_id, tenants):
            twice[element_id] = new_id(f"house-{element_id}", taken)
            taken.add(twice[element_id])
    if not twice:
        return
    changes: dict[str, Any] = {
        group: (
            *getattr(site, group),
            *(
                part.model_copy(update=_as_of_the_house(group, twice[part.id], part.name))
                for part in getattr(site, group)
                if part.id in twice
            ),
        )
        for group in COPIED
    }
    common = {c.id for c in common_circuits(site, panel)} if panel.id in twice else set()
    changes["circuits"] = tuple(
        c.model_copy(update={"panel_id": twice[panel.id]}) if c.id in common else c
        for c in site.circuits
    )
    changes["feeders"] = tuple(_feeders(site, panel.id, twice, taken))
    name = "a house panel" if panel.id in twice else "panels of the house"
    yield Offer(
        f"{name} for what {panel.name} feeds of it, on a feed of its own from the meter with wire "
        "for it",
        with_changes(site, **changes),
    )


def _is_shared(site: Site, element_id: str, tenants: set[str]) -> bool:
    """Whether a part is a dwelling's or fed from one, and feeds a dwelling itself."""
    if above(site, element_id).isdisjoint(tenants):
        return False
    here = below(site, element_id)
    return any(c.panel_id in here and c.place != "common_area" for c in site.circuits)


def _as_of_the_house(group: str, part_id: str, name: str) -> dict[str, Any]:
    changes: dict[str, Any] = {"id": part_id, "name": f"{name}, house"[:MAX_NAME]}
    if group == "panels":
        changes["floor_area_ft2"] = None
    return changes


def _feeders(site: Site, panel_id: str, twice: dict[str, str], taken: set[str]) -> Iterator[Feeder]:
    """The site's feeders, those of the common panel alone moved over, and those of the copies.

    The wire of a copy is still to be chosen.
    """
    own = above(site, panel_id) - set(twice)
    for feeder in site.feeders:
        start = twice.get(feeder.from_id, feeder.from_id)
        yield feeder.model_copy(update={"from_id": start}) if feeder.to_id in own else feeder
        if feeder.to_id not in twice:
            continue
        copied = new_id(f"house-{feeder.id}", taken)
        taken.add(copied)
        yield feeder.model_copy(
            update={
                "id": copied,
                "name": f"{feeder.name}, house"[:MAX_NAME],
                "from_id": start,
                "to_id": twice[feeder.to_id],
                "spaces": feeder.spaces if start != feeder.from_id else (),
                "segments": (),
                "ampacity_a": None,
                "neutral_ampacity_a": None,
                "no_neutral": False,
            }
        )


HOUSE_PANEL_MENDS: dict[str, Maker] = {"common-area-on-a-dwelling": house_panel}
