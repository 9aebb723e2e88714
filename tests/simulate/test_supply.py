"""Segments, cells and what each load can have in them."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from server.domain.scenario import HandWindow, Window
from server.simulate.limits import limit_points
from server.simulate.network import Network
from server.simulate.run import simulate
from server.simulate.supply import build_supply
from server.simulate.timeline import build_timeline
from tests.builders import (
    START,
    backed_up_site,
    double_throw_site,
    interlock_site,
    normal_only_site,
    scenario,
    with_parts,
)


def supply_of(site, day):  # type: ignore[no-untyped-def]
    network = Network(site, limit_points(site, outdoor_high_f=70))
    return build_supply(network, build_timeline(site, day), day)


@pytest.mark.parametrize("step_s", [10, 60, 300, 900])
def test_cells_tile_the_span_and_weights_fill_each_step(step_s: int) -> None:
    day = scenario(outage_h=(1.0001, 3.77), step_s=step_s)
    got = supply_of(double_throw_site(solar=True), day)
    cells = got.cells
    assert cells.start_s[0] == 0.0
    assert cells.dt_s.sum() == pytest.approx(6 * 3600)
    assert np.all(cells.dt_s > 0.0)
    ends = cells.start_s + cells.dt_s
    assert ends[:-1] == pytest.approx(cells.start_s[1:])
    weights = np.add.reduceat(cells.weight, cells.step_cell[:-1])
    assert weights == pytest.approx(np.ones(day.steps))
    assert got.segment_s.sum() == pytest.approx(6 * 3600)
    assert cells.start_s[cells.segment_cell[:-1]] == pytest.approx(got.segment_start_s)
    assert cells.segment_cell[-1] == len(cells.dt_s)


def test_states_are_shared_between_segments() -> None:
    outages = tuple(
        Window(start=START + timedelta(hours=h), end=START + timedelta(hours=h, minutes=30))
        for h in (1, 3)
    )
    got = supply_of(backed_up_site(), scenario(outages=outages))
    assert len(got.states) == len({id(s) for s in got.states}) < len(got.segment_s)


def test_solar_waits_a_whole_undisturbed_spell() -> None:
    """Two outages 4 min apart: a wait of 5 min starts again after the second."""
    site = double_throw_site(solar=True)
    outages = tuple(
        Window(start=START + timedelta(minutes=a), end=START + timedelta(minutes=b))
        for a, b in ((60, 70), (74, 80))
    )
    run = simulate(site, scenario(outages=outages, span_h=3))
    row = next(i for i, p in enumerate(run.points) if p.kind == "solar_breaker")
    on = run.amps[row, 0] > 0
    assert on[:60].all()
    assert not on[60:85].any()
    assert on[85:150].all()


def test_solar_a_set_can_reach_is_held_off_all_day() -> None:
    base = double_throw_site(solar=True)
    array = base.solar[0].model_copy(update={"panel_id": "backed", "spaces": ()})
    run = simulate(with_parts(base, solar=(array,)), scenario())
    assert run.limit("solar_breaker:sun").worst.peak_a == 0.0
    finding = next(f for f in run.findings if f.code == "solar-held-off")
    assert finding.severity == "blocking"


def test_by_hand_runs_in_its_windows_while_the_set_feeds_it() -> None:
    base = interlock_site()
    c = base.circuit("c").model_copy(update={"outage_role": "by_hand"})
    site = with_parts(base, circuits=(*base.circuits[:2], c))
    window = Window(start=START + timedelta(hours=3), end=START + timedelta(hours=4))
    day = scenario(outage_h=(2, 5), hand_windows=(HandWindow(circuit_id="c", window=window),))
    watts = simulate(site, day).circuit_w[2]
    assert watts[:120] == pytest.approx(4500)  # on the grid its role says nothing
    assert watts[121:180].max() == 0.0
    assert watts[180:240] == pytest.approx(4500)
    assert watts[240:319].max() == 0.0
    assert watts[322:] == pytest.approx(4500)


def test_fourteen_days_of_minutes_and_a_day_of_ten_seconds() -> None:
    fortnight = simulate(backed_up_site(), scenario(span_h=336, outage_h=(30.5, 200)))
    assert fortnight.steps == 14 * 1440
    assert fortnight.balance.electric_used_kwh == pytest.approx(
        4.8 * 336 + 1.2 * (336 - 169.5) - 4.8 * 17 / 3600, rel=1e-5
    )
    assert simulate(normal_only_site(), scenario(span_h=24, step_s=10)).steps == 8640


def test_a_span_that_is_no_whole_number_of_steps_ends_at_the_last_whole_one() -> None:
    run = simulate(normal_only_site(), scenario(span_h=1.1, step_s=900))
    assert run.steps == 4
    assert run.balance.electric_used_kwh == pytest.approx(4.2)


def test_bus_live_is_the_share_of_the_step() -> None:
    run = simulate(backed_up_site(), scenario(outage_h=(2, 5)))
    assert run.bus_live[0, 119:121] == pytest.approx([1.0, 0.0])
    assert run.bus_live[1, 120] == pytest.approx(1 - 16 / 60)
    assert run.bus_source[1, 120] == 1  # the set, at the middle of the minute
    assert run.bus_results[1].dead_min == pytest.approx(17 / 60)


def test_only_loads_that_a_set_feeds_are_on_the_generator() -> None:
    """Main panel a; backed-up b, c, d; out from hour 2 to 5 with a set that starts in 10 s."""
    got = supply_of(backed_up_site(), scenario(outage_h=(2, 5)))
    middle = int(np.searchsorted(got.segment_start_s, 3 * 3600.0, side="right")) - 1
    assert got.on_generator[0].tolist() == [False] * 4
    assert got.on_generator[middle].tolist() == [False, True, True, True]
