"""What an element of a site carries, with its double-throws in given positions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from server.domain.base import Leg
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.domain.supply import Feeder, ThrowPosition

Positions = Mapping[str, ThrowPosition]
POSITION_WORDS: dict[ThrowPosition, str] = {"normal": "NORMAL", "backed_up": "BACKED-UP"}
Thrown = tuple[tuple[str, ThrowPosition], ...]
MOST_THROWS_IN_FULL = 4
MOST_KEPT = 512
"""What an element carries is asked many times over while one site is worked through."""
MOST_SITES = 8
"""The sites it is kept for, so that old revisions of a large one do not fill the memory."""


@dataclass(frozen=True)
class Carried:
    """A circuit an element carries; ``swapped`` where its legs land crossed on the way.

    ``handle_leg`` is the leg of its first pole where a handle feeds it and not its own panel.
    """

    circuit: Circuit
    swapped: bool
    handle_leg: Leg | None = None


def resting(site: Site) -> dict[str, ThrowPosition]:
    """Every double-throw in its resting position."""
    return {d.id: d.resting for d in site.double_throws}


def carried_by(site: Site, element_id: str, positions: Positions) -> tuple[Carried, ...]:
    """Circuits an element carries when its source is on, the element's own ones first.

    ``element_id`` is a service, generator, switch, panel or feeder. A double-throw passes only
    the input it stands on; a transfer switch passes whichever side is asked.
    """
    return _walks(site)(element_id, tuple(sorted(positions.items())))


def dwelling_circuits(site: Site, element_id: str, positions: Positions) -> frozenset[str]:
    """Ids of the circuits an element carries but for those of common areas, part of no dwelling."""
    return _dwellings(site)(element_id, tuple(sorted(positions.items())))


@lru_cache(maxsize=MOST_SITES)
def _dwellings(site: Site) -> Callable[[str, Thrown], frozenset[str]]:
    walk = _walks(site)

    @lru_cache(maxsize=MOST_KEPT)
    def ids(element_id: str, thrown: Thrown) -> frozenset[str]:
        carried = walk(element_id, thrown)
        return frozenset(c.circuit.id for c in carried if c.circuit.place != "common_area")

    return ids


@lru_cache(maxsize=MOST_SITES)
def _walks(site: Site) -> Callable[[str, Thrown], tuple[Carried, ...]]:
    @lru_cache(maxsize=MOST_KEPT)
    def carried(element_id: str, thrown: Thrown) -> tuple[Carried, ...]:
        return _carried(site, element_id, dict(thrown))

    return carried


def _carried(site: Site, element_id: str, positions: Positions) -> tuple[Carried, ...]:
    feeders = {f.id: f for f in site.feeders}
    if element_id in feeders:
        feeder = feeders[element_id]
        if not _passes(feeder, positions):
            return ()
        start, swapped = feeder.to_id, feeder.swap_legs
        through_generator = feeder.to_input == "generator"
    else:
        start, swapped, through_generator = element_id, False, False
    return tuple(
        _walk(site, start, positions, swapped=swapped, through_generator=through_generator)
    )


def _passes(feeder: Feeder, positions: Positions) -> bool:
    if feeder.to_input in ("normal", "backed_up"):
        return positions.get(feeder.to_id) == feeder.to_input
    return True


def _walk(
    site: Site, start: str, positions: Positions, *, swapped: bool, through_generator: bool
) -> Iterator[Carried]:
    handles = {t.id: t.handles for t in site.transfer_switches}
    at_set = any(g.id == start for g in site.generators)
    seen: set[str] = set()
    queue = [(start, swapped, through_generator)]
    while queue:
        here, crossed, from_set = queue.pop(0)
        if here in seen:
            continue
        seen.add(here)
        for circuit in site.circuits_in.get(here, ()):
            yield Carried(circuit, crossed)
        if from_set or at_set:
            for handle in handles.get(here, ()):
                yield Carried(site.circuit(handle.circuit_id), crossed, handle.leg)
        queue.extend(
            (f.to_id, crossed != f.swap_legs, f.to_input == "generator")
            for f in site.feeders_from.get(here, ())
            if _passes(f, positions)
        )


def throws_below(site: Site, element_id: str) -> tuple[str, ...]:
    """Double-throws whose position can change what an element carries."""
    feeders = {f.id: f for f in site.feeders}
    start = feeders[element_id].to_id if element_id in feeders else element_id
    throws = {d.id for d in site.double_throws}
    found: list[str] = []
    queue, seen = [start], set()
    while queue:
        here = queue.pop(0)
        if here in seen:
            continue
        seen.add(here)
        if here in throws:
            found.append(here)
        queue.extend(f.to_id for f in site.feeders if f.from_id == here)
    return tuple(found)


def distinct_positions(site: Site, element_id: str) -> tuple[tuple[str, Positions], ...]:
    """Each set of positions that changes what an element carries, with its words.

    The words are empty where the position makes no difference. With many double-throws only all
    on NORMAL and all on BACKED-UP are taken.
    """
    throws = throws_below(site, element_id)
    rest = resting(site)
    both: tuple[ThrowPosition, ThrowPosition] = ("normal", "backed_up")
    if len(throws) > MOST_THROWS_IN_FULL:
        choices = [tuple(p for _ in throws) for p in both]
    else:
        choices = list(product(both, repeat=len(throws)))
    found: list[tuple[str, Positions]] = []
    sets: list[frozenset[str]] = []
    for choice in choices:
        positions: dict[str, ThrowPosition] = {**rest, **dict(zip(throws, choice, strict=True))}
        carried = frozenset(c.circuit.id for c in carried_by(site, element_id, positions))
        if carried in sets:
            continue
        sets.append(carried)
        words = ", ".join(
            f"{site.name_of[t]} on {POSITION_WORDS[p]}" for t, p in zip(throws, choice, strict=True)
        )
        found.append((words, positions))
    if len(found) == 1:
        return (("", found[0][1]),)
    return tuple(found)
