"""Newton's law of cooling, at its limits."""

from __future__ import annotations

import math

import pytest

from server.physics.newton import NEVER_H, advance, crossing_h, drift


def test_food_from_37_to_40_in_a_room_of_70_takes_4_hours_at_42() -> None:
    assert crossing_h(37, 70, 1 / 42, 40) == pytest.approx(42 * math.log(33 / 30))
    assert crossing_h(37, 70, 1 / 42, 40) == pytest.approx(4.0, abs=0.01)


@pytest.mark.parametrize(
    ("temp", "settle", "target"), [(37, 70, 36), (37, 70, 70), (37, 70, 71), (70, 70, 60)]
)
def test_what_is_not_on_the_way_is_never_reached(temp: float, settle: float, target: float) -> None:
    assert crossing_h(temp, settle, 0.1, target) == NEVER_H


def test_no_loss_never_drifts() -> None:
    assert crossing_h(37, 70, 0.0, 40) == NEVER_H


@pytest.mark.parametrize("rate", [1e-6, 0.024, 0.5, 3.0, 40.0])
@pytest.mark.parametrize("hours", [1 / 360, 1 / 60, 0.25, 2.0])
def test_both_forms_agree(rate: float, hours: float) -> None:
    temp, area = drift(37.0, 70.0, rate, hours)
    other, other_area = advance(37.0, rate * 33.0, rate, hours)
    assert other == pytest.approx(temp, rel=1e-9)
    assert other_area == pytest.approx(area, rel=1e-6)


def test_a_store_without_loss_climbs_in_a_line() -> None:
    assert advance(50.0, 12.0, 0.0, 0.5) == pytest.approx((56.0, 26.5))
