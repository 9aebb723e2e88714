"""Fuel of which only the hour is late is asked for earlier, and not for more of it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.fuel_sooner import bring_for, sooner
from server.advise.next_step import next_step
from server.domain.scenario import Delivery, Scenario
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import START, with_parts
from tests.simulate.test_fuel import house, long_outage


def late(hour: float, gallons: float = 45.0) -> tuple[Site, Scenario]:
    """10 gal of 50 at first, 1.48 gal an hour of 20: dry after 6.8 h, at the reserve after 3.4."""
    came = Delivery(at=START + timedelta(hours=hour), gallons=gallons)
    day = long_outage(deliveries=(came,), fuel_at_start_share=0.2)
    return with_parts(house(50.0), scenarios=(day,)), day


def at(day: Scenario, when) -> Scenario:
    moved = day.deliveries[0].model_copy(update={"at": when})
    return day.model_copy(update={"deliveries": (moved,)})


@pytest.mark.parametrize("hour", [5.0, 12.0])
def test_a_delivery_that_is_late_is_asked_for_by_the_hour_that_a_run_proves(hour):
    site, day = late(hour)
    run = simulate(site, day)
    (need,) = run.fuel
    assert need.runs_dry == (hour > 6.8)
    found = sooner(run, need)
    assert found is not None
    words = bring_for(run, need)
    assert f"earlier, by {found.by:%a} {found.by.day} {found.by:%b} {found.by:%H:%M}." in words
    assert "more at hand" not in words
    (then,) = simulate(site, at(day, found.by)).fuel
    assert not then.runs_dry
    assert not then.eats_reserve
    (later,) = simulate(site, at(day, found.by + timedelta(hours=1))).fuel
    assert later.eats_reserve


def test_the_next_step_names_the_hour_before_anything_is_kept_off():
    site, day = late(12.0)
    step = next_step(site, day)
    assert step.sentence.startswith("The fuel is enough, only its hour is late: ")
    assert step.where == "fuel"
    assert step.lever is None


def test_fuel_that_is_too_little_at_any_hour_is_asked_for_as_more():
    site, day = late(12.0, gallons=5.0)
    run = simulate(site, day)
    assert sooner(run, run.fuel[0]) is None
    assert "more at hand" in bring_for(run, run.fuel[0])
