"""Taking a minute apart."""

from __future__ import annotations

import pytest

from server.domain.errors import NotFoundError
from server.simulate.run import simulate
from tests.builders import backed_up_site, double_throw_site, scenario


def test_who_was_on_before_and_during_an_outage() -> None:
    run = simulate(backed_up_site(), scenario(outage_h=(2, 5)))
    before = run.who_was_on("service_main:grid", "L1", 10)
    assert {c.circuit_id: round(c.amps_a, 3) for c in before} == {"a": 10.0, "b": 5.0, "d": 10.0}
    during = run.who_was_on("generator:set", "L2", 200)
    assert [(c.circuit_name, round(c.amps_a, 3)) for c in during] == [
        ("Circuit c", 15.0),
        ("Circuit d", 10.0),
    ]
    assert run.who_was_on("service_main:grid", "L1", 200) == ()


def test_the_sun_takes_off_what_it_gives() -> None:
    run = simulate(double_throw_site(solar=True), scenario(span_h=1))
    shares = {c.appliance_id: c for c in run.who_was_on("service_main:grid", "L1", 30)}
    assert shares["sun"].amps_a < 0.0
    assert shares["sun"].circuit_id == ""
    assert shares["sun"].appliance_name == "Roof solar"
    assert "sun" not in {c.appliance_id for c in run.who_was_on("panel_bus:main", "L1", 30)}


def test_an_unknown_point_is_refused() -> None:
    run = simulate(backed_up_site(), scenario(span_h=1))
    with pytest.raises(NotFoundError):
        run.who_was_on("panel_bus:nowhere", "L1", 0)


def test_a_peak_over_80_percent_names_who_made_it() -> None:
    run = simulate(backed_up_site(), scenario(outage_h=(2, 5)))
    c = run.limit("circuit_breaker:c")  # 15 A of 20
    assert c.status == "within"
    assert all(leg.contributors == () for leg in c.legs)
