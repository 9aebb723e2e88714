"""Water drawn hour by hour, in whole draws."""

from __future__ import annotations

import numpy as np
import pytest

from server.simulate.models import fill_draws

BY_HOUR = np.array([0.0] * 6 + [7.0, 9.0, 5.0] + [1.0] * 9 + [6.0, 5.0, 3.0, 2.0, 1.0, 0.0])
STREAM = np.uint64(7)


def flows(
    step_s: float, *, hours: float = 24, midnight_s: float = 0.0, gpm: float = 2.0, draw: int = 0
) -> np.ndarray:
    count = round(hours * 3600 / step_s)
    out = np.zeros(count, dtype=np.float32)
    starts = np.arange(count) * step_s
    lengths = np.full(count, step_s)
    fill_draws(out, starts, lengths, BY_HOUR, 5.0, gpm, midnight_s, 1, STREAM, draw)
    return out


@pytest.mark.parametrize("step_s", [10.0, 60.0, 900.0])
@pytest.mark.parametrize("gpm", [0.0, 2.0])
def test_every_hour_gives_its_gallons(step_s: float, gpm: float) -> None:
    gallons = flows(step_s, gpm=gpm).astype(float) * step_s / 3600
    by_hour = gallons.reshape(24, -1).sum(axis=1)
    assert by_hour == pytest.approx(BY_HOUR, rel=1e-5)


def test_a_draw_runs_at_its_flow_and_seven_gallons_are_one_draw_of_that() -> None:
    flow = flows(10.0)[6 * 360 : 7 * 360]
    on = flow > 0
    assert flow.max() == pytest.approx(120.0)
    assert on.sum() * 10 / 60 == pytest.approx(3.5, abs=0.34)


def test_even_draws_are_spread_through_the_hour() -> None:
    flow = flows(60.0, gpm=0.0)
    assert np.all(flow[7 * 60 : 8 * 60] == pytest.approx(9.0))


def test_the_clock_decides_from_any_start() -> None:
    whole = flows(60.0)
    from_five = flows(60.0, hours=19, midnight_s=-5 * 3600.0)
    assert from_five == pytest.approx(whole[5 * 60 :])


def test_another_draw_of_chance_moves_them_and_keeps_the_gallons() -> None:
    one, two = flows(60.0), flows(60.0, draw=1)
    assert not np.array_equal(one, two)
    assert one.sum() == pytest.approx(two.sum(), rel=1e-5)
