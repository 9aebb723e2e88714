"""The curve through a maker's points, and the lines that stand in for want of them."""

from __future__ import annotations

import numpy as np
import pytest

from server.physics.engine_set import Fuel
from server.physics.fuel_curve import FuelCurve, RateUnit, fuel_curve, in_own_unit

BENT = [(0.0, 1.0), (10.0, 2.0), (20.0, 4.0)]


def rate(curve: FuelCurve, load_kw: float) -> float:
    return float(curve.rate_per_h(np.array([load_kw]))[0])


def test_three_points_are_passed_and_between_them_it_is_straight() -> None:
    curve = fuel_curve(fuel="propane", rated_kw=20, points=BENT[::-1])
    assert [rate(curve, x) for x in (0, 5, 10, 15, 20)] == pytest.approx([1, 1.5, 2, 3, 4])
    assert not curve.guess


def test_beyond_the_last_point_its_line_goes_on_and_below_the_first_its_own() -> None:
    curve = fuel_curve(fuel="propane", rated_kw=20, points=[(5, 1.5), (10, 2), (20, 4)])
    assert (rate(curve, 25), rate(curve, 0)) == pytest.approx((5, 1))


def test_no_load_never_burns_less_than_nothing() -> None:
    curve = fuel_curve(fuel="propane", rated_kw=20, points=[(10, 1), (15, 3), (20, 6)])
    assert rate(curve, 0) == 0.0
    assert rate(curve, 5) == pytest.approx(0.5)
    assert rate(curve, 10) == pytest.approx(1)


def test_two_points_give_the_line_through_both_as_a_guess() -> None:
    curve = fuel_curve(fuel="diesel", rated_kw=12, points=[(3, 0.5), (12, 1.1)])
    assert [rate(curve, x) for x in (0, 3, 12, 24)] == pytest.approx([0.3, 0.5, 1.1, 1.9])
    assert curve.guess


def test_one_point_scales_the_guess_line_to_pass_it() -> None:
    alone = fuel_curve(fuel="propane", rated_kw=10, points=[])
    scaled = fuel_curve(fuel="propane", rated_kw=10, points=[(10, 2.0)])
    assert rate(scaled, 10) == pytest.approx(2)
    assert rate(scaled, 0) / rate(scaled, 10) == pytest.approx(rate(alone, 0) / rate(alone, 10))
    assert scaled.guess
    nothing = fuel_curve(fuel="propane", rated_kw=10, points=[(0, 0.0)])
    assert rate(nothing, 4) == rate(alone, 4)


def test_mean_load_does_not_burn_the_mean_where_the_curve_bends() -> None:
    """Half the time idle and half at 20 kW: 2.5 gal/h; the mean load of 10 kW burns 2."""
    curve = fuel_curve(fuel="propane", rated_kw=20, points=BENT)
    loads = np.array([0.0, 20.0])
    assert curve.rate_per_h(loads).mean() == pytest.approx(2.5)
    assert rate(curve, float(loads.mean())) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("fuel", "unit", "printed", "own"),
    [
        ("propane", "gal/h", 2.9, 2.9),
        ("propane", "Btu/h", 91_333, 1.0),
        ("propane", "kBtu/h", 91.333, 1.0),
        ("propane", "ft3/h", 36.38, 1.0),
        ("diesel", "Btu/h", 137_381, 1.0),
        ("natural_gas", "ft3/h", 100, 103.9),
        ("natural_gas", "Btu/h", 287_000, 287),
        ("natural_gas", "kBtu/h", 287, 287),
        ("natural_gas", None, 287, 287),
    ],
)
def test_printed_units_come_to_the_unit_the_fuel_is_counted_in(
    fuel: Fuel, unit: RateUnit | None, printed: float, own: float
) -> None:
    assert in_own_unit(printed, fuel=fuel, unit=unit) == pytest.approx(own, rel=1e-9)


@pytest.mark.parametrize(
    ("fuel", "unit"), [("natural_gas", "gal/h"), ("diesel", "ft3/h"), ("gasoline", "ft3/h")]
)
def test_unit_that_a_fuel_does_not_have_is_refused(fuel: Fuel, unit: RateUnit) -> None:
    with pytest.raises(ValueError, match="not counted"):
        in_own_unit(1.0, fuel=fuel, unit=unit)
