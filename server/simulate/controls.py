"""Packs the load managers of a site into flat arrays for the march under control."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from server.domain.circuit import Circuit
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.cells import Cells
from server.simulate.loads import Model, PackedLoads
from server.simulate.network import DEAD, Network
from server.simulate.supply import Supply

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

TICK_S = 60
"""Managers return circuits, and decide turns, on whole minutes. [s]"""
LOOK_S = 30.0
"""Managers look at means of fixed half minutes, whatever the step: what begins within a minute is
then seen as at least half of itself, and a run at a shorter step is managed as one at a longer. No
cell under a manager is longer. [s]"""

CALM_TICKS = 30
"""Minutes that are taken at once where managers may have no say."""

SETTING, INTERLOCK, TURNS = 0.0, 1.0, 2.0
_WAYS = {"setting": SETTING, "interlock": INTERLOCK, "turns": TURNS}
WAY, SETTING_A, OFF_ON_SET, MERGED, SHED_S, LEAST_OFF_S, RETURN_S = range(7)
"""Columns of a manager's figures: its way; amps of a leg, infinite where there is no setting; 1
where it keeps its circuits off while a set feeds them; 1 where both legs run on one conductor; how
long above, least time off, from return to return [s]."""

_LAST = 100


class Controls(NamedTuple):
    """The managers of a site; ``k`` counts their circuits, ``g`` the managers.

    apart         (loads,)                 Marched cell by cell.
    rows          (rows,)                  Those of them that are no units of a room.
    rooms         (rooms,)                 The rooms of the others.
    circuit_of    (loads,)                 k of each load, -1 where none controls it.
    load_ptr      (k + 1, 2)               First load of each circuit and the one past its last.
    supplied      (segments, k)            Whether power is at any load of each circuit.
    waiting       (waiting,)               Loads of these circuits with a delay.
    delay_s       (loads,)                 After a loss of power, 0 for none. [s]
    longest_s     (k,)                     The longest of each circuit. [s]
    order         (k,)                     The circuits in the order they are shed, by manager.
    order_ptr     (g + 1,)                 Where each manager begins in ``order``.
    figures       (g, 7)                   Way, setting, whether off on a set, whether its legs run
                                           on one conductor, and three times; see the columns.
    seen          (g, states, loads)       -1 where what it watches does not see a load, 1 where
                                           its L1 is the source's L2, else 0.
    amps_per_watt (states, 4, loads)       As ``flow_kernel.Wiring`` has it, solar below zero.
    segment_state (segments,)              State of each segment.
    tick_cell     (ticks + 1,)             First cell of each minute.
    look_of       (cells,)                 The look of each cell: those of one half minute of one
                                           minute and segment.
    calm_ticks    int                      Minutes taken at once, 0 for one by one throughout.
    """

    apart: Flags
    rows: Ints
    rooms: Ints
    circuit_of: Ints
    load_ptr: Ints
    supplied: Flags
    waiting: Ints
    delay_s: Floats
    longest_s: Floats
    order: Ints
    order_ptr: Ints
    figures: Floats
    seen: Ints
    amps_per_watt: Floats
    segment_state: Ints
    tick_cell: Ints
    look_of: Ints
    calm_ticks: int = CALM_TICKS


def managed_circuits(site: Site) -> tuple[Circuit, ...]:
    """The circuits that a manager controls, in the order of the march's ``held``."""
    return tuple(c for c in site.circuits if c.energy_group_id is not None)


def shed_order(site: Site, group: EnergyGroup) -> tuple[Circuit, ...]:
    """Its circuits, first shed first: by their number, those without one last, then as listed."""
    mine = [c for c in site.circuits if c.energy_group_id == group.id]
    return tuple(sorted(mine, key=lambda c: c.shed_order or _LAST))


def tick_s(scenario: Scenario) -> int:
    """Seconds from one act of a manager to the next: a minute, or whole steps just under it."""
    return TICK_S // scenario.step_s * scenario.step_s if scenario.step_s < TICK_S else TICK_S


def pack_controls(
    network: Network,
    supply: Supply,
    packed: PackedLoads,
    scenario: Scenario,
    amps_per_watt: Floats,
) -> Controls | None:
    """The managers of a site as arrays, None where none controls anything."""
    site = network.site
    circuits = managed_circuits(site)
    if not circuits:
        return None
    place = {c.id: k for k, c in enumerate(circuits)}
    groups = [g for g in site.energy_groups if shed_order(site, g)]
    circuit_of = np.array([place.get(x.circuit_id or "", -1) for x in network.loads], np.int64)
    apart = circuit_of >= 0
    rooms = np.unique(packed.zone_of[apart & (packed.zone_of >= 0)])
    apart |= np.isin(packed.zone_of, rooms) & (packed.zone_of >= 0)
    apart |= np.isin(packed.stands_at, rooms)
    orders = [[place[c.id] for c in shed_order(site, g)] for g in groups]
    signs = np.array([x.sign for x in network.loads], dtype=np.float64)
    single = {g.id for g in site.generators if g.system == "120"}
    single |= {f.id for f in site.feeders if f.from_id in single}
    tick_cell = _tick_cell(supply.cells, float(tick_s(scenario)))
    load_ptr = _load_ptr(site, circuits)
    own_s = {a.id: a.restart_delay_s for c in circuits for a in c.appliances}
    delay_s = np.array([own_s.get(x.id, 0.0) for x in network.loads], dtype=np.float64)
    return Controls(
        apart=apart,
        rows=np.flatnonzero(apart & (packed.model != Model.ROOM)),
        rooms=rooms,
        circuit_of=circuit_of,
        load_ptr=load_ptr,
        supplied=np.stack([supply.met[:, a:b].any(axis=1) for a, b in load_ptr], axis=1),
        waiting=np.flatnonzero(delay_s > 0.0),
        delay_s=delay_s,
        longest_s=np.array([delay_s[a:b].max(initial=0.0) for a, b in load_ptr]),
        order=np.array([k for order in orders for k in order], dtype=np.int64),
        order_ptr=np.cumsum([0, *(len(order) for order in orders)]),
        figures=np.array([_figures(g, merged=g.watch_id in single) for g in groups]),
        seen=np.stack([_seen(network, supply, g) for g in groups]),
        amps_per_watt=amps_per_watt * signs,
        segment_state=supply.segment_state,
        tick_cell=tick_cell,
        look_of=_look_of(supply.cells, tick_cell),
    )


def _figures(group: EnergyGroup, *, merged: bool) -> tuple[float, ...]:
    return (
        _WAYS[group.way],
        group.setting_a or np.inf,
        float(group.off_on_generator),
        float(merged),
        group.shed_after_s,
        group.least_off_min * 60.0,
        group.return_every_min * 60.0,
    )


def _load_ptr(site: Site, circuits: tuple[Circuit, ...]) -> Ints:
    first: dict[str, int] = {}
    count = 0
    for circuit in site.circuits:
        first[circuit.id] = count
        count += len(circuit.appliances)
    rows = [(first[c.id], first[c.id] + len(c.appliances)) for c in circuits]
    return np.array(rows, dtype=np.int64).reshape(-1, 2)


def _seen(network: Network, supply: Supply, group: EnergyGroup) -> Ints:
    """What one manager watches in every state: (states, loads)."""
    if group.watch_id is not None:
        watch = group.watch_id
        return np.stack([network.below(watch, s.switches) for s in supply.states])
    mine = {c.id for c in network.site.circuits if c.energy_group_id == group.id}
    own = np.array([x.circuit_id in mine for x in network.loads], dtype=np.bool_)
    rows = [np.where(own & (s.group >= 0), s.own_swap, DEAD) for s in supply.states]
    return np.stack(rows)


def _tick_cell(cells: Cells, length_s: float) -> Ints:
    """First cell of every tick, and the end: (ticks + 1,)."""
    end_s = cells.start_s[-1] + cells.dt_s[-1]
    starts = np.arange(0.0, end_s - 1e-6, length_s)
    found = np.searchsorted(cells.start_s, starts - 1e-6)
    return np.append(found, len(cells.start_s)).astype(np.int64)


def _look_of(cells: Cells, tick_cell: Ints) -> Ints:
    """Which look each cell belongs to: (cells,)."""
    begins = np.zeros(len(cells.start_s), dtype=np.bool_)
    begins[1:] = np.diff(np.floor(cells.start_s / LOOK_S + 1e-9)) > 0.0
    begins[tick_cell[:-1]] = True
    begins[cells.segment_cell[:-1]] = True
    return np.cumsum(begins).astype(np.int64)
