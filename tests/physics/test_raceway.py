"""Wires in a tube."""

from __future__ import annotations

import pytest

from server.physics.raceway import fill_share, jam_ratio, permitted_count


def test_the_share_is_of_the_inside() -> None:
    assert fill_share([0.1, 0.2, 0.1], inside_in2=1.6) == pytest.approx(0.25)
    assert fill_share([], inside_in2=1.6) == 0.0


@pytest.mark.parametrize(("allowed_in2", "count"), [(8.75, 9), (8.70, 8), (8.0, 8), (0.5, 0)])
def test_three_quarters_of_a_wire_counts_where_three_quarters_is_the_bound(
    allowed_in2: float, count: int
) -> None:
    assert permitted_count(allowed_in2=allowed_in2, wire_in2=1.0, round_up_at=0.75) == count


def test_the_jam_ratio_is_tube_over_wire() -> None:
    assert jam_ratio(inside_diameter_in=3.0, wire_diameter_in=0.75) == 4.0
