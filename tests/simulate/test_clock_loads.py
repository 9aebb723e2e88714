"""What is always on, and what follows the clock, seen through whole runs."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from server.domain.behaviour import Constant, Hourly
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario
from tests.simulate.houses import kwh, one_load_site, run_of, taken_w


def test_constant_takes_its_share_all_day() -> None:
    assert np.all(taken_w(run_of(Constant(share=0.3))) == pytest.approx(300))


@pytest.mark.parametrize("step_s", [10, 60, 900])
def test_hourly_follows_the_clock_from_any_start(step_s: int) -> None:
    shares = tuple(h / 23 for h in range(24))
    start = datetime(2026, 5, 4, 22, 37, 30)
    sharp = Hourly(shares=shares, spread_min=0)
    run = run_of(sharp, start=start, span_h=5, step_s=step_s)
    for step in range(0, run.steps, 7):
        at = run.time_of(step)
        later = at + timedelta(seconds=step_s)
        if at.hour == (later - timedelta(seconds=1)).hour:
            assert taken_w(run)[step] == pytest.approx(1000 * shares[at.hour], rel=1e-5)


def test_a_step_across_the_hour_takes_the_mean() -> None:
    shares = tuple(1.0 if h == 13 else 0.0 for h in range(24))
    start = datetime(2026, 5, 4, 12, 50)
    sharp = Hourly(shares=shares, spread_min=0)
    run = run_of(sharp, start=start, span_h=1, step_s=900)
    assert taken_w(run) == pytest.approx([1000 / 3, 1000, 1000, 1000])


def test_things_do_not_step_in_unison() -> None:
    """Twelve that step at 16:00: on the hour they would add 12 kW in one minute."""
    evening = Hourly(shares=tuple(float(h >= 16) for h in range(24)))
    loads = tuple(appliance(f"load-{i}", 1000, behaviour=evening) for i in range(12))
    circuits = tuple(circuit(f"c{i}", "main", 1 + i, appliances=(a,)) for i, a in enumerate(loads))
    site = normal_only_site(circuits=circuits)
    run = simulate(site, scenario(start=datetime(2026, 5, 4, 12), span_h=8))
    total = run.circuit_w.sum(axis=0).astype(float)
    assert np.diff(total).max() < 4_000
    assert total[: 4 * 60 - 15].max() == 0.0
    assert total[4 * 60 + 15 :].min() == pytest.approx(12_000)


def test_an_hours_mean_over_the_draws_is_within_a_tenth_of_the_steps_beside_it() -> None:
    """E[late part] of a step drawn within ±15 min is 15/4 min: 1/16 of the hour after it."""
    shares = np.array([0.1 if h % 2 else 0.9 for h in range(24)])
    beside = np.roll(shares, 1) + np.roll(shares, -1) - 2.0 * shares
    site = one_load_site(Hourly(shares=tuple(shares)))
    day = scenario(span_h=24)
    by_hour = np.mean(
        [
            taken_w(simulate(site, day, draw=draw)).reshape(24, 60).mean(axis=1)
            for draw in range(60)
        ],
        axis=0,
    )
    hours = (day.start.hour + np.arange(24)) % 24
    assert by_hour == pytest.approx(1000 * (shares + beside / 16.0)[hours], abs=45)
    assert by_hour.mean() == pytest.approx(500, abs=10)


@pytest.mark.parametrize("step_s", [30, 300])
def test_the_moments_of_a_draw_do_not_hang_on_the_step(step_s: int) -> None:
    evening = Hourly(shares=tuple(h / 23 for h in range(24)))
    minute = kwh(run_of(evening, start=datetime(2026, 5, 4, 9, 20), span_h=9))
    other = kwh(run_of(evening, start=datetime(2026, 5, 4, 9, 20), span_h=9, step_s=step_s))
    assert other == pytest.approx(minute, rel=1e-6)
