"""Energy that each circuit went without in a run, beside the same draw with power throughout.

What a waiting thermostat or car asks for is no energy: it asks for all its watts for as long as it
waits, and takes once what it wants when power is back. So the draw is marched again with every
circuit live from start to end and no load manager, and what a circuit took is held to that.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from server.domain.site import Site
from server.simulate.prepared import prepare
from server.simulate.results import Run

Floats = NDArray[np.float64]


def energy_not_had(run: Run) -> Floats:
    """Energy of each circuit with power throughout, less what it took; never below 0. [kWh]

    (circuits,); 0 for one that never asked in vain. A car that has what it wants by its departure
    misses nothing however long it waited, and a tank misses only what it was not reheated by the
    end. A circuit that takes more, as one that warms up by strips afterwards, misses nothing
    either. Worked out once and kept with the run. Source: energy balance.
    """
    kept = run.aside.get("not_had")
    if isinstance(kept, np.ndarray):
        return kept
    made = _not_had(run)
    made.setflags(write=False)
    run.aside["not_had"] = made
    return made


def _not_had(run: Run) -> Floats:
    if not any(circuit.unserved_min > 0.0 for circuit in run.service):
        return np.zeros(len(run.site.circuits))
    ready = prepare(_unmanaged(run.site), run.scenario).begun(run.seed, run.draw)
    supply = replace(
        ready.supply,
        available=np.ones_like(ready.supply.available),
        on_generator=np.zeros_like(ready.supply.on_generator),
    )
    whole = replace(ready, supply=supply).march(run.seed, run.draw)
    taken_kwh = run.circuit_w.sum(axis=1, dtype=np.float64) * run.scenario.step_s / 3.6e6
    row = {circuit.id: i for i, circuit in enumerate(run.site.circuits)}
    missed = -taken_kwh
    for load, kwh in zip(ready.network.loads, whole.load_kwh, strict=True):
        if load.circuit_id is not None:
            missed[row[load.circuit_id]] += kwh
    asked = np.array([circuit.unserved_min > 0.0 for circuit in run.service])
    return np.where(asked, np.maximum(missed, 0.0), 0.0)


def _unmanaged(site: Site) -> Site:
    circuits = tuple(c.model_copy(update={"energy_group_id": None}) for c in site.circuits)
    return site.model_copy(update={"energy_groups": (), "circuits": circuits})
