"""Which manager's setting holds what passes a part of a site."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.rules.demand.reach import Positions, carried_by
from server.rules.editions import Rulebook
from server.rules.reach import below


def watched_here(site: Site, element_id: str, positions: Positions) -> EnergyGroup | None:
    """The manager with a setting that measures all that passes an element, None without one.

    It measures at the element or at another part that carries the very same circuits. Where solar
    or a battery feeds in behind, what passes two parts differs, and a bus carries what they give
    besides; then only a part that is itself measured counts, and no panel.
    """
    groups = [g for g in site.energy_groups if g.watch_id and g.setting_a is not None]
    sets = {g.id for g in site.generators}
    own = {c.circuit.id for c in carried_by(site, element_id, positions)} if groups else set()
    for group in groups:
        watch_id = group.watch_id or ""
        if watch_id in sets or not own:
            continue
        if {c.circuit.id for c in carried_by(site, watch_id, positions)} != own:
            continue
        if _fed_in_behind(site, element_id, watch_id) and (
            element_id != watch_id or element_id in site.panel_by_id
        ):
            continue
        return group
    return None


def setting_notes(
    site: Site, element_id: str, positions: Positions, rules: Rulebook
) -> Iterator[str]:
    """Of a manager that holds what passes here at a setting, whose circuits count in full."""
    group = watched_here(site, element_id, positions)
    if group is None or group.watch_id is None:
        return
    section = rules.figure("managed_setting").cite.section
    at = group.watch_id
    same = "" if at == element_id else f", which carries the same as {site.name_of[element_id]},"
    yield (
        f"{group.name} watches {site.name_of[at]}{same} and holds it at {group.setting_a:g} A. "
        f"Its circuits count in full here; where it is listed for that, its setting may stand for "
        f"what passes here, as a continuous load ({section}): ask the authority."
    )


def _fed_in_behind(site: Site, *element_ids: str) -> bool:
    """Whether solar or a battery feeds in at a panel behind one of these."""
    ends = {f.id: f.to_id for f in site.feeders}
    behind = frozenset().union(*(below(site, ends.get(e, e)) for e in element_ids))
    fed = {a.panel_id for a in site.solar} | {b.panel_id for b in site.batteries}
    return bool(fed & behind)
