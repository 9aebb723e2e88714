"""What an element feeds and what feeds it, in whatever position the switches stand."""

from __future__ import annotations

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
