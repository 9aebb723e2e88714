"""Chances and means of many draws against closed forms.

Sources: elementary probability. Two independent stationary on-off processes with rates lambda and
mean lengths d begin to overlap lambda1 lambda2 (d1 + d2) times an hour, whatever their lengths'
distribution: one starts while the other is on, or the other way round.
"""

from __future__ import annotations

from math import comb, sqrt

import numpy as np
import pytest

from server.domain.behaviour import Cycle, DailyStart, Stage, Timed
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from server.simulate.prepared import prepare
from tests.builders import appliance, circuit, normal_only_site, panel, scenario, service

DRAWS = 1500


def on_one_leg(*behaviours: object, load_w: float, main_a: float) -> Site:
    """One load of each behaviour on L1 of a panel whose main is the limit."""
    return normal_only_site(
        services=(service(main_a=main_a),),
        panels=(panel("main", rating_a=400, main_a=main_a, neutral_bonded=True),),
        circuits=tuple(
            circuit(
                f"c{i}",
                "main",
                (1, 2, 5, 6, 9, 10)[i],
                appliances=(appliance(f"load-{i}", load_w, behaviour=how),),
            )
            for i, how in enumerate(behaviours)
        ),
    )


@pytest.mark.parametrize(("first_h", "second_h"), [(24, 24), (24, 12), (12, 8)])
def test_two_rare_loads_meet_at_the_rate_of_their_starts_and_lengths(
    first_h: float, second_h: float
) -> None:
    lengths_h = (0.5, 0.25)
    loads = [
        Cycle(on_min=60 * d, off_min=60 * (every - d), spread=0.0)
        for d, every in zip(lengths_h, (first_h, second_h), strict=True)
    ]
    # One draws 10 A; any stretch with both is past 10.05 A.
    site = on_one_leg(*loads, load_w=1200, main_a=10.05)
    day = scenario("day", span_h=24)
    odds = odds_of(site, day, run_draws(site, day, draws=range(DRAWS)))
    expected = (1 / first_h) * (1 / second_h) * sum(lengths_h) * 24
    chance = odds.limit("service_main:grid").crossed
    error = sqrt(expected * (1 - expected) / DRAWS)
    # Meetings shorter than about half a minute can hide in a one-minute mean.
    hidden = expected * 0.5 / (60 * sum(lengths_h))
    assert chance.share == pytest.approx(expected - hidden, abs=3 * error + hidden)
    assert chance.standard_error == pytest.approx(error, rel=0.25)


@pytest.mark.parametrize("most", [1, 2, 3])
def test_loads_that_run_by_the_toss_of_a_coin_add_up_as_a_binomial(most: int) -> None:
    chance, count = 0.3, 5
    habit = Timed(
        stages=(Stage(minutes=45, share=1),), starts=(DailyStart(hour=14, chance=chance),)
    )
    leg = [habit, habit, habit, habit, habit]
    site = on_one_leg(*leg, load_w=1200, main_a=10.0 * most + 1)
    # All five on one leg: spaces 1, 5, 9 are L1 on both sides of the panel with 2, 6.
    day = scenario("noon", span_h=6)
    odds = odds_of(site, day, run_draws(site, day, draws=range(DRAWS)))
    exact = sum(
        comb(count, k) * chance**k * (1 - chance) ** (count - k) for k in range(most + 1, count + 1)
    )
    crossed = odds.limit("service_main:grid").crossed_legs[0]
    assert crossed.share == pytest.approx(exact, abs=3 * sqrt(exact * (1 - exact) / DRAWS))


def test_the_mean_of_independent_duty_cycles_is_the_sum_of_their_shares() -> None:
    loads = [Cycle(on_min=on, off_min=off, spread=0.3) for on, off in ((7, 23), (12, 25), (3, 40))]
    site = on_one_leg(*loads, load_w=1000, main_a=100)
    ready = prepare(site, scenario("day", span_h=24))
    kwh = np.array([ready.march(1, draw).load_kwh[:3] for draw in range(400)])
    for i, (on, off) in enumerate(((7, 23), (12, 25), (3, 40))):
        error = kwh[:, i].std() / sqrt(len(kwh))
        assert kwh[:, i].mean() == pytest.approx(24 * on / (on + off), abs=4 * error)
    sums = kwh.sum(axis=1)
    apart = sqrt(sum(kwh[:, i].var() for i in range(3)))
    assert sums.std() == pytest.approx(apart, rel=0.12)
