"""One draw of one scenario on one site: a pure function of its arguments."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.errors import InputError
from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import Feeder, Service
from server.domain.topology import buses, generator_can_energise
from server.physics.legs import leg_volts
from server.simulate.energy import bus_results, energy_balance, source_results
from server.simulate.flow_kernel import Wiring, add_flows
from server.simulate.flows import StepFlows
from server.simulate.fuel import fuel_needs
from server.simulate.kept import KeptRuns
from server.simulate.kernel import march
from server.simulate.limits import limit_points
from server.simulate.loads import pack, watched
from server.simulate.network import Network
from server.simulate.outcome import circuit_service, continuous_findings, summarise_limits
from server.simulate.results import Run
from server.simulate.supply import Supply, build_supply
from server.simulate.timeline import build_timeline
from server.simulate.verdict import judge
from server.simulate.weather import ambient, solar_w, warmest_f

ENGINE_VERSION = 3
"""Part of what a kept result is filed under; raised when the same input gives another figure."""

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


_MOST_BYTES = 1_500_000_000


def _refuse_too_large(site: Site, scenario: Scenario) -> None:
    """Refuse a run whose arrays would not fit in memory.

    Two arrays of (steps, loads), about three of (points, steps) and two of (circuits, steps).
    """
    loads = sum(len(c.appliances) for c in site.circuits) + len(site.solar)
    points = len(site.circuits) + 4 * (len(site.feeders) + len(site.panels) + 5)
    columns = 2 * loads + 3 * points + 2 * len(site.circuits)
    if scenario.steps * columns * 4 > _MOST_BYTES:
        raise InputError(
            f"{scenario.name} is too large to run on this site: take a longer step or a shorter "
            "span.",
            field="step_s",
        )


def simulate(site: Site, scenario: Scenario, *, seed: int | None = None, draw: int = 0) -> Run:
    """Run one draw of a scenario.

    Parameters
    ----------
    seed : int or None   None takes the scenario's own.
    draw : int           Which draw; the same seed and draw always give the same run.

    Returns
    -------
    Run   Peaks are one-minute means (one-step means where a step is longer than a minute).
    """
    seed = scenario.seed if seed is None else seed
    _refuse_too_large(site, scenario)
    points = limit_points(site, outdoor_high_f=warmest_f(scenario.weather))
    network = Network(site, points)
    timeline = build_timeline(site, scenario)
    supply = build_supply(network, timeline, scenario)
    cells = supply.cells
    middle_s = cells.start_s + cells.dt_s / 2.0
    sun_w = solar_w(site, scenario, middle_s)
    packed = pack(site, scenario, supplied=len(site.solar))
    asked_w, taken_w = np.empty((2, len(network.loads), len(cells.dt_s)), dtype=np.float32)
    ledger, zone_wh, zone_f, level = march(
        cells,
        packed,
        supply.available,
        supply.on_generator,
        ambient(site, scenario, middle_s),
        sun_w,
        seed,
        draw,
        asked_w,
        taken_w,
    )
    last = cells.step_cell[1:] - 1
    sums = _sums(network, supply, asked_w, taken_w)
    flows = StepFlows(
        loads=network.loads,
        circuit_names={c.id: c.name for c in site.circuits},
        points=points,
        states=supply.states,
        asked_w=asked_w,
        taken_w=taken_w,
        segment_state=supply.segment_state,
        cells=cells,
    )
    limits = summarise_limits(site, scenario, points, sums.amps, flows)
    service = circuit_service(
        site,
        live=supply.live,
        fed=supply.fed,
        segment_s=supply.segment_s,
        unserved=sums.unserved,
    )
    sources = source_results(
        site,
        timeline,
        source_w=sums.source_w,
        cell_s=cells.dt_s,
        load_kwh=sums.load_kwh,
        network=network,
    )
    findings = (
        *continuous_findings(limits),
        *_run_findings(site),
    )
    return Run(
        site=site,
        scenario=scenario,
        seed=seed,
        draw=draw,
        points=points,
        buses=buses(site),
        source_names=tuple(site.name_of[i] for i in network.source_ids),
        amps=sums.amps,
        bus_live=_bus_live(supply),
        bus_source=_mid_step_source(supply, scenario),
        zone_f=zone_f[:, last],
        watched=watched(site),
        level=level[:, last],
        events=timeline.events,
        limits=limits,
        bus_results=bus_results(site, supply, network=network, load_kwh=sums.load_kwh),
        sources=sources,
        service=service,
        balance=energy_balance(
            sources,
            network,
            load_kwh=sums.load_kwh,
            store_wh=ledger[:, :3],
            zone_wh=zone_wh,
        ),
        findings=findings,
        verdict=judge(limits, service, fuel_needs(site, scenario, sources)),
        flows=flows,
    )


_kept = KeptRuns()


def cached_run(site: Site, scenario: Scenario, *, seed: int | None = None) -> Run:
    """The first draw of a scenario, kept for as long as there is room."""
    key = (site, scenario, scenario.seed if seed is None else seed)
    return _kept.get(key, lambda: simulate(site, scenario, seed=seed))


def kept_run(site: Site, scenario: Scenario) -> Run | None:
    """The run that ``cached_run`` would return, where it need not be made first."""
    return _kept.peek((site, scenario, scenario.seed))


@dataclass(frozen=True)
class _Sums:
    """What the march adds up to; see ``flow_kernel.add_flows``."""

    amps: Singles
    source_w: Floats
    load_kwh: Floats
    unserved: Floats


def _sums(network: Network, supply: Supply, asked_w: Singles, taken_w: Singles) -> _Sums:
    """Amps at every limit point, watts out of every source, what circuits went without."""
    cells = supply.cells
    steps = len(cells.step_cell) - 1
    amps = np.empty((len(network.points), 3, steps), dtype=np.float32)
    source_w = np.empty((len(network.source_ids), len(cells.dt_s)))
    load_ws, unserved = add_flows(
        cells, wiring_of(network, supply), asked_w, taken_w, amps, source_w
    )
    return _Sums(amps, source_w, load_ws / 3.6e6, unserved)


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


def _bus_live(supply: Supply) -> NDArray[np.float32]:
    """Share of each step in which each bus had supply: (buses, steps)."""
    cells = supply.cells
    live = np.repeat((supply.bus_source >= 0).T, np.diff(cells.segment_cell), axis=1)
    first = cells.step_cell[:-1]
    share = live[:, first].astype(np.float32)
    for s in np.flatnonzero(np.diff(cells.step_cell) > 1):
        parts = slice(cells.step_cell[s], cells.step_cell[s + 1])
        share[:, s] = (live[:, parts] * cells.weight[parts]).sum(axis=1)
    return share


def _mid_step_source(supply: Supply, scenario: Scenario) -> NDArray[np.int16]:
    """Source of each bus at the middle of each step: (buses, steps)."""
    middle_s = (np.arange(scenario.steps) + 0.5) * scenario.step_s
    segment = np.searchsorted(middle_s, supply.segment_start_s)
    lengths = np.diff(np.append(segment, scenario.steps))
    return np.repeat(supply.bus_source.T.astype(np.int16), lengths, axis=1)


def _run_findings(site: Site) -> tuple[Finding, ...]:
    """What this run leaves out or holds off."""
    held = tuple(
        Finding(
            code="solar-held-off",
            severity="blocking",
            element_id=array.id,
            text=(
                f"{array.name} is held off in this run: a generator can energise its panel, and an "
                "ordinary inverter must not share a bus with a generator."
            ),
            mend="Move the solar to a panel that only the utility feeds.",
            source="common practice, no source",
        )
        for array in site.solar
        if generator_can_energise(site, array.panel_id)
    )
    batteries = tuple(
        Finding(
            code="battery-not-modelled",
            severity="note",
            element_id=battery.id,
            text=f"{battery.name} is not modelled in this run.",
            mend="Ask the installer what it carries and for how long.",
        )
        for battery in site.batteries
    )
    return (*held, *batteries)


_warm = threading.Lock()


def warm_up() -> None:
    """Compile (or load) the kernels with a one-circuit house, so that no user waits for it."""
    with _warm:
        lamp = Appliance(id="lamp", name="Lamp", load_w=60)
        site = Site(
            name="Warm-up",
            services=(Service(id="service", name="Service", main_a=100),),
            panels=(Panel(id="panel", name="Panel", rating_a=100, spaces=4),),
            feeders=(Feeder(id="feed", name="Feed", from_id="service", to_id="panel"),),
            circuits=(
                Circuit(id="c", name="Lights", panel_id="panel", spaces=(1,), appliances=(lamp,)),
            ),
        )
        scenario = Scenario(id="warm", name="Warm-up", start=datetime(2026, 1, 1), span_h=1)
        simulate(site, scenario)
