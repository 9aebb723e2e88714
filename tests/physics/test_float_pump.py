"""Pressure tanks and pits against sums that can be made by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from server.physics.float_pump import float_pump


class Water:
    """A pressure tank of 11 gal drawdown with a 10 gal/min pump; changes name its columns."""

    def __init__(self, want: float = 0.0, **changes: float) -> None:
        figures = {"start": 11.0, "brim": 11.0, "gph": 600.0}
        self.marks = np.array(list((figures | changes).values()))
        self.state = np.array([want, 0.0])
        self.ledger = np.zeros(5)

    def go(self, minutes: float, *, gpm: float, step_s: float = 60.0, **now: Any) -> np.ndarray:
        """Watts asked for in each step."""
        at = {"load_w": 1500.0, "available": 1.0} | now
        return np.array(
            [
                float_pump(
                    self.state,
                    self.marks,
                    at["load_w"],
                    gpm * 60,
                    step_s,
                    at["available"],
                    self.ledger,
                )
                for _ in range(round(minutes * 60 / step_s))
            ]
        )


def test_pump_is_on_for_drawdown_over_what_it_gains_and_off_for_drawdown_over_the_draw() -> None:
    """t_on = D/(Q - q) = 11/8 min, t_off = D/q = 5.5 min, at q = 2 gal/min."""
    water = Water()
    asked = water.go(6875, gpm=2.0)
    assert asked.mean() / 1500 == pytest.approx(1.375 / 6.875, rel=0.002)
    assert water.ledger[3] == pytest.approx(1000, abs=1)


def test_three_hundred_gallons_at_ten_a_minute_take_three_quarters_of_a_kwh() -> None:
    """300 gal, 10 gal/min, 1.5 kW: 0.75 kWh; starts 11/9.8 + 11/0.208 min apart."""
    water = Water()
    kwh = water.go(24 * 60, gpm=300 / 1440).sum() / 60 / 1000
    assert kwh == pytest.approx(0.75, rel=0.05)
    assert water.ledger[3] == pytest.approx(1440 / (11 / 9.79 + 11 / 0.2083), abs=1)


def test_dead_pump_leaves_the_drawdown_and_then_nothing() -> None:
    water = Water()
    water.go(11 / 2, gpm=2.0, available=0.0, step_s=30.0)
    assert water.state[0] == pytest.approx(11.0)
    assert water.ledger[4] == 0.0
    water.go(5, gpm=2.0, available=0.0)
    assert water.ledger[4] == pytest.approx(10.0)


def test_pit_fills_from_float_to_brim_in_reserve_over_inflow() -> None:
    """8 gal at the float, 18 at the brim, 0.5 gal/min in: 20 min; then it runs over."""
    pit = Water(8.0, start=8.0, brim=18.0, gph=2100.0)
    pit.go(19.9, gpm=0.5, available=0.0, step_s=6.0)
    assert pit.ledger[4] == 0.0
    pit.go(10.1, gpm=0.5, available=0.0, step_s=6.0)
    assert pit.ledger[4] == pytest.approx(5.0)


def test_starts_an_hour_are_inflow_over_a_cycle() -> None:
    """60 x 2 gal/min / 8 gal: 15 starts an hour, less the time the pump itself takes."""
    pit = Water(0.0, start=8.0, brim=18.0, gph=2100.0)
    pit.go(600, gpm=2.0)
    assert pit.ledger[3] == pytest.approx(600 / (8 / 2 + 8 / 33), abs=1)


def test_inflow_past_the_pump_runs_over_though_it_has_power() -> None:
    pit = Water(0.0, start=8.0, brim=18.0, gph=600.0)
    pit.go(60, gpm=15.0)
    assert pit.state[0] == pytest.approx(18.0)
    assert pit.ledger[4] > 200


@pytest.mark.parametrize("step_s", [10.0, 900.0])
def test_step_does_not_move_the_energy(step_s: float) -> None:
    whole, other = Water().go(3000, gpm=2.0), Water().go(3000, gpm=2.0, step_s=step_s)
    assert other.mean() == pytest.approx(whole.mean(), rel=0.005)
