"""What a set gives and burns."""

from __future__ import annotations

from typing import Any

import pytest

from server.physics.engine_set import derated_kw, leg_limit_a


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
