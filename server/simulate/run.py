"""One draw of one scenario on one site: a pure function of its arguments."""

from __future__ import annotations

import threading
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.behaviour import Tank
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.namesakes import sets_told_apart
from server.domain.pairs import for_pairs
from server.domain.panel import Panel
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import EnergyGroup, Feeder, Service
from server.domain.topology import buses, generator_can_energise
from server.simulate.car_short import car_findings
from server.simulate.cut_uses import cut_findings
from server.simulate.dry import play
from server.simulate.energy import bus_results, energy_balance, source_results
from server.simulate.flat_heat import flat_heat_findings
from server.simulate.freezes import freeze_findings
from server.simulate.fuel import fuel_needs
from server.simulate.fuel_untold import untold_fuel
from server.simulate.halves import halves_findings
from server.simulate.harm_grade import harms_told
from server.simulate.hours_before import hours_before
from server.simulate.in_use import quiet_spans
from server.simulate.kept import KeptRuns
from server.simulate.outcome import circuit_service, continuous_findings, summarise_limits
from server.simulate.pit_over import pits_over
from server.simulate.pit_waits import waited_by_pits
from server.simulate.prepared import prepare
from server.simulate.rest_unheated import rest_findings
from server.simulate.results import Run
from server.simulate.seen import flows_of, seen_of
from server.simulate.set_load import set_findings
from server.simulate.supply import Supply
from server.simulate.tub_frost import tub_findings
from server.simulate.uncounted import uncounted_words
from server.simulate.verdict import judge

ENGINE_VERSION = 66
"""Part of what a kept result is filed under; raised when the same input gives another figure."""


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
    site = sets_told_apart(site)
    scenario = for_pairs(site, scenario)
    seed = scenario.seed if seed is None else seed
    played = play(prepare(site, scenario), seed, draw)
    ready, marched = played.ready, played.marched
    points, network, supply = ready.points, ready.network, ready.supply
    cells = supply.cells
    flows = flows_of(ready, marched)
    limits = summarise_limits(site, scenario, points, marched.amps, flows)
    stretches = ready.stretches(marched)
    quiet = quiet_spans(site, scenario)
    service = circuit_service(
        site,
        ready.waits(stretches),
        unserved=marched.unserved,
        quiet=quiet,
    )
    sources = source_results(
        site,
        ready.timeline,
        source_w=marched.source_w,
        running=ready.running,
        cell_s=cells.dt_s,
        load_kwh=marched.load_kwh,
        network=network,
    )
    fuel = fuel_needs(site, scenario, played)
    untold = untold_fuel(site, sources)
    pits = pits_over(
        site,
        scenario,
        cells,
        ledger=marched.ledger,
        level=marched.level,
        watch_of=ready.packed.watch_of,
    )
    before = hours_before(ready)
    if before is not None:
        pits = before.with_pits(pits, scenario)
    seen = seen_of(ready, marched, stretches, quiet=quiet, flows=flows, before=before)
    service = waited_by_pits(site, scenario, service, pits, seen.served.dark)
    cars = car_findings(ready, marched)
    findings = (
        *continuous_findings(limits),
        *_run_findings(site),
        *set_findings(ready, marched),
        *cars,
        *halves_findings(ready, marched),
        *rest_findings(ready, marched),
        *flat_heat_findings(site, scenario),
        *cut_findings(ready, seed, draw),
        *freeze_findings(ready, marched),
        *tub_findings(seen),
    )
    return Run(
        site=site,
        scenario=scenario,
        seed=seed,
        draw=draw,
        points=points,
        buses=buses(site),
        source_names=tuple(site.name_of[i] for i in network.source_ids),
        amps=marched.amps,
        bus_live=_bus_live(supply),
        bus_source=_mid_step_source(supply, scenario),
        zone_f=seen.zone_f,
        own_room_f=seen.own_room_f,
        own_room_units=seen.own_room_units,
        watched=seen.watched,
        level=seen.level,
        events=ready.timeline.events,
        limits=limits,
        bus_results=bus_results(site, supply, network=network, load_kwh=marched.load_kwh),
        sources=sources,
        fuel=fuel,
        service=service,
        balance=energy_balance(
            sources,
            network,
            load_kwh=marched.load_kwh,
            store_wh=marched.ledger[:, :3],
            zone_wh=marched.zone_wh,
        ),
        findings=findings,
        verdict=judge(
            scenario,
            limits,
            service,
            fuel=fuel,
            pits=pits,
            harms=harms_told(seen),
            cars_short=len(cars),
            left=before.left if before is not None else (),
            harmless_before=before is not None and before.harmless,
            tanks=frozenset(
                c.id for c in site.circuits for a in c.appliances if isinstance(a.behaviour, Tank)
            ),
            uncounted=tuple(filter(None, (uncounted_words(site),))) if scenario.outages else (),
            untold=untold,
        ),
        served=seen.served,
        flows=flows,
        before=before,
    )


_kept = KeptRuns()


def cached_run(site: Site, scenario: Scenario, *, seed: int | None = None) -> Run:
    """The first draw of a scenario, kept for as long as there is room."""
    key = (site, scenario, scenario.seed if seed is None else seed)
    return _kept.get(key, lambda: simulate(site, scenario, seed=seed))


def kept_run(site: Site, scenario: Scenario) -> Run | None:
    """The run that ``cached_run`` would return, where it need not be made first."""
    return _kept.peek((site, scenario, scenario.seed))


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
        manager = EnergyGroup(id="manager", name="Manager", setting_a=50)
        managed = site.circuits[0].model_copy(update={"energy_group_id": "manager"})
        held = {"energy_groups": (manager,), "circuits": (managed,)}
        simulate(site.model_copy(update=held), scenario)
