"""A box held by a thermostat against sums that can be made by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from server.physics.newton import BTU_PER_WH
from server.physics.warm_box import Surround, warm_box

KITCHEN = Surround(70.0, 0.0, 1.0)


class Box:
    """A refrigerator of 6 Btu/h °F and 42 h, kept at 37 ± 1.5 °F; changes name its columns."""

    def __init__(self, temp_f: float = 37.0, **changes: float) -> None:
        figures = {"store": 252.0, "loss": 6.0, "kept": 37.0, "band": 3.0, "cop": 1.4, "sign": -1.0}
        self.box = np.array(list((figures | changes).values()))
        self.state = np.array([temp_f, 0.0])
        self.ledger = np.zeros(5)
        self.begin = temp_f

    def go(
        self,
        hours: float,
        *,
        load_w: float = 150.0,
        around: Surround = KITCHEN,
        step_s: float = 60.0,
        available: float = 1.0,
    ) -> np.ndarray:
        """Watts asked for in each step."""
        return np.array(
            [
                warm_box(self.state, self.box, load_w, around, step_s, available, self.ledger)
                for _ in range(round(hours * 3600 / step_s))
            ]
        )


@pytest.mark.parametrize(
    ("kept_f", "tau_h", "hours"), [(37.0, 42.0, 4.0), (0.0, 57.0, 48.3), (0.0, 28.0, 23.7)]
)
def test_closed_box_reaches_forty_degrees_when_the_food_guidance_says(
    kept_f: float, tau_h: float, hours: float
) -> None:
    """tau ln((70 - kept) / (70 - 40)); USDA FSIS: about 4 h, 48 h full and 24 h half full."""
    box = Box(kept_f, store=6.0 * tau_h, kept=kept_f)
    box.go(hours, available=0.0)
    assert hours == pytest.approx(tau_h * math.log((70 - kept_f) / 30), abs=0.06)
    assert box.state[0] == pytest.approx(40.0, abs=0.08)


def test_duty_is_the_heat_that_comes_in_over_what_is_moved_out() -> None:
    """6 x 33 Btu/h against 1.4 x 150 W: 27.6 % of the time."""
    asked = Box().go(30 * 24)
    assert asked.mean() / 150 == pytest.approx(6 * 33 / (1.4 * 150 * BTU_PER_WH), rel=0.01)


def test_thermostat_keeps_within_its_band() -> None:
    box, temps = Box(), []
    for _ in range(2000):
        box.go(1 / 60)
        temps.append(box.state[0])
    assert min(temps) >= 35.49
    assert max(temps) <= 38.51


def test_door_openings_add_to_the_duty() -> None:
    """30 Btu/h of doors beside 198 Btu/h: duty 15 % higher."""
    shut, opened = Box().go(30 * 24), Box().go(30 * 24, around=Surround(70.0, 30.0, 1.0))
    assert opened.mean() / shut.mean() == pytest.approx(228 / 198, rel=0.01)


def test_warm_tub_holds_itself_by_what_it_loses() -> None:
    """350 gal at 102 °F in 20 °F air loses 226 W x 82/37 = 501 W (job: 0.5 kW)."""
    loss = 226.0 * BTU_PER_WH / 37.0
    tub = Box(102.0, store=350 * 8.33, loss=loss, kept=102.0, band=2.0, cop=1.0, sign=1.0)
    asked = tub.go(14 * 24, load_w=5500.0, around=Surround(20.0, 0.0, 1.0))
    assert asked.mean() == pytest.approx(501, rel=0.03)


def test_heat_that_came_in_is_stored_or_lost() -> None:
    box = Box()
    box.go(50, around=Surround(70.0, 25.0, 1.0), step_s=600.0)
    box.go(20, available=0.0)
    put_in, lost, stored = box.ledger[:3]
    assert put_in == pytest.approx(lost + stored, abs=1e-6)
    assert stored == pytest.approx(252 * (box.state[0] - box.begin) / BTU_PER_WH)


@pytest.mark.parametrize("step_s", [10.0, 300.0, 900.0])
def test_step_does_not_move_the_energy(step_s: float) -> None:
    whole, other = Box().go(20 * 24), Box().go(20 * 24, step_s=step_s)
    assert other.mean() == pytest.approx(whole.mean(), rel=0.005)


def test_box_that_has_warmed_runs_without_a_break_until_it_is_cold() -> None:
    """From 50 °F: settles towards 70 - 1.4 x 150 x 3.412 / 6 = -49.4 °F; to 35.5 °F in 6.64 h."""
    box = Box(50.0)
    asked = box.go(8)
    settle = 70 - 1.4 * 150 * BTU_PER_WH / 6
    hours = 42 * math.log((50 - settle) / (35.5 - settle))
    assert asked[: int(hours * 60)].min() == 150
    assert asked[int(hours * 60) + 1] == 0
    assert box.ledger[3] == 1
