"""Compressors of what keeps cold that are asked to start again before their pressure has gone."""

from __future__ import annotations

import numpy as np

from server.advise.coming_on import power_of
from server.advise.starts import start_kva
from server.domain.appliance import Appliance
from server.domain.behaviour import ColdBox
from server.simulate.flows import StepFlows
from server.simulate.results import Run

PRESSURE_S = 180.0
"""A compressor's pressure has gone so long after it stopped (common practice, no source)."""


def against_pressure(run: Run) -> tuple[str, ...]:
    """Names of those that ran less than that before they come on as power is back, on any source.

    Raises
    ------
    TypeError   For a run whose march was not kept.
    """
    flows = run.flows
    if not isinstance(flows, StepFlows):
        raise TypeError("The march of this run was not kept.")
    row_of = {load.id: row for row, load in enumerate(flows.loads)}
    found = [
        one.name
        for circuit in run.site.circuits
        for one in circuit.appliances
        if isinstance(one.behaviour, ColdBox)
        and one.restart_delay_s < PRESSURE_S
        and start_kva(one) is not None
        and _comes_back_soon(run, flows, row_of[one.id], one)
    ]
    return tuple(dict.fromkeys(found))


def _comes_back_soon(run: Run, flows: StepFlows, row: int, one: Appliance) -> bool:
    cells, on = flows.cells, flows.taken_w[row] > 0.0
    power = power_of(run, flows.loads[row].circuit_id or "")
    for came_s in power.came_s:
        lost_s = max((at for at in power.lost_s if at < came_s), default=-np.inf)
        back_s = came_s + one.restart_delay_s
        if back_s - lost_s >= PRESSURE_S or back_s >= cells.start_s[-1]:
            continue
        begins = int(np.searchsorted(cells.start_s, back_s + 1e-3)) - 1
        loses = int(np.searchsorted(cells.start_s, lost_s - 1e-3)) - 1
        first = int(np.searchsorted(cells.start_s, back_s - PRESSURE_S - 1e-3))
        if on[begins] and on[min(first, loses) : loses + 1].any():
            return True
    return False
