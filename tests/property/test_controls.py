"""What must hold of load managers on any house and any day."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.control_managers import DRAWS_W
from server.simulate.flows import StepFlows
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import with_parts
from tests.property.effort import effort
from tests.property.shapes import scenarios, sites

some = effort(20)


@st.composite
def managed(draw: st.DrawFn, **fixed: Any) -> tuple[Site, Scenario]:
    """A house with some circuits under one manager, and a day."""
    site = draw(sites())
    scenario = draw(scenarios(site))
    way = draw(st.sampled_from(("setting", "interlock", "turns")))
    group = EnergyGroup(
        **{
            "id": "manager",
            "name": "Manager",
            "way": way,
            "setting_a": draw(st.sampled_from((5.0, 20.0, 60.0))) if way == "setting" else None,
            "watch_id": draw(st.sampled_from((None, *site.watchable_ids)))
            if way == "setting"
            else None,
            "off_on_generator": draw(st.booleans()),
            "shed_after_s": draw(st.sampled_from((0.0, 10.0, 90.0))),
            "least_off_min": draw(st.sampled_from((0.0, 5.0))),
            "return_every_min": draw(st.sampled_from((0.0, 1.0, 3.0))),
        }
        | fixed
    )
    circuits = tuple(
        c.model_copy(
            update={
                "energy_group_id": draw(st.sampled_from((None, "manager"))),
                "shed_order": draw(st.sampled_from((None, 1, 2))),
            }
        )
        for c in site.circuits
    )
    return with_parts(site, circuits=circuits, energy_groups=(group,)), scenario


def circuit_watts(run: Run) -> dict[str, np.ndarray]:
    """Watts of each managed circuit in every cell."""
    flows = run.flows
    assert isinstance(flows, StepFlows)
    found = {}
    for c in run.site.circuits:
        if c.energy_group_id is not None:
            rows = [j for j, x in enumerate(flows.loads) if x.circuit_id == c.id]
            found[c.id] = flows.taken_w[rows].astype(float).sum(axis=0)
    return found


@given(case=managed())
@some
def test_energy_in_is_energy_used_and_the_same_run_comes_again(
    case: tuple[Site, Scenario],
) -> None:
    site, scenario = case
    run, again = simulate(site, scenario), simulate(site, scenario)
    balance = run.balance
    used = balance.electric_used_kwh + balance.electric_out_kwh
    assert balance.electric_in_kwh == pytest.approx(used, rel=1e-3, abs=1e-3)
    kept = balance.heat_stored_kwh + balance.heat_lost_kwh
    assert balance.heat_in_kwh == pytest.approx(kept, rel=1e-3, abs=1e-2)
    assert np.array_equal(run.amps, again.amps)
    assert run.service == again.service


@given(case=managed(way="interlock", setting_a=None, watch_id=None))
@some
def test_no_minute_holds_both_of_an_interlock(case: tuple[Site, Scenario]) -> None:
    _never_two(simulate(*case))


@given(case=managed(way="turns", setting_a=None, watch_id=None))
@some
def test_no_minute_holds_two_turns(case: tuple[Site, Scenario]) -> None:
    _never_two(simulate(*case))


def _never_two(run: Run) -> None:
    watts = circuit_watts(run)
    if len(watts) < 2:
        return
    flows = run.flows
    assert isinstance(flows, StepFlows)
    minute = (flows.cells.start_s + 1e-6) // 60
    drew = np.array([w > DRAWS_W + 0.01 for w in watts.values()])
    firsts = np.flatnonzero(np.diff(minute, prepend=-1.0))
    in_minute = np.logical_or.reduceat(drew, firsts, axis=1)
    assert in_minute.sum(axis=0).max() <= 1


@given(case=managed(way="setting", setting_a=20.0, watch_id=None, shed_after_s=0.0))
@some
def test_shed_at_once_their_own_amps_never_pass_the_setting(case: tuple[Site, Scenario]) -> None:
    site, scenario = case
    run = simulate(site, scenario)
    flows = run.flows
    assert isinstance(flows, StepFlows)
    rows = [
        j
        for j, x in enumerate(flows.loads)
        if x.circuit_id and site.circuit(x.circuit_id).energy_group_id is not None
    ]
    cells = flows.cells
    for segment, state in enumerate(flows.segment_state):
        part = slice(cells.segment_cell[segment], cells.segment_cell[segment + 1])
        arrays = flows.states[state]
        turned = arrays.own_swap[rows]
        phasors = np.zeros((2, part.stop - part.start), dtype=complex)
        for j, turn in zip(rows, turned, strict=True):
            legs = arrays.per_watt[:, j][:: -1 if turn else 1]
            phasors += legs[:, None] * flows.taken_w[j, part].astype(float)
        assert np.abs(phasors).max(initial=0.0) <= 20.0 * (1 + 1e-4)
