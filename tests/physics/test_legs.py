"""Phasors of the two hots."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.physics.legs import (
    NOMINAL_V,
    System,
    amps_per_watt,
    between_volts,
    leg_volts,
    resistive_share,
)

SYSTEMS: tuple[System, ...] = ("120/240", "120/208", "120")
power_factors = st.floats(0.05, 1.0)


@pytest.fixture(autouse=True)
def worked_anew() -> None:
    for kept in (leg_volts, between_volts, amps_per_watt):
        kept.cache_clear()


@pytest.mark.parametrize(
    ("system", "volts"), [("120/240", 240.0), ("120/208", 120 * 3**0.5), ("120", 0.0)]
)
def test_volts_between_the_legs(system: System, volts: float) -> None:
    assert between_volts(system) == pytest.approx(volts)
    assert [abs(v) for v in leg_volts(system)] == pytest.approx([NOMINAL_V, NOMINAL_V])


@given(power_factor=power_factors, system=st.sampled_from(SYSTEMS), wire=st.sampled_from((0, 1)))
def test_a_120_volt_load_draws_one_watt_on_one_wire_lagging(
    power_factor: float, system: System, wire: int
) -> None:
    amps = amps_per_watt(system=system, wire=wire, power_factor=power_factor)
    volts = leg_volts(system)
    power = volts[wire] * amps[wire].conjugate()
    assert power.real == pytest.approx(1.0)
    assert power.imag >= -1e-12  # lagging: it takes reactive power
    assert abs(power) == pytest.approx(1.0 / power_factor)
    assert amps[1 - wire] == 0


@given(power_factor=power_factors, system=st.sampled_from(SYSTEMS[:2]))
def test_a_load_across_the_legs_uses_no_neutral(power_factor: float, system: System) -> None:
    amps = amps_per_watt(system=system, wire=None, power_factor=power_factor)
    volts = leg_volts(system)
    power = sum(v * a.conjugate() for v, a in zip(volts, amps, strict=True))
    assert power.real == pytest.approx(1.0)
    assert abs(power) == pytest.approx(1.0 / power_factor)
    assert abs(sum(amps)) == pytest.approx(0.0, abs=1e-12)


def test_a_load_across_one_hot_is_dead() -> None:
    assert between_volts("120") == 0.0
    assert amps_per_watt(system="120", wire=None, power_factor=1.0) == (0j, 0j)
    assert resistive_share("120") == 0.0


@pytest.mark.parametrize(("system", "amps"), [("120/240", 0.0), ("120/208", 10.0), ("120", 20.0)])
def test_equal_legs_leave_in_the_neutral_what_the_angle_says(system: System, amps: float) -> None:
    """10 A on each leg: cancelled at 180 degrees, 10 A at 120, 20 A in phase."""
    first = amps_per_watt(system=system, wire=0, power_factor=1.0)
    second = amps_per_watt(system=system, wire=1, power_factor=1.0)
    neutral = 1200 * (sum(first) + sum(second))
    assert abs(neutral) == pytest.approx(amps, abs=1e-9)


def test_resistance_on_208_gives_three_quarters() -> None:
    assert resistive_share("120/208") == pytest.approx(0.75)
    assert resistive_share("120/240") == pytest.approx(1.0)
    assert not math.isnan(resistive_share("120"))
