"""What an element feeds and what feeds it, in whatever position the switches stand."""

from __future__ import annotations

from server.domain.panel import Panel
from server.domain.site import Site


def below(site: Site, element_id: str) -> frozenset[str]:
    """Ids of an element and of all that it feeds in some switch position."""
    found, queue = {element_id}, [element_id]
    while queue:
        for feeder in site.feeders_from.get(queue.pop(), ()):
            if feeder.to_id not in found:
                found.add(feeder.to_id)
                queue.append(feeder.to_id)
    return frozenset(found)


def above(site: Site, element_id: str) -> frozenset[str]:
    """Ids of an element and of all that can feed it in some switch position."""
    found, queue = {element_id}, [element_id]
    while queue:
        for feeder in site.feeders_into.get(queue.pop(), ()):
            if feeder.from_id not in found:
                found.add(feeder.from_id)
                queue.append(feeder.from_id)
    return frozenset(found)


def panel_interlocked(site: Site, switch_id: str) -> Panel | None:
    """The one panel whose breakers an interlock ties; None for any other switch."""
    if all(t.id != switch_id or t.kind != "interlock" for t in site.transfer_switches):
        return None
    ends = {f.to_id for f in site.feeders_from.get(switch_id, ())}
    return site.panel_by_id.get(ends.pop()) if len(ends) == 1 else None
