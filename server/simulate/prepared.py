"""What every draw of a scenario has in common, worked out once; and the march of one draw."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from server.domain.errors import InputError
from server.domain.pairs import for_pairs
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.physics.legs import leg_volts
from server.simulate.cars_begun import cars_begun
from server.simulate.control_kernel import march_under_control
from server.simulate.controls import LOOK_S, Controls, managed_circuits, pack_controls
from server.simulate.dead_seconds import after_dead_seconds
from server.simulate.flow_kernel import Wiring, add_flows
from server.simulate.held import Stretches, with_held
from server.simulate.kernel import march
from server.simulate.limits import limit_points
from server.simulate.loads import Model, PackedLoads, pack
from server.simulate.network import Network
from server.simulate.results import LimitPoint
from server.simulate.stock import Stock, share_inside, stock_of
from server.simulate.supply import Supply, build_supply
from server.simulate.things import powered_share
from server.simulate.timeline import Interval, Timeline, build_timeline
from server.simulate.weather import ambient, solar_w, warmest_f

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


_MOST_BYTES = 1_500_000_000
_LEAD_STEP_S = 60


def refuse_too_large(site: Site, scenario: Scenario) -> None:
    """Refuse a run whose arrays would not fit in memory.

    Two arrays of (steps, loads), about three of (points, steps) and two of (circuits, steps).
    """
    loads = sum(len(c.appliances) for c in site.circuits) + len(site.solar)
    points = len(site.circuits) + 4 * (len(site.feeders) + len(site.panels) + 5)
    columns = 2 * loads + 3 * points + 2 * len(site.circuits)
    steps = scenario.steps
    if managed_circuits(site):
        steps = max(steps, int(scenario.span_h * 3600 / LOOK_S))
    if steps * columns * 4 > _MOST_BYTES:
        raise InputError(
            f"{scenario.name} is too large to run on this site: take a longer step or a shorter "
            "span.",
            field="step_s",
        )


@dataclass(frozen=True)
class Marched:
    """One draw, marched and summed.

    ``asked_w`` and ``taken_w`` (loads, cells), ``amps`` (points, 3, steps) and ``source_w``
    (sources, cells) are as in ``kernel.march`` and ``flow_kernel.add_flows``; ``unserved`` is
    (circuits,) seconds; ``state`` (loads, states) is what each load remembers at the end;
    ``held_s`` (managed circuits, cells) is how long load management held each of them off, None
    where there is none; the rest is what the march returns.
    """

    asked_w: Singles
    taken_w: Singles
    amps: Singles
    source_w: Floats
    load_kwh: Floats
    unserved: Floats
    ledger: Floats
    zone_wh: Floats
    zone_f: Singles
    level: Singles
    state: Floats
    held_s: Singles | None


class Room:
    """Arrays that a draw fills, to be filled again by the next."""

    def __init__(self, prepared: Prepared) -> None:
        network, cells = prepared.network, prepared.supply.cells
        count, steps = len(cells.dt_s), len(cells.step_cell) - 1
        self.watts = np.empty((2, len(network.loads), count), dtype=np.float32)
        self.amps = np.empty((len(network.points), 3, steps), dtype=np.float32)
        self.source_w = np.empty((len(network.source_ids), count))


@dataclass(frozen=True)
class Prepared:
    """A scenario on a site, ready to be marched; the same for every seed and draw.

    ``lead`` is the outage up to the start of a run that begins inside it or a day after it at most,
    with the hours since, None of any other run; once a draw has ``begun``, ``led`` is that marched
    and ``before`` how circuits fared in it.
    """

    site: Site
    scenario: Scenario
    points: tuple[LimitPoint, ...]
    network: Network
    timeline: Timeline
    supply: Supply
    packed: PackedLoads
    ambient: Floats
    solar_w: Floats
    lead: Prepared | None = None
    before: Stretches | None = None
    led: Marched | None = None

    @cached_property
    def wiring(self) -> Wiring:
        """Who feeds whom in every state."""
        return wiring_of(self.network, self.supply)

    @cached_property
    def controls(self) -> Controls | None:
        """The load managers, None where none controls anything."""
        by_watt = self.wiring.amps_per_watt
        return pack_controls(self.network, self.supply, self.packed, self.scenario, by_watt)

    @cached_property
    def stocks(self) -> tuple[Stock | None, ...]:
        """The fuel of every set, None where it cannot run dry."""
        cells = self.supply.cells
        return tuple(
            stock_of(g, self.scenario, cells, running)
            for g, running in zip(self.site.generators, self.running, strict=True)
        )

    @cached_property
    def running(self) -> Floats:
        """Share of each cell in which each set turns: (sets, cells)."""
        cells, spans = self.supply.cells, self.timeline.running
        rows = [share_inside(cells, spans[g.id]) for g in self.site.generators]
        return np.array(rows).reshape(len(rows), len(cells.dt_s))

    def without_fuel(self, empty: Mapping[str, tuple[Interval, ...]]) -> Prepared:
        """The same with these sets stopped in these stretches, for want of fuel."""
        timeline = build_timeline(self.site, self.scenario, empty=empty)
        made = _assembled(self.site, self.scenario, self.network, timeline, self.packed)
        return replace(made, lead=self.lead, before=self.before, led=self.led)

    def begun(self, seed: int, draw: int) -> Prepared:
        """The same with what the hours before left, marched as this draw; itself without such.

        Rooms, cars and all that stores heat, cold, water or charge go on from there. Sets stand as
        the scenario has them, with fuel enough: what is told of it is told of the start. Gaps and
        waits go on only where the utility is still out.
        """
        if self.lead is None:
            return self
        led = self.lead.march(seed, draw)
        model = self.packed.model
        goes_on = (model == Model.TANK) | (model > Model.SUPPLIED)
        packed = self.packed._replace(
            begun=np.where(goes_on[:, None], led.state, np.nan),
            zones_begun_f=led.zone_f[:, -1].astype(np.float64),
        )
        packed = cars_begun(packed, led.state)
        before = self.lead.stretches(led)
        shifted = replace(before, start_s=before.start_s - self.lead.timeline.span_s)
        return replace(self, packed=packed, before=shifted, led=led)

    def stretches(self, marched: Marched) -> Stretches:
        """How circuits fared in a marched draw, the hours before with it."""
        return with_held(self.site, self.supply, marched.held_s).after(self.before)

    def waits(self, stretches: Stretches) -> Stretches:
        """Those of them that waits are counted over: none of an outage that was over before."""
        return stretches.since(-self.scenario.dark_before_s)

    def march(self, seed: int, draw: int, room: Room | None = None) -> Marched:
        """March one draw. With a ``room`` the arrays are its own, good until it is used again."""
        supply, controls = self.supply, self.controls
        room = room or Room(self)
        asked_w, taken_w = room.watts
        none_apart = np.zeros(len(self.packed.model), dtype=np.bool_)
        ledger, zone_wh, zone_f, level, state = march(
            supply.cells,
            self.packed,
            supply.available,
            supply.on_generator,
            self.ambient,
            self.solar_w,
            seed,
            draw,
            asked_w,
            taken_w,
            none_apart if controls is None else controls.apart,
        )
        held_s = None
        if controls is not None:
            held_s, short = march_under_control(
                supply.cells,
                self.packed,
                controls,
                supply.available,
                supply.on_generator,
                self.ambient,
                seed,
                draw,
                asked_w,
                taken_w,
                ledger,
                zone_wh,
                zone_f,
                level,
                state,
            )
        load_ws, unserved = add_flows(
            supply.cells, self.wiring, asked_w, taken_w, room.amps, room.source_w
        )
        if controls is not None:
            unserved[[c.energy_group_id is not None for c in self.site.circuits]] += short
        return Marched(
            asked_w=asked_w,
            taken_w=taken_w,
            amps=room.amps,
            source_w=room.source_w,
            load_kwh=load_ws / 3.6e6,
            unserved=unserved,
            ledger=ledger,
            zone_wh=zone_wh,
            zone_f=zone_f,
            level=level,
            state=state,
            held_s=held_s,
        )


def prepare(site: Site, scenario: Scenario) -> Prepared:
    """Work out all that does not change from draw to draw.

    Raises
    ------
    InputError   When the run would not fit in memory.
    """
    scenario = for_pairs(site, scenario)
    refuse_too_large(site, scenario)
    points = limit_points(site, outdoor_high_f=warmest_f(scenario.weather))
    network = Network(site, points)
    made = _of(site, scenario, network)
    if not scenario.lead_s:
        return made
    lead = {
        "start": scenario.start - timedelta(seconds=scenario.lead_s),
        "span_h": scenario.lead_s / 3600.0,
        "step_s": _LEAD_STEP_S,
    }
    before = scenario.model_copy(update=lead)
    return replace(made, lead=_of(site, before, network, leads=scenario))


def _of(
    site: Site, scenario: Scenario, network: Network, *, leads: Scenario | None = None
) -> Prepared:
    packed = pack(site, scenario, supplied=len(site.solar))
    timeline = build_timeline(site, scenario)
    return _assembled(site, scenario, network, timeline, packed, leads=leads)


def _assembled(
    site: Site,
    scenario: Scenario,
    network: Network,
    timeline: Timeline,
    packed: PackedLoads,
    *,
    leads: Scenario | None = None,
) -> Prepared:
    """What follows from when each source is there, in the weather of the run it ``leads`` to."""
    every_s = LOOK_S if managed_circuits(site) else None
    supply = build_supply(network, timeline, scenario, every_s=every_s)
    packed = after_dead_seconds(
        packed,
        supply.segment_start_s,
        supply.segment_s,
        supply.available,
        somebody=scenario.people != 0,
    )
    middle_s = supply.cells.start_s + supply.cells.dt_s / 2.0
    powered = np.repeat(powered_share(site, supply), np.diff(supply.cells.segment_cell))
    told, told_s = scenario, middle_s
    if leads is not None:
        told, told_s = leads, middle_s + (scenario.start - leads.start).total_seconds()
    return Prepared(
        site=site,
        scenario=scenario,
        points=network.points,
        network=network,
        timeline=timeline,
        supply=supply,
        packed=packed,
        ambient=np.column_stack((ambient(site, told, told_s), powered)),
        solar_w=solar_w(site, told, told_s),
    )


def wiring_of(network: Network, supply: Supply) -> Wiring:
    """Who feeds whom in every state of a run, as the compiled sums take it."""
    states, loads = supply.states, network.loads
    position = {c.id: i for i, c in enumerate(network.site.circuits)}
    per_watt = np.stack([s.per_watt for s in states])
    amps = np.stack((per_watt.real, per_watt.imag), axis=2).reshape(len(states), 4, len(loads))
    volts = [leg_volts(network.systems[i]) for i in network.source_ids]
    own = states[0].own
    paths = np.ones(len(network.points), dtype=np.bool_)
    paths[own] = False
    return Wiring(
        segment_state=supply.segment_state,
        available=supply.available,
        amps_per_watt=amps,
        group=np.stack([s.group for s in states]),
        group_source=np.stack([s.group_source for s in states]),
        point_group=np.stack([s.point_group for s in states]),
        own=own,
        circuit=np.array([position.get(x.circuit_id or "", -1) for x in loads], dtype=np.int64),
        circuits=len(position),
        own_swap=np.stack([s.own_swap for s in states]),
        sign=np.array([load.sign for load in loads], dtype=np.float64),
        path_point=np.flatnonzero(paths),
        merged=states[0].merged,
        volts=np.array([(a.real, a.imag, b.real, b.imag) for a, b in volts]).reshape(-1, 4),
    )
