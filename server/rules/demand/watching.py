"""Which managers' settings hold what passes a part of a site, or a part of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.domain.topology import sources_above
from server.rules.demand.reach import Positions, carried_by
from server.rules.reach import below

Place = Literal["here", "ahead", "part"]


@dataclass(frozen=True)
class Watch:
    """A manager with a setting, and what of an element's load passes where it measures.

    ``place`` is ``here`` where that is the very same circuits, ``ahead`` where it is these with
    others, so that no more can pass here, and ``part`` where it is some of them, ``seen``.
    """

    group: EnergyGroup
    place: Place
    seen: frozenset[str]


def watches(site: Site, element_id: str, positions: Positions) -> Iterator[Watch]:
    """Managers that shed circuits above a setting and measure what passes an element.

    A manager that lets one at a time run holds no amperes, and one that measures at a set sees
    nothing of what the utility gives; what a set carries under management has a sheet of its own.
    Where solar or a
    battery feeds in behind, what passes two parts differs, and a bus carries what they give
    besides; then only a part that is itself measured counts, and no panel.
    """
    groups = [
        g
        for g in site.energy_groups
        if g.way == "setting" and g.watch_id and g.setting_a is not None
    ]
    if not groups or _at_set(site, element_id):
        return
    own = _carried(site, element_id, positions)
    for group in groups:
        watch_id = group.watch_id or ""
        if not own or _at_set(site, watch_id):
            continue
        at = _carried(site, watch_id, positions)
        if at == own:
            if not _fed_in_behind(site, element_id, watch_id) or (
                element_id == watch_id and element_id not in site.panel_by_id
            ):
                yield Watch(group, "here", own)
        elif own < at:
            if _all_from(site, watch_id, element_id) and not _fed_in_behind(site, watch_id):
                yield Watch(group, "ahead", own)
        elif (
            at
            and at < own
            and (watch_id not in site.panel_by_id or not _fed_in_behind(site, watch_id))
        ):
            yield Watch(group, "part", at)


def _carried(site: Site, element_id: str, positions: Positions) -> frozenset[str]:
    return frozenset(c.circuit.id for c in carried_by(site, element_id, positions))


def _at_set(site: Site, element_id: str) -> bool:
    """Whether an element is a generator or begins at one."""
    starts = {f.id: f.from_id for f in site.feeders}
    return any(g.id == starts.get(element_id, element_id) for g in site.generators)


def _all_from(site: Site, watch_id: str, element_id: str) -> bool:
    """Whether no source can feed an element but by way of what feeds where a manager measures."""
    starts = {f.id: f.from_id for f in site.feeders}
    of_watch = sources_above(site, starts.get(watch_id, watch_id))
    return set(sources_above(site, starts.get(element_id, element_id))) <= set(of_watch)


def _fed_in_behind(site: Site, *element_ids: str) -> bool:
    """Whether solar or a battery feeds in at a panel behind one of these."""
    ends = {f.id: f.to_id for f in site.feeders}
    behind = frozenset().union(*(below(site, ends.get(e, e)) for e in element_ids))
    fed = {a.panel_id for a in site.solar} | {b.panel_id for b in site.batteries}
    return bool(fed & behind)
