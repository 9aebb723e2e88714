"""A length of wire: the limits of its sums."""

from __future__ import annotations

import math

import pytest

from server.physics.conductor import (
    circle_area_in2,
    circle_diameter_in,
    effective_impedance,
    resistance_at,
    temperature_factor,
)


def test_impedance_at_unity_is_the_resistance_alone() -> None:
    assert effective_impedance(resistance_ohm=0.2, reactance_ohm=9.0, power_factor=1.0) == 0.2


@pytest.mark.parametrize("power_factor", [0.0, -0.5, 1.0001, 2.0])
def test_a_power_factor_of_none_or_more_than_one_is_refused_and_named(power_factor: float) -> None:
    with pytest.raises(ValueError, match=f"power_factor .*{power_factor:g}"):
        effective_impedance(resistance_ohm=0.2, reactance_ohm=0.1, power_factor=power_factor)


def test_diameter_and_area_undo_each_other() -> None:
    assert circle_area_in2(2.0) == pytest.approx(math.pi)
    assert circle_diameter_in(math.pi) == pytest.approx(2.0)


def test_copper_rises_by_its_coefficient() -> None:
    # 0.00323 per °C over 25 °C is 8.075 %.
    warm = resistance_at(ohm=2.0, alpha_per_c=0.00323, from_c=75.0, to_c=100.0)
    assert warm == pytest.approx(2.1615)


def test_nothing_is_left_where_the_air_is_as_hot_as_the_wire() -> None:
    assert temperature_factor(conductor_c=60, ambient_c=60, basis_c=30) == 0.0
    assert temperature_factor(conductor_c=60, ambient_c=80, basis_c=30) == 0.0
    assert temperature_factor(conductor_c=60, ambient_c=30, basis_c=30) == 1.0
    # 1 °C of room left of 30: sqrt(1/30).
    left = temperature_factor(conductor_c=60, ambient_c=59, basis_c=30)
    assert left == pytest.approx(0.182574, abs=1e-6)
