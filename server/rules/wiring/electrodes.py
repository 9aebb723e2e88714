"""Copper to the electrodes of a service or a building, by the wire that lies there."""

from __future__ import annotations

from collections.abc import Iterable

from server.domain.site import Site
from server.rules.editions import Rulebook
from server.rules.neutral_bonds import service_disconnects
from server.rules.tables import Metal, conductor
from server.rules.wiring.feeder import FeederWiring
from server.rules.wiring.ground import Electrode, electrode_conductor

Hot = tuple[str, Metal, int]
"""Size, metal and sets of a service conductor."""


def copper_to(electrode: Electrode, hots: Iterable[Hot], rules: Rulebook) -> str:
    """Copper to an electrode, the largest that any stretch of the service asks for (250.66).

    >>> from server.rules.editions import rulebook
    >>> hots = [("1", "copper", 1), ("4/0", "aluminum", 1)]
    >>> copper_to("water_pipe", hots, rulebook("2023"))
    '4'
    """
    asked = [
        electrode_conductor(
            hot_size=size,
            hot_metal=metal,
            sets=sets,
            metal="copper",
            electrode=electrode,
            rules=rules,
        )[0]
        for size, metal, sets in hots
    ]
    return max(asked, key=lambda size: conductor(size).cmil)


def copper_to_electrodes(one: FeederWiring, rules: Rulebook) -> str | None:
    """Copper to a water pipe, None of what is no service or of a wire not in the tables."""
    return _copper_for(one, rules) if one.service else None


def copper_in_common(site: Site, wiring: Iterable[FeederWiring], rules: Rulebook) -> dict[str, str]:
    """Copper of one conductor to a water pipe that serves several alike sets, by feeder.

    It goes by all sets of a service added together (Table 250.66 note 1); what each feeder asks
    for alone is the tap to it, or a conductor of its own (250.64(D)). Sets that differ in size
    or metal are left out.
    """
    service_ids = {s.id for s in site.services}
    by_service: dict[str, list[tuple[str, set[Hot]]]] = {}
    starts = {f.id: f.from_id for f in site.feeders}
    for one in wiring:
        if one.service and starts[one.feeder_id] in service_ids:
            by_service.setdefault(starts[one.feeder_id], []).append(
                (one.feeder_id, set(_laid(one)))
            )
    found: dict[str, str] = {}
    for several in by_service.values():
        alike = set().union(*(hots for _, hots in several))
        if len(several) > 1 and len(alike) == 1 and all(hots for _, hots in several):
            size, metal, sets = alike.pop()
            copper = copper_to("water_pipe", [(size, metal, sets * len(several))], rules)
            found |= dict.fromkeys((feeder_id for feeder_id, _ in several), copper)
    return found


def copper_at_disconnect(
    site: Site, wiring: Iterable[FeederWiring], rules: Rulebook
) -> dict[str, str]:
    """Copper to a water pipe from the service disconnect that a feeder starts at, by feeder.

    The conductors ahead of it, by which it goes, are not entered: taken as large as the feeder.
    """
    starts = {f.id for f in service_disconnects(site)}
    found = {w.feeder_id: _copper_for(w, rules) for w in wiring if w.feeder_id in starts}
    return {feeder_id: copper for feeder_id, copper in found.items() if copper}


def copper_at_buildings(
    site: Site, wiring: Iterable[FeederWiring], rules: Rulebook
) -> dict[str, str]:
    """Copper to the electrodes of each detached building in words, by the feeder that comes there.

    By the largest hot of that feeder (250.32(E)), no more to rods alone than 250.66(A) asks. A
    building on a service of its own has the electrodes of that.
    """
    own = {p.id for p in site.panels if p.detached_building}
    ends = {f.id: f.to_id for f in site.feeders}
    found = {
        w.feeder_id: copper_words(_laid(w), rules)
        for w in wiring
        if not w.service and ends[w.feeder_id] in own
    }
    return {feeder_id: words for feeder_id, words in found.items() if words}


def copper_words(hots: Iterable[Hot], rules: Rulebook) -> str:
    """Copper to electrodes of any kind, and to rods alone where that is less; empty without hots.

    >>> from server.rules.editions import rulebook
    >>> copper_words([("2", "aluminum", 1)], rulebook("2023"))
    '8 copper'
    >>> copper_words([("4/0", "aluminum", 1)], rulebook("2023"))
    '4 copper, 6 to rods alone'
    """
    hots = list(hots)
    if not hots:
        return ""
    least, rods = (copper_to("water_pipe", hots, rules), copper_to("rod", hots, rules))
    return f"{least} copper" + (f", {rods} to rods alone" if rods != least else "")


def _copper_for(one: FeederWiring, rules: Rulebook) -> str | None:
    laid = _laid(one)
    return copper_to("water_pipe", laid, rules) if laid else None


def _laid(one: FeederWiring) -> list[Hot]:
    """The wire that lies there; where none is told, the smallest that would do."""
    laid: list[Hot] = [(s.segment.size, s.segment.metal, s.segment.sets) for s in one.segments]
    if not laid and one.advice is not None:
        laid = [(one.advice.size, one.advice.run.metal, one.advice.run.sets)]
    return laid
