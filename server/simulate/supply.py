"""Cuts a scenario into stretches of unchanging supply, and those into cells for the march."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.scenario import Scenario
from server.domain.topology import bus_of_circuit, buses
from server.simulate.cells import Cells, cut_cells
from server.simulate.network import DEAD, Network, StateArrays, SwitchState
from server.simulate.rejoin import may_run, rejoin_times, state_at
from server.simulate.timeline import Interval, Timeline

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Supply:
    """The supply through a scenario.

    Segments are stretches in which it does not change; ``segment_state`` indexes ``states``.

    available  (segments, loads)     Share of its power each load can have.
    on_generator (segments, loads)   Whether a set feeds it.
    live, fed  (segments, circuits)  Has power to use; has power at its breaker.
    powered    (segments, circuits)  Has power to use, or has what still waits out a delay.
    met        (segments, loads)     Whether power is at each load, waiting or not.
    bus_source (segments, buses)     Index of each bus's source, -1 dead.
    cells                            Steps, cut where a segment ends.
    """

    states: tuple[StateArrays, ...]
    segment_start_s: Floats
    segment_s: Floats
    segment_state: Ints
    available: Floats
    on_generator: Flags
    live: Flags
    fed: Flags
    powered: Flags
    met: Flags
    bus_source: Ints
    cells: Cells


def build_supply(
    network: Network, timeline: Timeline, scenario: Scenario, *, every_s: float | None = None
) -> Supply:
    """Segments, cells and what each load and circuit can have in them.

    ``every_s`` cuts the cells at its multiples too.
    """
    site = network.site
    rejoin = rejoin_times(network, timeline, scenario)
    edges = sorted({*timeline.edges(), *(at for spans in rejoin.values() for at, _ in spans)})
    edges = [at for at in edges if 0.0 < at < timeline.span_s]
    segments = _segments(timeline, edges)
    keys: list[SwitchState] = []
    index: dict[SwitchState, int] = {}
    segment_state = np.zeros(len(segments), dtype=np.int64)
    for i, (start, end) in enumerate(segments):
        key = state_at(site, timeline, (start + end) / 2.0)
        if key not in index:
            index[key] = len(keys)
            keys.append(key)
        segment_state[i] = index[key]
    states = tuple(network.arrays(key) for key in keys)
    starts = np.array([start for start, _ in segments])
    lengths = np.array([end - start for start, end in segments])
    available = np.stack([states[k].available for k in segment_state])
    on_generator = np.stack([states[k].source >= len(site.services) for k in segment_state])
    bus_source = np.stack([states[k].bus_source for k in segment_state])
    kept_off = frozenset(k.circuit_id for k in scenario.kept_off)
    fed, allowed = _circuit_flags(network, timeline, segments, bus_source, kept_off)
    position = {c.id: i for i, c in enumerate(site.circuits)}
    for j, load in enumerate(network.loads):
        if load.circuit_id is not None:
            available[:, j] *= allowed[:, position[load.circuit_id]]
    powered = _live(network, available, fed & allowed)
    met = available > 0.0
    _hold_off(network, available, segments, rejoin)
    live = _live(network, available, fed & allowed)
    return Supply(
        states=states,
        segment_start_s=starts,
        segment_s=lengths,
        segment_state=segment_state,
        available=available,
        on_generator=on_generator,
        live=live,
        fed=fed,
        powered=powered,
        met=met,
        bus_source=bus_source,
        cells=cut_cells(scenario, starts, every_s=every_s),
    )


def _segments(timeline: Timeline, edges: list[float]) -> list[tuple[float, float]]:
    marks = [0.0, *edges, timeline.span_s]
    return list(pairwise(marks))


def _hold_off(
    network: Network,
    available: Floats,
    segments: list[tuple[float, float]],
    rejoin: dict[str, tuple[Interval, ...]],
) -> None:
    """Leave what waits without power until it has waited."""
    middle_s = np.array([(start + end) / 2.0 for start, end in segments])
    for j, load in enumerate(network.loads):
        if load.id in rejoin:
            spans = np.array(((-np.inf, -np.inf), *rejoin[load.id]))
            last = np.searchsorted(spans[:, 0], middle_s, side="right") - 1
            available[middle_s >= spans[last, 1], j] = 0.0


def _circuit_flags(
    network: Network,
    timeline: Timeline,
    segments: list[tuple[float, float]],
    bus_source: Ints,
    kept_off: frozenset[str],
) -> tuple[Flags, Flags]:
    """Whether each circuit has power at its breaker, and whether it may run.

    Both (segments, circuits). Its outage role, and being kept off in this scenario, only count
    while a generator feeds the circuit.
    """
    site = network.site
    column = {bus.id: i for i, bus in enumerate(buses(site))}
    owner = bus_of_circuit(site)
    columns = [column[owner[c.id].id] for c in site.circuits]
    feeding = bus_source[:, columns]
    on_set = feeding >= len(site.services)
    allowed = np.ones(feeding.shape, dtype=np.bool_)
    for i, circuit in enumerate(site.circuits):
        if circuit.id in kept_off:
            allowed[:, i] = ~on_set[:, i]
        elif circuit.outage_role in {"off", "by_hand"}:
            for k in np.nonzero(on_set[:, i])[0]:
                start, end = segments[k]
                allowed[k, i] = may_run(circuit, timeline, (start + end) / 2.0)
    return feeding != DEAD, allowed


def _live(network: Network, available: Floats, may: Flags) -> Flags:
    """Whether each circuit has power to use; ``may`` where nothing is on it.

    It has where any load has, but where something on it does harm without power, or must be served,
    only where all of that has: a lamp alight ends no gap of what waits beside it.
    """
    live = may.copy()
    first = 0
    for i, circuit in enumerate(network.site.circuits):
        powered = available[:, first : first + len(circuit.appliances)] > 0.0
        first += len(circuit.appliances)
        waited_on = _waited_on(circuit)
        if waited_on:
            live[:, i] &= powered[:, waited_on].all(axis=1)
        elif circuit.appliances:
            live[:, i] &= powered.any(axis=1)
    return live


def gap_wait_s(circuit: Circuit) -> float:
    """How long a circuit counts as without power after its power came, for what waits on it. [s]"""
    waits_s = [a.restart_delay_s for a in circuit.appliances]
    waited_on = _waited_on(circuit)
    if waited_on:
        return max(waits_s[n] for n in waited_on)
    return min(waits_s, default=0.0)


def _waited_on(circuit: Circuit) -> list[int]:
    """Places on a circuit of what its gaps are counted for, empty where of anything on it."""
    kinds = [KINDS.get(a.kind) for a in circuit.appliances]
    harmed = [n for n, kind in enumerate(kinds) if kind is not None and kind.harm]
    if harmed or circuit.load_class != "must_serve":
        return harmed
    must = [n for n, kind in enumerate(kinds) if kind and kind.load_class == "must_serve"]
    return must or list(range(len(kinds)))
