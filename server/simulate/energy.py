"""Energy of a run by bus and by source, fuel, and the balance that must close."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.domain.site import Site
from server.domain.supply import Generator
from server.domain.topology import buses
from server.domain.working import Term, Working
from server.physics.engine_set import UNIT_OF_FUEL, fuel_line
from server.simulate.network import Network
from server.simulate.results import Balance, BusResult, SourceResult
from server.simulate.supply import Supply
from server.simulate.timeline import Timeline

Floats = NDArray[np.float64]


def bus_results(
    site: Site, supply: Supply, *, network: Network, load_kwh: Floats
) -> tuple[BusResult, ...]:
    """Energy and dead minutes of every bus; ``load_kwh`` is (loads,). [kWh]."""
    energy = {c.id: 0.0 for c in site.circuits}
    for load, kwh in zip(network.loads, load_kwh, strict=True):
        if load.circuit_id is not None:
            energy[load.circuit_id] += float(kwh)
    dead_min = ((supply.bus_source < 0) * supply.segment_s[:, None]).sum(axis=0) / 60.0
    return tuple(
        BusResult(bus, sum(energy[c] for c in bus.circuit_ids), float(dead_min[i]))
        for i, bus in enumerate(buses(site))
    )


def source_results(
    site: Site,
    timeline: Timeline,
    *,
    source_w: Floats,
    cell_s: Floats,
    load_kwh: Floats,
    network: Network,
) -> tuple[SourceResult, ...]:
    """Energy through every source, and run hours, starts and fuel of the sets.

    source_w : (sources, cells)   Real power out of each service and set. [W]
    cell_s : (cells,)             Length of each cell. [s]
    load_kwh : (loads,)           Energy of every load and array. [kWh]
    """
    hours = cell_s / 3600.0
    found = []
    for service, watts in zip(site.services, source_w, strict=False):
        found.append(
            SourceResult(
                source_id=service.id,
                name=service.name,
                kind="service",
                in_kwh=float((np.maximum(watts, 0.0) * hours).sum()) / 1000.0,
                out_kwh=float((np.maximum(-watts, 0.0) * hours).sum()) / 1000.0,
                run_h=0.0,
                starts=0,
                fuel_used=None,
            )
        )
    for generator, watts in zip(site.generators, source_w[len(site.services) :], strict=True):
        spans = [
            (max(a, 0.0), min(b, timeline.span_s))
            for a, b in timeline.running[generator.id]
            if b > 0.0 and a < timeline.span_s
        ]
        run_h = sum(b - a for a, b in spans) / 3600.0
        energy_kwh = float((watts * hours).sum()) / 1000.0
        found.append(
            SourceResult(
                source_id=generator.id,
                name=generator.name,
                kind="generator",
                in_kwh=energy_kwh,
                out_kwh=0.0,
                run_h=run_h,
                starts=len(spans),
                fuel_used=fuel_used(generator, run_h=run_h, energy_kwh=energy_kwh),
            )
        )
    for j, load in enumerate(network.loads):
        if load.sign < 0:
            given = float(load_kwh[j])
            found.append(SourceResult(load.id, load.name, "solar", given, 0.0, 0.0, 0, None))
    return tuple(found)


def fuel_used(generator: Generator, *, run_h: float, energy_kwh: float) -> Working:
    """Fuel burnt by a straight line, with how it was worked out. [gal or 1000 Btu]."""
    idle, slope, guess = fuel_line(
        fuel=generator.fuel,
        rated_kw=generator.rated_kw,
        points=[(p.load_kw, p.rate_per_h) for p in generator.fuel_points],
    )
    unit = UNIT_OF_FUEL[generator.fuel]
    basis = "guess" if guess else "fuel points"
    return Working(
        title=f"{generator.name}, fuel used",
        value=idle * run_h + slope * energy_kwh,
        unit=unit,
        formula="idle burn × hours run + burn per kWh × kWh given",
        terms=(
            Term("idle burn", idle, f"{unit}/h", basis),
            Term("hours run", run_h, "h", "this run"),
            Term("burn per kWh", slope, f"{unit}/kWh", basis),
            Term("energy given", energy_kwh, "kWh", "this run"),
        ),
        source=(
            "A guess: a line through one published propane sheet, taken to this fuel by heat "
            "content. Enter two or more points of the maker’s table."
            if guess
            else "A straight line through the maker’s points as entered."
        ),
    )


def energy_balance(
    sources: tuple[SourceResult, ...],
    network: Network,
    *,
    load_kwh: Floats,
    store_wh: Floats,
    zone_wh: Floats,
) -> Balance:
    """Electric energy from the sources' volts and amps against that from the loads' watts."""
    uses = np.array([load.sign > 0 for load in network.loads], dtype=np.bool_)
    used = float(load_kwh[uses].sum())
    heat = (store_wh.sum(axis=0) + zone_wh.sum(axis=0)) / 1000.0
    return Balance(
        electric_in_kwh=sum(s.in_kwh for s in sources),
        electric_used_kwh=used,
        electric_out_kwh=sum(s.out_kwh for s in sources),
        heat_in_kwh=float(heat[0]),
        heat_stored_kwh=float(heat[2]),
        heat_lost_kwh=float(heat[1]),
    )
