"""Who feeds whom: the supply network in one switch state, as arrays for the march.

In a given state every element hangs from at most one feeder, so each circuit has one path to one
source or none. From the paths follow the loads each limit point sees and the leg each one lands on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.panel import leg_of_space
from server.domain.site import Site
from server.domain.supply import SolarArray, TransferSwitch
from server.domain.topology import buses
from server.physics.legs import System, amps_per_watt, between_volts, resistive_share
from server.simulate.charger_volts import charger_volts
from server.simulate.results import LimitPoint

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]
DEAD = -1


@dataclass(frozen=True)
class SwitchState:
    """What decides who feeds whom at one instant. Tuples of ids, sorted, so states compare."""

    live_sources: frozenset[str]
    on_generator: frozenset[str]
    moving: frozenset[str]
    thrown_backed_up: frozenset[str]


@dataclass(frozen=True)
class Path:
    """The way from an element up to its source.

    ``elements`` are the panels, switches, feeders and source passed; ``flipped`` says for each
    whether its L1 is the source's L2; ``source_id`` is None where nothing feeds it.
    """

    source_id: str | None
    flipped: dict[str, bool]
    parity: bool


@dataclass(frozen=True)
class Load:
    """One column of the march: an appliance, or a solar array (``sign`` −1)."""

    id: str
    name: str
    circuit_id: str | None
    panel_id: str
    power_factor: float
    part_120_share: float
    volts: int
    resistive: bool
    held_at_v: float
    pole_legs: tuple[int, ...]
    on_pole: int
    handle_switch_id: str | None
    handle_legs: tuple[int, ...]
    sign: float


@dataclass(frozen=True)
class StateArrays:
    """The network in one state.

    available    (loads,)          1 where the load has its volts, 0 where dead, a share of power
                                   for a resistance on 208 V.
    source       (loads,)          index of the source feeding it, -1 dead.
    per_watt     (2, loads)        amps on the source's two hots for each watt drawn.
    group        (loads,)          loads that share a path; -1 dead.
    group_source (groups,)         index of the source of each path, -1 dead.
    point_group  (points, groups)  -1 where a limit point does not see a group; 1 where its L1 is
                                   the source's L2, else 0.
    own          (loads,)          the load's own breaker, which sees nothing but its circuit.
    own_swap     (loads,)          1 where that breaker's L1 is the source's L2.
    merged       (points,)         1 where both legs run on one conductor (a 120 V-only set).
    bus_source   (buses,)          index of the source of each bus, -1 dead.
    switches                       the state of the switches and sources they stand for.
    """

    available: NDArray[np.float64]
    source: NDArray[np.int64]
    per_watt: Complex
    group: NDArray[np.int64]
    group_source: NDArray[np.int64]
    point_group: NDArray[np.int64]
    own: NDArray[np.int64]
    own_swap: NDArray[np.int64]
    merged: NDArray[np.bool_]
    bus_source: NDArray[np.int64]
    switches: SwitchState

    def seen_by(self, point: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The loads a limit point sees, and for each whether its legs are crossed there."""
        seen = self.point_group[point, self.group] if self.group_source.size else self.group
        swap = np.where(self.own == point, self.own_swap, seen)
        loads = np.flatnonzero((self.group >= 0) & (swap >= 0))
        return loads, swap[loads]


class Network:
    """The supply network of one site: loads, limit points and their state arrays."""

    def __init__(self, site: Site, points: tuple[LimitPoint, ...]) -> None:
        self.site = site
        self.points = points
        self.loads = site_loads(site)
        self.source_ids = (*(s.id for s in site.services), *(g.id for g in site.generators))
        self.systems: dict[str, System] = {s.id: s.system for s in site.services}
        self.systems |= {g.id: g.system for g in site.generators}
        self._points_on: dict[str, list[int]] = {}
        for index, point in enumerate(points):
            self._points_on.setdefault(point.element_id, []).append(index)
        self._own = _ints([self._points_on[x.circuit_id or x.id][0] for x in self.loads])
        keys = [(x.panel_id, x.handle_switch_id, x.sign) for x in self.loads]
        self._groups = tuple(dict.fromkeys(keys))
        position = {key: g for g, key in enumerate(self._groups)}
        self._group = _ints([position[key] for key in keys])
        self._merged = self._find_merged()
        self._connections: dict[tuple[System, bool, bool], tuple[Floats, Complex]] = {}
        self._arrays: dict[SwitchState, StateArrays] = {}
        self._transfer = {t.id for t in site.transfer_switches}
        self._throws = {d.id for d in site.double_throws}

    def path(self, element_id: str, state: SwitchState) -> Path:
        """The path of a panel or switch in this state."""
        site = self.site
        passed: list[tuple[str, bool]] = []
        parity = False
        broken = False
        while True:
            passed.append((element_id, parity))
            broken |= element_id in state.moving
            if element_id in self._transfer:
                side = "generator" if element_id in state.on_generator else "utility"
                feeder = site.feeder_into(element_id, side)
            elif element_id in self._throws:
                side = "backed_up" if element_id in state.thrown_backed_up else "normal"
                feeder = site.feeder_into(element_id, side)
            else:
                feeder = site.feeder_into(element_id)
            if feeder is None:
                break
            parity ^= feeder.swap_legs
            passed.append((feeder.id, parity))
            element_id = feeder.from_id
        live = element_id in state.live_sources and not broken
        flipped = {name: parity ^ at for name, at in passed}
        return Path(element_id if live else None, flipped, parity)

    def way_of(self, panel_id: str, switch_id: str | None, state: SwitchState) -> Path:
        """The path of a circuit of this panel, through its transfer handle where it has one."""
        if switch_id is None:
            return self.path(panel_id, state)
        if switch_id in state.moving:
            return Path(None, {}, parity=False)
        if switch_id not in state.on_generator:
            return self.path(panel_id, state)
        feeder = self.site.feeder_into(switch_id, "generator")
        assert feeder is not None  # noqa: S101 - the site was checked
        live = feeder.from_id in state.live_sources
        names = (switch_id, feeder.id, feeder.from_id)
        return Path(
            feeder.from_id if live else None,
            {name: feeder.swap_legs and name == switch_id for name in names},
            parity=feeder.swap_legs,
        )

    def arrays(self, state: SwitchState) -> StateArrays:
        """The arrays of one state, worked out once."""
        found = self._arrays.get(state)
        if found is None:
            found = self._arrays[state] = self._build(state)
        return found

    def below(self, element_id: str, state: SwitchState) -> NDArray[np.int64]:
        """Loads fed through an element: -1 not, 1 where its L1 is the source's L2, else 0."""
        found = np.full(len(self.loads), DEAD, dtype=np.int64)
        for g, (panel_id, switch_id, _) in enumerate(self._groups):
            path = self.way_of(panel_id, switch_id, state)
            if path.source_id is not None and element_id in path.flipped:
                found[self._group == g] = int(path.flipped[element_id])
        return found

    def _build(self, state: SwitchState) -> StateArrays:
        count = len(self.loads)
        available, per_watt = np.zeros(count), np.zeros((2, count), dtype=np.complex128)
        paths = [self.way_of(panel, switch, state) for panel, switch, _ in self._groups]
        group_source = _ints([self._source_index(path.source_id) for path in paths])
        point_group = np.full((len(self.points), len(paths)), -1, dtype=np.int64)
        for g, ((panel_id, switch_id, sign), path) in enumerate(
            zip(self._groups, paths, strict=True)
        ):
            if path.source_id is None:
                continue
            for index, flipped in self._seen(path, panel_id, sign):
                point_group[index, g] = flipped
            on_handle = switch_id is not None and switch_id in state.on_generator
            share, amps = self._connection(
                self.systems[path.source_id], parity=path.parity, on_handle=on_handle
            )
            mine = self._group == g
            available[mine], per_watt[:, mine] = share[mine], amps[:, mine]
        parity = _ints([int(path.parity) for path in paths])
        source = group_source[self._group]
        return StateArrays(
            available=available,
            source=source,
            per_watt=per_watt,
            group=np.where(source >= 0, self._group, DEAD),
            group_source=group_source,
            point_group=point_group,
            own=self._own,
            own_swap=np.where(source >= 0, parity[self._group], 0),
            merged=self._merged,
            bus_source=self._bus_sources(state),
            switches=state,
        )

    def _connection(
        self, system: System, *, parity: bool, on_handle: bool
    ) -> tuple[Floats, Complex]:
        """Share of power and amps per watt of every load, were it fed in this way."""
        key = (system, parity, on_handle)
        found = self._connections.get(key)
        if found is None:
            each = [
                _connection(x, x.handle_legs if on_handle else x.pole_legs, system, parity=parity)
                for x in self.loads
            ]
            found = self._connections[key] = (
                np.array([share for share, _ in each], dtype=np.float64),
                np.array([amps for _, amps in each], dtype=np.complex128).reshape(-1, 2).T,
            )
        return found

    def _source_index(self, source_id: str | None) -> int:
        return DEAD if source_id is None else self.source_ids.index(source_id)

    def _seen(self, path: Path, panel_id: str, sign: float) -> list[tuple[int, int]]:
        """The limit points on a path that see its loads, and whether each has its legs crossed."""
        return [
            (index, int(flipped))
            for element, flipped in path.flipped.items()
            for index in self._points_on.get(element, ())
            if sign > 0 or self.points[index].counts == "net" or element != panel_id
        ]

    def _find_merged(self) -> NDArray[np.bool_]:
        single = {g.id for g in self.site.generators if g.system == "120"}
        single |= {f.id for f in self.site.feeders if f.from_id in single}
        return np.array([p.element_id in single for p in self.points], dtype=np.bool_)

    def _bus_sources(self, state: SwitchState) -> NDArray[np.int64]:
        found = []
        for bus in buses(self.site):
            if bus.panel_ids:
                source_id = self.path(bus.panel_ids[0], state).source_id
            else:
                panel_id = self.site.circuit_by_id[bus.circuit_ids[0]].panel_id
                source_id = self.way_of(panel_id, bus.root_id, state).source_id
            found.append(self._source_index(source_id))
        return _ints(found)


def _ints(values: list[int]) -> NDArray[np.int64]:
    return np.asarray(values, dtype=np.int64)


def _connection(
    load: Load, legs: tuple[int, ...], system: System, *, parity: bool
) -> tuple[float, tuple[complex, complex]]:
    """Share of power available and amps per watt on the source's hots."""
    if not legs:
        return 0.0, (0j, 0j)
    wire = legs[min(load.on_pole, len(legs)) - 1] ^ int(parity)
    to_neutral = amps_per_watt(system=system, wire=wire, power_factor=load.power_factor)
    if load.volts == 120:
        return 1.0, to_neutral
    share, weight = drawn_between(load, system)
    if share == 0.0:
        return 0.0, (0j, 0j)
    across = amps_per_watt(system=system, wire=None, power_factor=load.power_factor)
    return share, (
        weight * across[0] + (1.0 - weight) * to_neutral[0],
        weight * across[1] + (1.0 - weight) * to_neutral[1],
    )


def drawn_between(load: Load, system: System) -> tuple[float, float]:
    """Share of its 240 V power that a load draws here, and what part of that lies between hots.

    A resistance draws by the square of the volts, a car's charger by the volts themselves, for
    it holds its amps, and anything else keeps its watts. Both are 0 where the source gives 120 V
    only: there a 240 V load stands still.
    """
    if between_volts(system) == 0.0:
        return 0.0, 0.0
    part = load.part_120_share
    share_240 = 1.0 - part
    if load.held_at_v:
        share_240 *= between_volts(system) / load.held_at_v
    elif load.resistive:
        share_240 *= resistive_share(system)
    share = share_240 + part
    return share, share_240 / share


def _legs_of(circuit: Circuit) -> tuple[int, ...]:
    return tuple(0 if leg_of_space(space) == "L1" else 1 for space in circuit.spaces)


def _handle_of(
    circuit: Circuit, switches: tuple[TransferSwitch, ...]
) -> tuple[str | None, tuple[int, ...]]:
    for switch in switches:
        for handle in switch.handles:
            if handle.circuit_id == circuit.id:
                first = 0 if handle.leg == "L1" else 1
                return switch.id, (first, 1 - first)[: circuit.poles]
    return None, ()


def _solar_load(array: SolarArray) -> Load:
    return Load(
        id=array.id,
        name=array.name,
        circuit_id=None,
        panel_id=array.panel_id,
        power_factor=1.0,
        part_120_share=0.0,
        volts=240,
        resistive=False,
        held_at_v=0.0,
        pole_legs=(0, 1),
        on_pole=1,
        handle_switch_id=None,
        handle_legs=(),
        sign=-1.0,
    )


def _appliance_load(
    circuit: Circuit,
    appliance: Appliance,
    switches: tuple[TransferSwitch, ...],
    held_at_v: float,
) -> Load:
    switch_id, handle_legs = _handle_of(circuit, switches)
    return Load(
        id=appliance.id,
        name=appliance.name,
        circuit_id=circuit.id,
        panel_id=circuit.panel_id,
        power_factor=appliance.power_factor,
        part_120_share=appliance.part_120_w / appliance.load_w if appliance.load_w else 0.0,
        volts=appliance.volts,
        resistive=appliance.load_type == "resistance",
        held_at_v=held_at_v,
        pole_legs=_legs_of(circuit),
        on_pole=appliance.on_pole,
        handle_switch_id=switch_id,
        handle_legs=handle_legs,
        sign=1.0,
    )


@lru_cache(maxsize=64)
def site_loads(site: Site) -> tuple[Load, ...]:
    """Every appliance in circuit order, then every solar array."""
    return (
        *(
            _appliance_load(c, a, site.transfer_switches, charger_volts(site, c, a))
            for c in site.circuits
            for a in c.appliances
        ),
        *(_solar_load(array) for array in site.solar),
    )
