"""Managers look at fixed half minutes, so that a run does not go by its step."""

from __future__ import annotations

from datetime import date

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.run import simulate
from server.simulate.templates import TEMPLATES
from tests.builders import scenario
from tests.simulate.test_controls import hold, house, service, starts_at


@pytest.mark.parametrize("step_s", [30, 15, 12, 10])
def test_a_manager_looks_at_fixed_half_minutes_whatever_the_step(step_s: int) -> None:
    """Ten seconds above a setting within a half minute whose mean is below it open nothing."""
    site = house(
        ("a", 4000, None, 1), ("b", 6000, starts_at(14, 1 / 6), 2), setting_a=30, shed_after_s=5
    )
    run = simulate(site, scenario(step_s=step_s))
    assert service(run, "a").held_min == service(run, "b").held_min == 0.0


@pytest.mark.parametrize("template_id", ["planned-line-work", "holiday-peak"])
def test_a_managed_demo_is_the_same_at_a_step_of_ten_seconds(template_id: str) -> None:
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    template = next(t for t in TEMPLATES if t.id == template_id)
    day = template.build(site, start=date(2026, 11, 26))
    one, other = simulate(site, day), simulate(site, hold(day, step_s=10))
    held_min = service(one, "car-charger").held_min
    assert held_min > 0.0
    assert service(other, "car-charger").held_min == pytest.approx(held_min, abs=1.0)
    for a, b in zip(one.limits, other.limits, strict=True):
        if a.point.kind != "circuit_breaker":
            assert b.worst.peak_a == pytest.approx(a.worst.peak_a, rel=0.01, abs=0.1)
    assert other.balance.electric_used_kwh == pytest.approx(one.balance.electric_used_kwh, rel=1e-3)
