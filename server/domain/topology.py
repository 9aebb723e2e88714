"""Which bus a panel belongs to. Follows from the feeders, so it cannot contradict the wiring.

A *bus* is the set of panels that have the same source in every switch state and share a root.
The root is the nearest switch above the panel, or the source where there is none.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from server.domain.circuit import Circuit
from server.domain.site import Site

BusKind = Literal["normal", "backed_up", "switchable", "generator"]
BUS_KINDS: tuple[BusKind, ...] = ("normal", "backed_up", "switchable", "generator")
BUS_WORDS: dict[BusKind, str] = {
    "normal": "Normal",
    "backed_up": "Backed-up",
    "switchable": "Switchable",
    "generator": "Generator only",
}


@dataclass(frozen=True)
class Bus:
    """Panels (or, for a transfer handle, one circuit) that always share a source.

    ``root_id`` is the switch or source at whose output its amps are read.
    """

    id: str
    name: str
    kind: BusKind
    root_id: str
    panel_ids: tuple[str, ...]
    circuit_ids: tuple[str, ...]


def root_of(site: Site, element_id: str) -> str:
    """Id of the nearest switch at or above this element, or of its source."""
    switches = {t.id for t in site.transfer_switches} | {d.id for d in site.double_throws}
    while element_id not in switches:
        feeders = site.feeders_into.get(element_id, ())
        if not feeders:
            break
        element_id = feeders[0].from_id
    return element_id


def sources_above(site: Site, element_id: str) -> frozenset[str]:
    """Ids of every source that can energise this element in some switch position."""
    found: set[str] = set()
    seen = {element_id}
    waiting = [element_id]
    while waiting:
        here = waiting.pop()
        above = {f.from_id for f in site.feeders_into.get(here, ())}
        if not above:
            found.add(here)
        waiting += above - seen
        seen |= above
    return frozenset(found)


def sources_of(site: Site, circuit: Circuit) -> frozenset[str]:
    """Ids of what can feed a circuit, by its panel or by its handle of a transfer switch."""
    found = sources_above(site, circuit.panel_id)
    for switch in site.transfer_switches:
        if any(h.circuit_id == circuit.id for h in switch.handles):
            found |= sources_above(site, switch.id)
    return found


@lru_cache(maxsize=64)
def without_neutral(site: Site) -> frozenset[str]:
    """Ids of feeders that bring no neutral, and of what no neutral reaches by any way.

    A feeder that starts where none reaches brings none either, whatever wire lies in it.
    """
    found: set[str] = set()
    waiting = [f for f in site.feeders if f.no_neutral]
    while waiting:
        feeder = waiting.pop()
        found.add(feeder.id)
        here = feeder.to_id
        if here not in found and all(f.id in found for f in site.feeders_into[here]):
            found.add(here)
            waiting += site.feeders_from.get(here, ())
    return frozenset(found)


def generator_can_energise(site: Site, element_id: str) -> bool:
    """Whether some switch position puts a generator on this element."""
    generators = {g.id for g in site.generators}
    return not generators.isdisjoint(sources_above(site, element_id))


def _kind_of_root(site: Site, root_id: str) -> BusKind:
    if any(d.id == root_id for d in site.double_throws):
        return "switchable"
    if any(t.id == root_id for t in site.transfer_switches):
        return "backed_up"
    if any(g.id == root_id for g in site.generators):
        return "generator"
    return "backed_up" if generator_can_energise(site, root_id) else "normal"


@lru_cache(maxsize=64)
def buses(site: Site) -> tuple[Bus, ...]:
    """Every bus of the site, normal first, then backed-up, switchable and generator-only."""
    panels_by_root: dict[str, list[str]] = {}
    for panel in site.panels:
        panels_by_root.setdefault(root_of(site, panel.id), []).append(panel.id)
    handled = {h.circuit_id: t for t in site.transfer_switches for h in t.handles}
    found: list[Bus] = []
    for root_id, panel_ids in panels_by_root.items():
        kind = _kind_of_root(site, root_id)
        circuits = tuple(
            c.id for c in site.circuits if c.panel_id in panel_ids and c.id not in handled
        )
        found.append(Bus(root_id, BUS_WORDS[kind], kind, root_id, tuple(panel_ids), circuits))
    for circuit_id, switch in handled.items():
        found.append(
            Bus(
                f"{switch.id}:{circuit_id}",
                f"Handle, {site.name_of[circuit_id]}",
                "switchable",
                switch.id,
                (),
                (circuit_id,),
            )
        )
    named = _told_apart(site, found)
    return tuple(sorted(named, key=lambda b: BUS_KINDS.index(b.kind)))


def _told_apart(site: Site, found: list[Bus]) -> list[Bus]:
    """Add the root's name where two buses of one kind would share a name."""
    counts: dict[str, int] = {}
    for bus in found:
        counts[bus.name] = counts.get(bus.name, 0) + 1
    return [
        Bus(
            bus.id,
            f"{bus.name}, {site.name_of[bus.root_id]}" if counts[bus.name] > 1 else bus.name,
            bus.kind,
            bus.root_id,
            bus.panel_ids,
            bus.circuit_ids,
        )
        for bus in found
    ]


def bus_of_circuit(site: Site) -> dict[str, Bus]:
    """The bus of every circuit, by circuit id."""
    return {circuit_id: bus for bus in buses(site) for circuit_id in bus.circuit_ids}


def bus_of_panel(site: Site) -> dict[str, Bus]:
    """The bus of every panel, by panel id."""
    return {panel_id: bus for bus in buses(site) for panel_id in bus.panel_ids}


def can_move(site: Site) -> bool:
    """Whether a circuit could hang elsewhere: there is more than one panel."""
    return len(site.panels) > 1
