"""What a set gives and burns."""

from __future__ import annotations

from typing import Any

import pytest

from server.physics.engine_set import (
    BTU_PER_UNIT,
    UNIT_OF_FUEL,
    Fuel,
    derated_kw,
    fuel_line,
    leg_limit_a,
)


def derated(**changes: Any) -> float:
    figures = {
        "rated_kw": 20.0,
        "altitude_ft": 0.0,
        "outdoor_f": 60.0,
        "altitude_derate_per_1000ft": 0.035,
        "altitude_free_ft": 0.0,
        "heat_derate_per_10f": 0.01,
        "heat_free_f": 77.0,
    }
    return derated_kw(**figures | changes)


def test_no_derate_at_sea_level_on_a_cool_day() -> None:
    assert derated() == 20.0
    assert derated(altitude_ft=-500.0) == 20.0
    assert derated(altitude_ft=900, altitude_free_ft=1000) == 20.0


def test_altitude_and_heat_multiply() -> None:
    assert derated(altitude_ft=5000) == pytest.approx(20 * (1 - 0.175))
    assert derated(outdoor_f=107) == pytest.approx(20 * 0.97)
    assert derated(altitude_ft=5000, outdoor_f=107) == pytest.approx(20 * 0.825 * 0.97)


def test_output_never_falls_below_nothing() -> None:
    assert derated(altitude_ft=20_000, altitude_derate_per_1000ft=0.2) == 0.0


def test_leg_limits_of_the_three_systems() -> None:
    assert leg_limit_a(kva=20, system="120/240") == pytest.approx(83.333, abs=1e-3)
    assert leg_limit_a(kva=3.6, system="120") == pytest.approx(30.0)
    assert leg_limit_a(kva=36, system="120/208") == pytest.approx(100.0)


def test_a_line_through_two_points_passes_both() -> None:
    idle, slope, guess = fuel_line(fuel="diesel", rated_kw=12, points=[(3, 0.5), (12, 1.1)])
    assert idle + 3 * slope == pytest.approx(0.5)
    assert idle + 12 * slope == pytest.approx(1.1)
    assert not guess


def test_least_squares_through_three_points_and_never_a_negative_idle() -> None:
    idle, slope, _ = fuel_line(fuel="propane", rated_kw=25, points=[(0, 0), (10, 1), (20, 4)])
    assert slope == pytest.approx(0.2)
    assert idle == 0.0


@pytest.mark.parametrize("points", [[], [(5.0, 1.0)], [(5.0, 1.0), (5.0, 1.2)]])
def test_fewer_than_two_loads_give_the_guess_line(points: list[tuple[float, float]]) -> None:
    idle, slope, guess = fuel_line(fuel="propane", rated_kw=10, points=points)
    assert (idle, slope, guess) == (pytest.approx(0.6), pytest.approx(0.112), True)


@pytest.mark.parametrize("fuel", sorted(BTU_PER_UNIT))
def test_every_fuel_burns_the_same_heat_by_the_guess(fuel: Fuel) -> None:
    idle, slope, _ = fuel_line(fuel=fuel, rated_kw=10, points=[])
    assert idle * BTU_PER_UNIT[fuel] == pytest.approx(0.6 * 91_333)
    assert slope * BTU_PER_UNIT[fuel] == pytest.approx(0.112 * 91_333)
    assert UNIT_OF_FUEL[fuel] in {"gal", "kBtu"}
