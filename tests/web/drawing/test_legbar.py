from __future__ import annotations

import pytest

from server.web.drawing.legbar import LIMIT_X, leg_bar


def test_the_limit_stands_at_the_same_place_whatever_the_rating() -> None:
    small, large = (leg_bar(l1_a=1, l2_a=1, limit_a=a) for a in (20, 400))
    assert small.limit_x == large.limit_x == ("14.29%", "85.71%")


def test_a_leg_at_its_limit_ends_on_the_tick_and_is_not_over() -> None:
    bar = leg_bar(l1_a=100, l2_a=100, limit_a=100)
    assert bar.l1.past is None
    assert bar.l1.within.x == pytest.approx(LIMIT_X[0])
    assert bar.l2.within.x + bar.l2.within.width == pytest.approx(LIMIT_X[1])


def test_what_is_past_the_limit_is_apart_from_what_is_within() -> None:
    leg = leg_bar(l1_a=0, l2_a=120, limit_a=100).l2
    assert leg.over
    assert leg.past is not None
    assert leg.past.x == pytest.approx(LIMIT_X[1])
    assert leg.past.width == pytest.approx(50 * 20 / 140)


def test_a_leg_beyond_the_scale_stops_at_the_edge_and_says_so() -> None:
    leg = leg_bar(l1_a=900, l2_a=0, limit_a=100).l1
    assert leg.off_scale
    assert leg.past is not None
    assert leg.past.x == pytest.approx(0)


def test_the_name_of_the_picture_holds_the_figures() -> None:
    bar = leg_bar(l1_a=93.66, l2_a=87.3, limit_a=72, before_a=(70, 69.8))
    assert bar.label == "L1 93.7 A, L2 87.3 A, limit 72 A; before L1 70.0 A, L2 69.8 A"
    assert leg_bar(l1_a=0, l2_a=0, limit_a=72, dead=True).label == "dead, limit 72 A"


def test_mirrored_legs_are_mirror_images() -> None:
    bar = leg_bar(l1_a=40, l2_a=40, limit_a=100)
    assert bar.l1.within.width == pytest.approx(bar.l2.within.width)
    assert bar.l1.within.x + bar.l1.within.width == pytest.approx(50)
    assert bar.l2.within.x == pytest.approx(50)
