"""Energy of a run by bus and by source, fuel, and the balance that must close."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.domain.site import Site
from server.domain.topology import buses
from server.simulate.burn import curve_of, fuel_used
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
    running: Floats,
    cell_s: Floats,
    load_kwh: Floats,
    network: Network,
) -> tuple[SourceResult, ...]:
    """Energy through every source, and run hours, starts and fuel of the sets.

    source_w : (sources, cells)   Real power out of each service and set. [W]
    running : (sets, cells)       Share of each cell in which each set turns.
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
    sets = zip(site.generators, source_w[len(site.services) :], running, strict=True)
    for generator, watts, turning in sets:
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
                fuel_used=fuel_used(generator, watts=watts, running=turning, cell_s=cell_s),
                fuel_guess=curve_of(generator).guess,
            )
        )
    for j, load in enumerate(network.loads):
        if load.sign < 0:
            given = float(load_kwh[j])
            found.append(SourceResult(load.id, load.name, "solar", given, 0.0, 0.0, 0, None))
    return tuple(found)


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
