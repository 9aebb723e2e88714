"""The lines of a site in one state of its switches: a tree for each source, and who hangs where."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.domain.errors import InputError
from server.domain.site import Site
from server.domain.supply import Feeder
from server.physics.legs import System, leg_volts
from server.physics.line_volts import BETWEEN, Complex, Tree
from server.rules.wiring.drop import table_impedance
from server.rules.wiring.feeder_drop import stretch_of
from server.simulate.network import Load, Network, SwitchState, drawn_between


@dataclass(frozen=True)
class SiteTree:
    """The lines below one source.

    ``nodes`` are the elements, source first; ``flipped`` says of each whether its L1 is the
    source's L2, ``neutral`` whether one comes there, ``unmeasured`` which feeders on the way to it
    have no usable length and wire, so that they count as no impedance at all.
    """

    source_id: str
    system: System
    nodes: tuple[str, ...]
    flipped: tuple[bool, ...]
    neutral: tuple[bool, ...]
    unmeasured: tuple[tuple[str, ...], ...]
    tree: Tree


@dataclass(frozen=True)
class Tap:
    """Where a load hangs: its row, its node, its leg and the VA per watt of each part of it."""

    row: int
    node: int
    wire: int
    to_neutral_va: complex
    between_va: complex
    resistive: bool


def feeder_ohm(feeder: Feeder) -> tuple[complex, complex] | None:
    """Impedance of each hot and of the neutral of a feeder, None where it is not known. [ohm]

    NEC Chapter 9 Table 9, for the raceway of each length; parallel sets divide it.
    """
    hot = neutral = 0j
    if not feeder.segments:
        return None
    try:
        for segment in feeder.segments:
            one = stretch_of(segment)
            per_kft = table_impedance(size=one.size, metal=one.metal, conduit=one.conduit)
            size = segment.neutral_size or one.size
            of_neutral = table_impedance(size=size, metal=one.metal, conduit=one.conduit)
            hot += per_kft * one.run_ft / 1000.0 / one.sets
            neutral += of_neutral * one.run_ft / 1000.0 / one.sets
    except InputError:
        return None
    return hot, neutral


def site_trees(network: Network, state: SwitchState) -> tuple[SiteTree, ...]:
    """A tree for each source that feeds a panel or a transfer handle in this state."""
    found: dict[str, _Growing] = {}
    ways: list[tuple[str, str | None]] = [(panel.id, None) for panel in network.site.panels]
    ways += [(x.panel_id, x.handle_switch_id) for x in network.loads if _on_handle(x, state)]
    for panel_id, switch_id in dict.fromkeys(ways):
        path = network.way_of(panel_id, switch_id, state)
        if path.source_id is not None:
            growing = found.setdefault(path.source_id, _Growing(network.site, path.source_id))
            growing.add(path.flipped)
    return tuple(one.grown(network.systems[source_id]) for source_id, one in found.items())


class _Growing:
    """A tree that takes one path after another."""

    def __init__(self, site: Site, source_id: str) -> None:
        self._feeders = {f.id: f for f in site.feeders}
        self._nodes = {source_id: 0}
        self._flipped = [False]
        self._neutral = [True]
        self._parent = [-1]
        self._ohm: list[tuple[complex, complex]] = [(0j, 0j)]
        self._unmeasured: list[tuple[str, ...]] = [()]
        self._source_id = source_id

    def add(self, flipped: dict[str, bool]) -> None:
        """Add a path, written from its far end to the source."""
        names = list(flipped)[::-1]
        for ahead, feeder_id, name in zip(names[::2], names[1::2], names[2::2], strict=False):
            if name in self._nodes:
                continue
            at = self._nodes[ahead]
            feeder = self._feeders[feeder_id]
            ohm = feeder_ohm(feeder)
            self._nodes[name] = len(self._parent)
            self._parent.append(at)
            self._flipped.append(flipped[name])
            self._neutral.append(self._neutral[at] and not feeder.no_neutral)
            self._ohm.append(ohm or (0j, 0j))
            here = self._unmeasured[at]
            self._unmeasured.append(here if ohm else (*here, feeder.name))

    def grown(self, system: System) -> SiteTree:
        """The whole tree."""
        return SiteTree(
            source_id=self._source_id,
            system=system,
            nodes=tuple(self._nodes),
            flipped=tuple(self._flipped),
            neutral=tuple(self._neutral),
            unmeasured=tuple(self._unmeasured),
            tree=Tree(
                parent=tuple(self._parent),
                hot_ohm=np.array([hot for hot, _ in self._ohm]),
                neutral_ohm=np.array([neutral for _, neutral in self._ohm]),
                source_v=leg_volts(system),
            ),
        )


def _on_handle(load: Load, state: SwitchState) -> bool:
    return load.handle_switch_id is not None and load.handle_switch_id in state.on_generator


def taps_of(network: Network, state: SwitchState, trees: tuple[SiteTree, ...]) -> list[list[Tap]]:
    """The loads on each tree. On a set of 120 V only both legs are one wire, taken as L1."""
    place = {t.source_id: i for i, t in enumerate(trees)}
    found: list[list[Tap]] = [[] for _ in trees]
    ways = {
        (x.panel_id, x.handle_switch_id): network.way_of(x.panel_id, x.handle_switch_id, state)
        for x in {(y.panel_id, y.handle_switch_id): y for y in network.loads}.values()
    }
    for row, load in enumerate(network.loads):
        on_handle = _on_handle(load, state)
        path = ways[load.panel_id, load.handle_switch_id]
        legs = load.handle_legs if on_handle else load.pole_legs
        if path.source_id is None or not legs:
            continue
        site_tree = trees[place[path.source_id]]
        element = load.handle_switch_id if on_handle else load.panel_id
        va = load.sign * complex(1.0, math.tan(math.acos(load.power_factor)))
        between = 0.0 if load.volts == 120 else drawn_between(load, site_tree.system)[1]
        wire = legs[min(load.on_pole, len(legs)) - 1] ^ int(path.parity)
        found[place[path.source_id]].append(
            Tap(
                row=row,
                node=site_tree.nodes.index(element or ""),
                wire=0 if site_tree.system == "120" else wire,
                to_neutral_va=(1.0 - between) * va,
                between_va=between * va,
                resistive=load.resistive,
            )
        )
    return found


def drawn_va(
    site_tree: SiteTree, taps: Sequence[Tap], taken_w: NDArray[np.float32]
) -> tuple[Complex, Complex]:
    """Constant power and constant impedance on every node: two of (nodes, 3, times). [VA]

    ``taken_w`` is (loads, times). Resistances are impedances; motors and electronics hold their
    power (common practice, no source).
    """
    shape = (len(site_tree.nodes), 3, taken_w.shape[1])
    power, impedance = np.zeros(shape, dtype=complex), np.zeros(shape, dtype=complex)
    for tap in taps:
        watts = taken_w[tap.row]
        into = impedance if tap.resistive else power
        if tap.to_neutral_va:
            into[tap.node, tap.wire] += tap.to_neutral_va * watts
        if tap.between_va:
            into[tap.node, BETWEEN] += tap.between_va * watts
    return power, impedance
