"""What many draws say together."""

from __future__ import annotations

from fractions import Fraction
from math import comb

import numpy as np
import pytest

from server.domain.site import Site
from server.domain.supply import FuelTank
from server.simulate.chance import Chance
from server.simulate.ensemble import Draws, run_draws
from server.simulate.harm_grade import harm_keys
from server.simulate.odds import Odds, odds_of, quantile
from server.simulate.run import simulate
from tests.builders import backed_up_site, circuit, generator, normal_only_site, scenario

SITE = normal_only_site()
DAY = SITE.scenarios[0]


def made(
    *, peaks_a: np.ndarray | None = None, site: Site = SITE, count: int = 100, **rows: np.ndarray
) -> Draws:
    """Draws of a site with the same amps on every point and leg, unless rows say otherwise."""
    points = len(simulate(site, site.scenarios[0]).points)
    same = np.arange(1.0, count + 1) if peaks_a is None else peaks_a
    peaks = np.repeat(same[:, None, None], points, axis=1).repeat(3, axis=2)
    found = {
        "number": np.arange(count),
        "peaks_a": peaks.astype(np.float32),
        "unserved_s": np.zeros((count, len(site.circuits)), dtype=np.float32),
        "gap_s": np.zeros((count, len(site.circuits)), dtype=np.float32),
        "dry_s": np.full((count, len(site.generators)), np.inf),
        "spilt_gal": np.zeros((count, len(site.circuits)), dtype=np.float32),
        "harm_s": np.full((count, len(harm_keys(site))), np.inf),
        "starts": np.zeros((count, 3), dtype=np.float32),
    }
    return Draws(**found | rows)


def odds(draws: Draws, site: Site = SITE) -> Odds:
    return odds_of(site, site.scenarios[0], draws)


def test_median_95th_and_worst_are_draws_that_were_made() -> None:
    spread = odds(made()).limit("circuit_breaker:a").legs[0]
    assert (spread.median, spread.p95, spread.worst, spread.worst_draw) == (50, 95, 100, 99)
    # Binomial tails of 100 draws at 0.95: below 90 in 1.1 %, below 91 in 2.8 %; all 100 in 0.6 %.
    assert (spread.p95_low, spread.p95_high) == (90, 100)
    wide = odds(made(count=400)).limit("circuit_breaker:a").legs[0]
    assert (wide.p95_low, wide.p95, wide.p95_high) == (371, 380, 389)


@pytest.mark.parametrize("count", [12, 71, 72, 200])
def test_the_bounds_of_the_95th_are_the_tightest_by_binomial_counts(count: int) -> None:
    """0.95^71 = 2.6 % is too likely for an upper bound, 0.95^72 = 2.5 % is not."""
    share = Fraction(95, 100)
    chance = [comb(count, k) * share**k * (1 - share) ** (count - k) for k in range(count + 1)]
    tail = Fraction(25, 1000)
    low = max(k for k in range(count + 1) if sum(chance[:k]) <= tail)
    high = next((k for k in range(count + 1) if sum(chance[k:]) <= tail), None)
    spread = odds(made(count=count)).limit("circuit_breaker:a").legs[0]
    assert (spread.p95_low, spread.p95_high) == (low or None, high)


def test_the_chance_of_a_limit_counts_draws_past_it() -> None:
    # The breaker is 20 A: 21 to 100 are past it, 20 itself is not.
    one = odds(made()).limit("circuit_breaker:a")
    assert (one.crossed.hits, one.crossed.draws) == (80, 100)
    assert one.crossed.standard_error == pytest.approx(0.04)
    assert [c.hits for c in one.crossed_legs] == [80, 80]
    assert one.working.value == pytest.approx(80.0)
    assert one.working.terms[0].value == 80
    main = odds(made()).limit("service_main:grid")
    assert main.crossed.hits == 0
    assert odds(made()).any_over.hits == 80


def test_either_leg_past_its_limit_counts_once() -> None:
    draws = made()
    draws.peaks_a[:, :, 0] = 5
    draws.peaks_a[:50, :, 1] = 5
    one = odds(draws).limit("circuit_breaker:a")
    assert (one.crossed.hits, [c.hits for c in one.crossed_legs]) == (50, [0, 50])
    assert one.worst_leg == "L2"
    assert one.percent == pytest.approx(100 * 95 / 20)


@pytest.mark.parametrize("hits", [0, 1, 20, 199, 200])
def test_the_interval_of_a_chance_holds_it_and_is_never_empty(hits: int) -> None:
    chance = Chance(hits, 200)
    low, high = chance.between
    assert 0 <= low <= chance.share <= high <= 1
    assert high - low > 0.015
    # It is the set of shares p with |k/n - p| <= z sqrt(p (1 - p) / n).
    for edge in (low, high):
        if 0 < edge < 1:
            off = abs(chance.share - edge)
            assert off == pytest.approx(1.959964 * (edge * (1 - edge) / 200) ** 0.5, rel=1e-5)


def test_the_running_95th_ends_at_that_of_all_draws() -> None:
    values = np.random.default_rng(3).normal(100, 10, 300)
    found = odds(made(peaks_a=values, count=300)).settling
    assert found is not None
    assert found.draws[-1] == 300
    assert len(found.draws) == 12
    assert found.p95_a[-1] == pytest.approx(quantile(values, 0.95), rel=1e-6)
    assert found.p95_a[0] == pytest.approx(quantile(values[:25], 0.95), rel=1e-6)


def test_one_draw_has_odds_too() -> None:
    found = odds(made(count=1))
    assert found.settling is not None
    assert found.settling.draws == (1,)
    assert found.limits[0].legs[0].p95_low is None


def test_fuel_that_ends_in_some_draws_is_told_with_when() -> None:
    site = backed_up_site(generators=(generator(tank=FuelTank(capacity_gal=50)),))
    ends = np.full((100, 1), np.inf)
    ends[:4, 0] = np.array([30, 20, 50, 40]) * 3600
    (fuel,) = odds(made(site=site, dry_s=ends), site).fuel
    assert (fuel.early.hits, fuel.earliest_h, fuel.median_h) == (4, 20, 30)
    (never,) = odds(made(site=site), site).fuel
    assert (never.early.hits, never.earliest_h, never.median_h) == (0, None, None)


def test_a_set_without_a_tank_has_no_odds_of_running_dry() -> None:
    site = backed_up_site()
    assert odds(made(site=site), site).fuel == ()


def test_must_serve_circuits_are_always_told_and_others_when_they_went_without() -> None:
    medical = circuit("cpap", "main", 9, load_w=60, load_class="must_serve", own_battery_min=30)
    site = normal_only_site(circuits=(*SITE.circuits, medical))
    wanted = np.zeros((100, 4), dtype=np.float32)
    gaps = np.zeros((100, 4), dtype=np.float32)
    wanted[:10, 3] = 120
    wanted[:30, 0] = 60
    gaps[:5, 3] = 21 * 60
    gaps[5:10, 3] = 20 * 60
    found = {
        s.circuit_id: s for s in odds(made(site=site, unserved_s=wanted, gap_s=gaps), site).service
    }
    assert set(found) == {"a", "cpap"}
    # Its battery lasts 30 min, of which two thirds are relied on: 20 min are borne, 21 are not.
    assert (found["cpap"].without.hits, found["cpap"].too_long.hits) == (10, 5)
    assert found["cpap"].must_serve
    assert (found["a"].without.hits, found["a"].too_long.hits) == (30, 0)
    assert found["a"].spread_min.worst == 1


def test_odds_of_real_draws_count_the_runs_that_do_not_fit() -> None:
    site = backed_up_site(generators=(generator(rated_kw=5),))
    day = scenario("out", outage_h=(2, 5))
    found = odds_of(site, day, run_draws(site, day, draws=range(5)))
    over = {r.point.id for r in simulate(site, day).verdict.over}
    assert over
    assert {r.point.id for r in found.limits if r.crossed.hits} == over
