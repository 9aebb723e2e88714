"""A device with a battery of its own against sums that can be made by hand."""

from __future__ import annotations

import numpy as np
import pytest

from server.physics.own_battery import own_battery

BATTERY = np.array([4.0, 2.0, 0.8])
"""4 h from full, filled in 2 h, 80 % kept."""


def go(state: np.ndarray, hours: float, available: float, ledger: np.ndarray) -> np.ndarray:
    count = round(hours * 60)
    return np.array(
        [own_battery(state, BATTERY, 100.0, 60.0, available, ledger) for _ in range(count)]
    )


def test_full_battery_carries_it_its_hours_and_then_none() -> None:
    state, ledger = np.array([4.0]), np.zeros(5)
    go(state, 3.0, 0.0, ledger)
    assert state[0] == pytest.approx(1.0)
    assert ledger[4] == 0.0
    go(state, 3.0, 0.0, ledger)
    assert state[0] == 0.0
    assert ledger[4] == pytest.approx(2.0)


def test_recharge_takes_its_time_and_its_energy() -> None:
    """400 Wh back into the battery at 80 %: 500 Wh over 2 h beside its own 100 W."""
    state, ledger = np.array([0.0]), np.zeros(5)
    asked = go(state, 4.0, 1.0, ledger)
    assert asked[0] == pytest.approx(350.0)
    assert asked[-1] == pytest.approx(100.0)
    assert asked.sum() / 60 == pytest.approx(4 * 100 + 500)
    assert state[0] == pytest.approx(4.0)


def test_half_empty_battery_bears_a_second_outage_half_as_long() -> None:
    state, ledger = np.array([4.0]), np.zeros(5)
    go(state, 3.0, 0.0, ledger)
    go(state, 0.5, 1.0, ledger)
    go(state, 2.5, 0.0, ledger)
    assert ledger[4] == pytest.approx(0.5)
