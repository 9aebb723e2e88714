"""Energy by bus and source, and fuel."""

from __future__ import annotations

import pytest

from server.simulate.run import simulate
from tests.builders import (
    backed_up_site,
    double_throw_site,
    handle_set_site,
    scenario,
    two_services_site,
)


def sources(run):  # type: ignore[no-untyped-def]
    return {s.source_id: s for s in run.sources}


def test_energy_of_an_outage_by_bus_and_source() -> None:
    """a 1.2 kW on normal for 3 of 6 h; b, c, d 4.8 kW on backed-up but for 17 s."""
    run = simulate(backed_up_site(), scenario(outage_h=(2, 5)))
    by_bus = {b.bus.id: b.energy_kwh for b in run.bus_results}
    assert by_bus["grid"] == pytest.approx(3.6, rel=1e-5)
    assert by_bus["ats"] == pytest.approx(4.8 * (6 - 17 / 3600), rel=1e-5)
    # the set carries from 15 s to 3 h 10 min, less a second of motion
    on_set = 4.8 * (3 + 10 / 60 - 16 / 3600)
    assert sources(run)["set"].in_kwh == pytest.approx(on_set, rel=1e-5)
    assert sources(run)["set"].run_h == pytest.approx(3 + 15 / 60 - 10 / 3600)


def test_two_meters_are_netted_apart() -> None:
    run = simulate(two_services_site(), scenario())
    assert sources(run)["east"].in_kwh == pytest.approx(7.2, rel=1e-5)
    assert sources(run)["west"].in_kwh == pytest.approx(18.0, rel=1e-5)


def test_surplus_sun_goes_out_and_own_use_comes_first() -> None:
    run = simulate(double_throw_site(solar=True), scenario(span_h=3))
    grid, sun = sources(run)["grid"], sources(run)["sun"]
    assert sun.in_kwh > 1.0
    used = run.balance.electric_used_kwh
    assert grid.in_kwh - grid.out_kwh == pytest.approx(used - sun.in_kwh, rel=1e-4)
    assert grid.out_kwh == pytest.approx(0.0, abs=1e-9)  # 11.4 kW of load take it all


def test_a_handles_energy_is_its_own_bus() -> None:
    run = simulate(handle_set_site(), scenario())
    by_bus = {b.bus.id: b.energy_kwh for b in run.bus_results}
    assert by_bus["handles:a"] == pytest.approx(7.2, rel=1e-5)
    assert by_bus["grid"] == pytest.approx(14.4, rel=1e-5)


def test_a_set_that_never_ran_burnt_nothing() -> None:
    run = simulate(backed_up_site(), scenario())
    engine = sources(run)["set"]
    assert (engine.run_h, engine.starts, engine.in_kwh) == (0.0, 0, 0.0)
    assert engine.fuel_used is not None
    assert engine.fuel_used.value == 0.0
