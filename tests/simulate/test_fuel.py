from __future__ import annotations

import math
from datetime import timedelta

import pytest

from server.advise.advice import advice_on, judged
from server.advise.fuel_words import bring_words
from server.domain.scenario import Delivery, Window
from server.domain.supply import FuelPoint, FuelTank
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, scenario, with_parts


def house(capacity_gal: float, **changes):
    """A house whose set burns 1 gal/h idle and 0.1 gal/kWh, from a full tank."""
    points = (FuelPoint(load_kw=0, rate_per_h=1.0), FuelPoint(load_kw=10, rate_per_h=2.0))
    tank = FuelTank(capacity_gal=capacity_gal, fill_share=1.0, reserve_share=0.1)
    base = backed_up_site()
    own = base.generators[0]
    made = own.model_copy(update={"fuel_points": points, "tank": tank, "fuel": "propane"} | changes)
    return with_parts(base, generators=(made,))


def long_outage(**changes):
    window = Window(start=START, end=START + timedelta(hours=20))
    return scenario(start=START, span_h=20, outages=(window,), **changes)


def test_set_that_burns_more_than_is_there_does_not_hold():
    verdict = simulate(house(5.0), long_outage()).verdict
    assert not verdict.fits
    assert verdict.sentence.startswith("Does not hold.")
    assert "5.0 gal are there" in verdict.sentence


def test_delivery_in_the_span_counts_and_one_after_it_does_not():
    site = house(50.0)
    inside = Delivery(at=START + timedelta(hours=2), gallons=40)
    after = Delivery(at=START + timedelta(hours=30), gallons=40)
    few = {"fuel_at_start_share": 0.1}
    assert simulate(site, long_outage(deliveries=(inside,), **few)).verdict.fits
    assert not simulate(site, long_outage(deliveries=(after,), **few)).verdict.fits


def test_fuel_that_came_before_the_run_is_in_the_tank_as_it_begins():
    came = Delivery(at=START - timedelta(hours=2), gallons=40)
    run = simulate(house(50.0), long_outage(deliveries=(came,), fuel_at_start_share=0.1))
    (need,) = run.fuel
    assert (need.there_gal, need.left_over_gal) == (5.0, 0.0)
    assert "40.0 gal delivered before this run begins are not counted" in run.verdict.detail


def test_fuel_that_finds_no_room_is_told_and_not_counted():
    came = Delivery(at=START + timedelta(hours=2), gallons=60)
    run = simulate(house(5.0), long_outage(deliveries=(came,)))
    (need,) = run.fuel
    # Two hours at 1.48 gal/h made room for 2.96 gal.
    assert need.there_gal == pytest.approx(7.96, abs=0.02)
    assert need.left_over_gal == pytest.approx(57.04, abs=0.02)
    assert not run.verdict.fits
    assert "had no room for 57.0 gal delivered" in run.verdict.detail


def test_touched_reserve_is_told_and_still_fits():
    used = simulate(house(1000.0), long_outage()).sources
    burnt = next(s.fuel_used.value for s in used if s.fuel_used is not None)
    verdict = simulate(house(burnt * 1.05), long_outage()).verdict
    assert verdict.fits
    assert "eats into its reserve" in verdict.detail


@pytest.mark.parametrize("share", [1.0, 0.0])
def test_fuel_at_the_start_counts(share: float):
    verdict = simulate(house(100.0), long_outage(fuel_at_start_share=share)).verdict
    assert verdict.fits == (share == 1.0)


def test_natural_gas_never_runs_dry():
    assert simulate(house(1.0, fuel="natural_gas"), long_outage()).verdict.fits


@pytest.mark.parametrize(("gallons", "fits"), [(25.0, False), (35.0, True)])
def test_answer_that_hangs_on_a_guessed_burn_says_so(gallons: float, fits: bool):
    """The two points' line burns 29.6 gal in 20 h: 19.2 by the low guess, 40.0 by the high."""
    verdict = simulate(house(gallons), long_outage()).verdict
    assert verdict.fits == fits
    hours = gallons / (1.48 * 1.35)
    assert "35 % less, its fuel lasts to the end" in verdict.detail
    assert f"35 % more, it ends {hours:.1f} h into the outage" in verdict.detail


@pytest.mark.parametrize("gallons", [15.0, 50.0])
def test_answer_that_is_the_same_by_either_guess_does_not_speak_of_it(gallons: float):
    run = simulate(house(gallons), long_outage())
    assert run.fuel[0].guess
    assert "guess" not in run.verdict.sentence + run.verdict.detail


def test_burn_by_the_makers_points_leaves_no_guess_to_hang_on():
    points = [FuelPoint(load_kw=x, rate_per_h=1 + 0.1 * x) for x in (0, 5, 10)]
    run = simulate(house(35.0, fuel_points=tuple(points)), long_outage())
    assert not run.fuel[0].guess
    assert "guess" not in run.verdict.detail


def test_a_reserve_eaten_before_a_delivery_is_told():
    """20 h burn 29.6 gal of 50; 5 h before the lorry 7.4 of the 10 there at first."""
    came = Delivery(at=START + timedelta(hours=5), gallons=40)
    run = simulate(house(50.0), long_outage(deliveries=(came,), fuel_at_start_share=0.2))
    (need,) = run.fuel
    assert need.least_gal == pytest.approx(10.0 - 5.0 * 1.48, abs=0.05)
    assert need.used_gal + need.reserve_gal < need.there_gal
    assert need.eats_reserve
    assert f"its reserve of 5.0 gal: {need.least_gal:.1f} gal are left at the least" in (
        run.verdict.detail
    )
    assert bring_words(run.site, need).startswith(
        f"Have about {math.ceil(5.0 - need.least_gal)} gal more at hand before the delivery"
    )


def test_fuel_that_ends_by_the_high_guess_is_a_condition():
    run = simulate(house(35.0, fuel="diesel"), long_outage())
    assert judged(run).fits
    assert advice_on(run).provided.endswith("the fuel lasts")
    assert "the fuel lasts" not in advice_on(run).granted
    enough = simulate(house(50.0, fuel="diesel"), long_outage())
    assert "the fuel lasts" not in advice_on(enough).provided
