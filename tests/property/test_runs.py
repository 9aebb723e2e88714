"""What must hold on any site and any day."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.edits import move_circuit
from server.domain.errors import EditError
from server.domain.scenario import Scenario, SwitchMove
from server.domain.site import Site
from server.exchange.sitefile import read_site_file, write_site_file
from server.simulate.flows import StepFlows
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import with_parts
from tests.property.effort import effort
from tests.property.shapes import START, cycles, hourlies, plain_behaviours, scenarios, sites

some = effort(40)


def phasors(run: Run, point_id: str, step: int) -> np.ndarray:
    """L1 and L2 phasors at a limit point, in that point's own legs."""
    flows = run.flows
    assert isinstance(flows, StepFlows)
    index = next(i for i, p in enumerate(run.points) if p.id == point_id)
    return np.array([flows._phasors(index, leg, step).sum() for leg in (0, 1)])


def children(run: Run, element_id: str, step: int) -> np.ndarray:
    """Phasor sum of what hangs from an element: its feeders, circuits and arrays."""
    site = run.site
    total = np.zeros(2, dtype=complex)
    for f in site.feeders:
        if f.from_id == element_id:
            total += phasors(run, f"feeder_conductor:{f.id}", step)
    for c in site.circuits:
        if c.panel_id == element_id and not _on_a_handle(run, c.id, step):
            total += phasors(run, f"circuit_breaker:{c.id}", step)
    for array in site.solar:
        if array.panel_id == element_id:
            total += phasors(run, f"solar_breaker:{array.id}", step)
    return total


def _on_a_handle(run: Run, circuit_id: str, step: int) -> bool:
    """Whether a transfer handle has taken a circuit off its panel."""
    if not any(h.circuit_id == circuit_id for t in run.site.transfer_switches for h in t.handles):
        return False
    row = next(i for i, bus in enumerate(run.buses) if circuit_id in bus.circuit_ids)
    return int(run.bus_source[row, step]) >= len(run.site.services)


def whole_steps(run: Run) -> list[int]:
    """Steps in which the supply did not change."""
    flows = run.flows
    assert isinstance(flows, StepFlows)
    return [int(s) for s in np.nonzero(np.diff(flows.cells.step_cell) == 1)[0]]


@given(data=st.data())
@some
def test_amps_at_a_parent_are_the_phasor_sum_of_its_children(data: st.DataObject) -> None:
    site = data.draw(sites())
    run = simulate(site, data.draw(scenarios(site)))
    steps = whole_steps(run)
    step = data.draw(st.sampled_from(steps)) if steps else None
    if step is None:
        return
    row = {p.id: i for i, p in enumerate(run.points)}
    for p in site.panels:
        below = children(run, p.id, step)
        into = site.feeder_into(p.id)
        assert into is not None
        seen = phasors(run, f"feeder_conductor:{into.id}", step)
        if run.points[row[f"feeder_conductor:{into.id}"]].element_id in _merged(site):
            assert seen[0] == pytest.approx(below.sum(), abs=1e-6)
        else:
            crossed = seen[::-1] if into.swap_legs else seen
            assert crossed == pytest.approx(below, abs=1e-6)
        if p.main_a:
            assert phasors(run, f"panel_main:{p.id}", step) == pytest.approx(below, abs=1e-6)
    for s in site.services:
        below = children(run, s.id, step)
        assert phasors(run, f"service_main:{s.id}", step) == pytest.approx(below, abs=1e-6)
        ours = run.amps[row[f"service_main:{s.id}"], :, step]
        assert ours[:2] == pytest.approx(np.abs(below), rel=1e-5, abs=1e-4)
        assert ours[2] == pytest.approx(abs(below.sum()), rel=1e-5, abs=1e-4)
    for g in site.generators:
        below = children(run, g.id, step)
        seen = phasors(run, f"generator:{g.id}", step)
        assert seen.sum() == pytest.approx(below.sum(), abs=1e-6)


def _merged(site: Site) -> set[str]:
    single = {g.id for g in site.generators if g.system == "120"}
    return {f.id for f in site.feeders if f.from_id in single}


@given(data=st.data())
@some
def test_the_march_and_the_taking_apart_agree_and_contributors_sum(data: st.DataObject) -> None:
    site = data.draw(sites())
    run = simulate(site, data.draw(scenarios(site)))
    step = data.draw(st.integers(0, run.steps - 1))
    count = len(run.flows.loads)  # type: ignore[attr-defined]
    for i, point in enumerate(run.points):
        for leg in (0, 1):
            shares = run.who_was_on(point.id, ("L1", "L2")[leg], step)
            row = 2 if point.kind == "feeder_neutral" else leg
            total = sum(c.amps_a for c in shares)
            assert total == pytest.approx(run.amps[i, row, step], rel=1e-5, abs=0.005 * count)
    for limit in run.limits:
        for peak in limit.legs:
            if peak.contributors:
                total = sum(c.amps_a for c in peak.contributors)
                assert total == pytest.approx(peak.peak_a, rel=1e-5, abs=0.005 * count)
            else:
                assert peak.peak_a <= 0.8 * limit.point.leg_rating_a + 1e-6


@given(data=st.data())
@some
def test_energy_closes_and_nothing_is_nan(data: st.DataObject) -> None:
    site = data.draw(sites())
    run = simulate(site, data.draw(scenarios(site)))
    for array in (run.amps, run.circuit_w, run.wanted_w, run.bus_live):
        assert np.isfinite(array).all()
        assert array.min(initial=0.0) >= 0.0
    assert run.bus_live.max(initial=0.0) <= 1.0 + 1e-6
    assert (run.circuit_w <= run.wanted_w * (1 + 1e-5) + 1e-3).all()
    b = run.balance
    assert b.electric_in_kwh == pytest.approx(
        b.electric_used_kwh + b.electric_out_kwh, rel=1e-3, abs=1e-9
    )
    assert b.heat_in_kwh == pytest.approx(b.heat_stored_kwh + b.heat_lost_kwh, rel=1e-3, abs=1e-6)
    minutes = run.steps * run.scenario.step_s / 60 + 1e-6
    # An outage under way as the run begins is dark from its own beginning.
    begun = min((o.start for o in run.scenario.outages), default=run.scenario.start)
    dark_most = minutes + max((run.scenario.start - begun).total_seconds() / 60, 0.0)
    for served in run.service:
        assert 0 <= served.unserved_min <= minutes
        assert 0 <= served.dead_min <= dark_most
        assert served.longest_gap_min <= dark_most
    for source in run.sources:
        assert source.in_kwh >= 0.0
        assert source.run_h <= run.scenario.span_h + 1e-9


@given(data=st.data())
@some
def test_a_throw_in_no_time_changes_nothing_while_the_grid_is_up(data: st.DataObject) -> None:
    """House energy stays, and so do the amps at the one meter, solar included."""
    site = data.draw(sites(throws=True, swaps=False, two_services=False))
    at_once = tuple(t.model_copy(update={"motion_s": 0.0}) for t in site.double_throws)
    site = with_parts(site, double_throws=at_once)
    day = data.draw(scenarios(site, outages=False)).model_copy(update={"switch_moves": ()})
    throws = tuple(
        SwitchMove(
            switch_id=t.id, at=START + timedelta(minutes=m), position=("backed_up", "normal")[k % 2]
        )
        for t in site.double_throws
        for k, m in enumerate((15.0, 30.0, 45.0))  # between steps, so that no step is cut
    )
    still = simulate(site, day)
    thrown = simulate(site, day.model_copy(update={"switch_moves": throws}))
    meter = [i for i, p in enumerate(still.points) if p.kind == "meter_socket"]
    assert thrown.amps[meter] == pytest.approx(still.amps[meter], rel=1e-4, abs=2e-3)
    for a, b in zip(still.sources, thrown.sources, strict=True):
        assert b.in_kwh == pytest.approx(a.in_kwh, rel=1e-6, abs=1e-9)
        assert b.out_kwh == pytest.approx(a.out_kwh, rel=1e-6, abs=1e-9)
    assert thrown.balance.electric_used_kwh == pytest.approx(
        still.balance.electric_used_kwh, rel=1e-6
    )


@given(data=st.data())
@some
def test_more_load_never_lowers_a_legs_peak(data: st.DataObject) -> None:
    site = data.draw(sites(behaviour=plain_behaviours, solar=False))
    loaded = [c for c in site.circuits if c.appliances]
    if not loaded:
        return
    day = data.draw(scenarios(site))
    chosen = data.draw(st.sampled_from(loaded))
    first, *others = chosen.appliances
    more = first.model_copy(
        update={"load_w": first.load_w * 1.7, "part_120_w": first.part_120_w * 1.7}
    )
    heavier = chosen.model_copy(update={"appliances": (more, *others)})
    circuits = tuple(heavier if c.id == chosen.id else c for c in site.circuits)
    before, after = simulate(site, day), simulate(with_parts(site, circuits=circuits), day)
    for a, b in zip(before.limits, after.limits, strict=True):
        if a.point.kind == "feeder_neutral":
            continue  # a neutral carries the difference of the legs
        for low, high in zip(a.legs, b.legs, strict=True):
            assert high.peak_a >= low.peak_a * (1 - 1e-6) - 1e-4, a.point.id


@given(data=st.data())
@some
def test_moving_a_circuit_never_changes_what_anything_asks_for(data: st.DataObject) -> None:
    """Draws are named by appliance: with the grid up, every row stays bit for bit."""
    site = data.draw(sites(roles=False))
    day = data.draw(scenarios(site, outages=False))
    day = day.model_copy(update={"switch_moves": ()})
    mover = data.draw(st.sampled_from(site.circuits))
    target = data.draw(st.sampled_from(site.panels))
    try:
        moved = move_circuit(site, mover.id, target.id)
    except EditError:
        return
    before, after = simulate(site, day), simulate(moved, day)
    assert np.array_equal(before.wanted_w, after.wanted_w)


@given(data=st.data())
@some
def test_others_ask_for_the_same_through_an_outage(data: st.DataObject) -> None:
    site = data.draw(sites(behaviour=st.one_of(cycles, hourlies)))
    day = data.draw(scenarios(site))
    mover = data.draw(st.sampled_from(site.circuits))
    target = data.draw(st.sampled_from(site.panels))
    try:
        moved = move_circuit(site, mover.id, target.id)
    except EditError:
        return
    before, after = simulate(site, day), simulate(moved, day)
    assert np.array_equal(before.wanted_w, after.wanted_w)


@given(data=st.data())
@some
def test_any_site_comes_back_from_its_file(data: st.DataObject) -> None:
    site = data.draw(sites())
    day = data.draw(scenarios(site))
    site = with_parts(site, scenarios=(day,))
    again = read_site_file(write_site_file(site))
    assert again == site
    assert again.scenarios == (day,)


@given(data=st.data())
@some
def test_the_same_seed_gives_the_same_bits(data: st.DataObject) -> None:
    site = data.draw(sites())
    day: Scenario = data.draw(scenarios(site))
    one, two = simulate(site, day), simulate(site, day)
    assert np.array_equal(one.amps, two.amps)
    assert np.array_equal(one.wanted_w, two.wanted_w)
    assert one.limits == two.limits
    assert one.sources == two.sources
