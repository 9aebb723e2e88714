"""Worst minutes, minutes over, held amps, gaps and findings."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.behaviour import Hourly, RoomUnit, Stage, Timed, Zone
from server.domain.scenario import ApplianceEvent, Weather
from server.simulate.ensemble import run_draws
from server.simulate.leg_stats import leg_stats
from server.simulate.must_serve import must_serve
from server.simulate.odds import odds_of
from server.simulate.outcome import parallel_neutrals, status_of
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    interlock_site,
    normal_only_site,
    scenario,
    set_120_only_site,
    with_parts,
)
from tests.rules.no_neutral_sites import pump_house


def plain_stats(row: np.ndarray, rating: float, per_block: int, step_min: float) -> list[float]:
    """The same figures by plain numpy."""
    blocks = [row[i : i + per_block] for i in range(0, len(row), per_block)]
    means = np.array([b.mean(dtype=np.float64) for b in blocks], dtype=np.float32)
    minutes = np.array([len(b) * step_min for b in blocks])
    hold = round(180 / (per_block * step_min))
    held = 0.0
    if len(means) >= hold:
        held = max(float(means[i : i + hold].min()) for i in range(len(means) - hold + 1))
    return [
        float(means.max()),
        float(means.argmax()),
        float(minutes[means > 0.8 * rating].sum()),
        float(minutes[means > rating].sum()),
        held,
    ]


@given(data=st.data())
@settings(max_examples=80, deadline=None)
def test_stats_equal_plain_sums(data: st.DataObject) -> None:
    per_block, step_min = data.draw(
        st.sampled_from(((1, 1.0), (1, 5.0), (1, 15.0), (6, 1 / 6), (2, 0.5)))
    )
    steps = data.draw(st.integers(1, 700))
    seed = data.draw(st.integers(0, 2**32))
    rng = np.random.default_rng(seed)
    runs = np.repeat(rng.uniform(0, 120, 1 + steps // 40), 40)[:steps]
    noise = rng.uniform(0, 20, (1, 3, steps)) * (rng.random((1, 3, steps)) > 0.3)
    amps = (runs + noise).astype(np.float32) * np.float32(data.draw(st.sampled_from((0, 1))))
    stats = leg_stats(amps, np.array([100.0]), np.array([False]), per_block, step_min)
    for k in range(3):
        expected = plain_stats(amps[0, k], 100.0, per_block, step_min)
        if k == 2:
            expected[4] = 0.0
        assert stats[0, k] == pytest.approx(expected, rel=1e-5, abs=1e-6)


def test_a_neutral_point_compares_its_neutral_for_both_legs() -> None:
    amps = np.array([[[1.0, 2.0], [3.0, 4.0], [9.0, 5.0]]], dtype=np.float32)
    stats = leg_stats(amps, np.array([100.0]), np.array([True]), 1, 1.0)
    assert stats[0, :, 0].tolist() == [9.0, 9.0, 9.0]


@pytest.mark.parametrize(
    ("percent", "status"),
    [(0, "within"), (80.0, "within"), (80.01, "close"), (100.0, "close"), (100.01, "over")],
)
def test_status(percent: float, status: str) -> None:
    assert status_of(percent) == status


def timed_site(*minutes: float, load_w: float = 2400):  # type: ignore[no-untyped-def]
    stages = tuple(Stage(minutes=m, share=1) for m in minutes)
    load = appliance("load", load_w, behaviour=Timed(stages=stages))
    return normal_only_site(circuits=(circuit("c", "main", 1, appliances=(load,)),))


def at(minutes: float) -> ApplianceEvent:
    return ApplianceEvent(appliance_id="load", at=START + timedelta(minutes=minutes))


@pytest.mark.parametrize("step_s", [10, 30, 60])
def test_peaks_are_one_minute_means(step_s: int) -> None:
    """30 s of 20 A within one minute are 10 A."""
    run = simulate(timed_site(0.5), scenario(step_s=step_s, span_h=1, events=(at(10.0),)))
    peak = run.limit("circuit_breaker:c").legs[0]
    assert peak.peak_a == pytest.approx(10.0, rel=1e-5)
    assert peak.at == START + timedelta(minutes=10)


def test_minutes_over_are_counted_and_the_peak_is_timed() -> None:
    run = simulate(timed_site(25), scenario(span_h=3, events=(at(31),)))
    leg = run.limit("circuit_breaker:c").legs[0]
    assert leg.peak_a == pytest.approx(20.0)
    assert leg.at == START + timedelta(minutes=31)
    assert leg.minutes_over_80 == pytest.approx(25)
    assert leg.minutes_over_100 == 0.0
    assert run.limit("circuit_breaker:c").status == "close"


def test_a_span_shorter_than_a_minute_has_a_peak() -> None:
    run = simulate(timed_site(25), scenario(span_h=50 / 3600, step_s=10, events=(at(0),)))
    assert run.steps == 5
    leg = run.limit("circuit_breaker:c").legs[0]
    assert leg.peak_a == pytest.approx(20.0)
    assert leg.minutes_over_80 == pytest.approx(50 / 60)


def test_the_last_part_of_a_minute_counts() -> None:
    day = scenario(span_h=110 / 3600, step_s=10, events=(at(1.0),))
    assert simulate(timed_site(5), day).limit("circuit_breaker:c").legs[0].peak_a == pytest.approx(
        20
    )


class TestContinuous:
    def run(self, minutes: float, *, load_w: float = 2000, **changes):  # type: ignore[no-untyped-def]
        load = appliance("load", load_w, behaviour=Timed(stages=(Stage(minutes=minutes, share=1),)))
        site = normal_only_site(circuits=(circuit("c", "main", 1, appliances=(load,), **changes),))
        return simulate(site, scenario(span_h=8, events=(at(60),)))

    def codes(self, run) -> list[tuple[str, str]]:  # type: ignore[no-untyped-def]
        return [(f.code, f.element_id) for f in run.findings]

    def test_over_80_percent_for_three_hours_is_a_finding(self) -> None:
        run = self.run(181)  # 2000 W are 16.7 A of 20
        assert ("continuous-over-80", "c") in self.codes(run)
        assert run.limit("circuit_breaker:c").legs[0].steady_a == pytest.approx(16.67, abs=0.01)

    def test_a_minute_short_of_three_hours_is_none(self) -> None:
        assert self.codes(self.run(179)) == []

    def test_under_80_percent_is_none_but_held_amps_are_told(self) -> None:
        run = self.run(300, load_w=1900)
        assert self.codes(run) == []
        assert run.limit("circuit_breaker:c").legs[0].steady_a == pytest.approx(15.83, abs=0.01)

    def test_a_fully_rated_breaker_may(self) -> None:
        assert self.codes(self.run(300, full_rated=True)) == []

    def test_ten_second_and_quarter_hour_steps_agree(self) -> None:
        load = appliance("load", 2000, behaviour=Hourly(shares=(1.0,) * 24))
        site = normal_only_site(circuits=(circuit("c", "main", 1, appliances=(load,)),))
        for step_s in (10, 900):
            run = simulate(site, scenario(span_h=4, step_s=step_s))
            assert ("continuous-over-80", "c") in self.codes(run)


class TestNeutrals:
    def test_unbalanced_legs_return_in_the_neutral(self) -> None:
        main = simulate(normal_only_site(), scenario()).limit("service_main:grid")
        assert [leg.peak_a for leg in main.legs] == pytest.approx([20.0, 15.0], abs=1e-3)
        assert main.neutral_peak_a == pytest.approx(5.0, abs=1e-3)

    def test_an_unswitched_throw_hides_the_neutral_on_both_ways(self) -> None:
        site = double_throw_site(switches_neutral=False)
        hidden = parallel_neutrals(site)
        assert {"throw", "main-throw-normal", "backed-throw-backed-up", "ats"} <= hidden
        assert "grid" not in hidden
        run = simulate(site, scenario())
        assert run.limit("double_throw:throw").neutral_peak_a is None
        assert run.limit("double_throw:throw").neutral_at is None
        assert run.limit("service_main:grid").neutral_peak_a is not None

    def test_a_switched_neutral_is_told(self) -> None:
        assert parallel_neutrals(double_throw_site()) == frozenset()

    def test_where_no_neutral_comes_no_amps_of_one_are_told(self) -> None:
        run = simulate(pump_house(), scenario())
        assert run.limit("feeder_breaker:main-pump").neutral_peak_a is None
        assert run.limit("panel_bus:pump").neutral_peak_a is None
        assert run.limit("service_main:grid").neutral_peak_a == pytest.approx(0.0, abs=1e-3)
        joined = double_throw_site(switches_neutral=False)
        one_way = tuple(
            f.model_copy(update={"no_neutral": f.to_input == "normal"}) for f in joined.feeders
        )
        assert parallel_neutrals(with_parts(joined, feeders=one_way)) == frozenset()

    def test_a_neutral_of_its_own_rating_is_judged(self) -> None:
        site = normal_only_site(
            feeders=(feeder("grid", "main", neutral_ampacity_a=40),),
            circuits=(circuit("a", "main", 1, load_w=5400, breaker_a=50),),
        )
        run = simulate(site, scenario(span_h=1))
        result = run.limit("feeder_neutral:grid-main")
        assert result.status == "over"
        assert result.worst.peak_a == pytest.approx(45.0)
        assert " on L" not in run.verdict.sentence
        for leg in result.legs:
            assert sum(c.amps_a for c in leg.contributors) == pytest.approx(45.0)

    def test_a_merged_neutral_has_contributors_on_both_rows(self) -> None:
        base = set_120_only_site()
        feeders = tuple(
            f.model_copy(update={"neutral_ampacity_a": 12.0}) if f.from_id == "set" else f
            for f in base.feeders
        )
        run = simulate(with_parts(base, feeders=feeders), scenario(outage_h=(1, 5)))
        result = run.limit("feeder_neutral:set-lock-generator")
        assert result.status == "over"
        for leg in result.legs:
            assert sum(c.amps_a for c in leg.contributors) == pytest.approx(15.0, abs=0.01)


class TestService:
    def served(self, site, day):  # type: ignore[no-untyped-def]
        return {s.circuit_id: s for s in simulate(site, day).service}

    def test_gaps_of_a_normal_and_a_backed_up_circuit(self) -> None:
        found = self.served(backed_up_site(), scenario(outage_h=(2, 5)))
        assert found["a"].dead_min == pytest.approx(180)
        assert found["a"].longest_gap_min == pytest.approx(180)
        assert found["a"].unserved_min == pytest.approx(180)
        assert found["b"].dead_min == pytest.approx(17 / 60)  # 15 s, and motion there and back
        assert found["b"].longest_gap_min == pytest.approx(16 / 60)

    @pytest.mark.parametrize(
        ("changes", "exceeded"),
        [
            ({}, False),
            ({"load_class": "must_serve"}, True),
            ({"load_class": "must_serve", "allowed_gap_min": 180.0}, False),
            ({"load_class": "must_serve", "own_battery_min": 240.0}, True),
            ({"load_class": "must_serve", "own_battery_min": 300.0}, False),
            ({"allowed_gap_min": 179.9}, True),
        ],
    )
    def test_a_gap_is_held_against_what_the_class_allows(self, changes, exceeded: bool) -> None:  # type: ignore[no-untyped-def]
        site = backed_up_site()
        a = site.circuit("a").model_copy(update=changes)
        site = with_parts(site, circuits=(a, *site.circuits[1:]))
        assert self.served(site, scenario(outage_h=(2, 5)))["a"].gap_exceeded == exceeded

    @pytest.mark.parametrize(("low_f", "high_f", "exceeded"), [(72, 90, False), (10, 30, True)])
    def test_heat_that_asks_for_nothing_in_mild_weather_waits_for_nothing(
        self, low_f: float, high_f: float, exceeded: bool
    ) -> None:
        house = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=25)
        heat = appliance("heat", 600, behaviour=RoomUnit(zone_id="house", mode="heat", cop=29))
        fed = circuit(
            "heat", "main", 1, appliances=(heat,), load_class="must_serve", allowed_gap_min=120
        )
        site = normal_only_site(circuits=(fed,), zones=(house,))
        weather = Weather(low_f=low_f, high_f=high_f)
        day = scenario(span_h=8, outage_h=(1, 7), weather=weather)
        (draws,) = odds_of(site, day, run_draws(site, day, draws=range(2))).service
        assert self.served(site, day)["heat"].gap_exceeded == exceeded
        assert (draws.too_long.hits > 0) == exceeded
        (dark,) = must_serve(simulate(site, day)).dark
        assert dark.asks_nothing != exceeded

    def test_roles_decide_on_the_set_but_not_on_the_grid(self) -> None:
        found = self.served(interlock_site(), scenario(outage_h=(2, 5)))
        assert found["c"].dead_min == pytest.approx(15, abs=0.1)  # its breaker has power
        assert found["c"].longest_gap_min == pytest.approx(200, abs=0.1)  # but it stays off
        assert found["c"].unserved_min == pytest.approx(200, abs=0.1)

    @pytest.mark.parametrize("role", ["off", "by_hand"])
    def test_a_bare_circuit_that_is_off_on_the_set_is_not_live(self, role: str) -> None:
        site = interlock_site()
        bare = circuit("d", "main", 9, outage_role=role, load_class="must_serve")
        site = with_parts(site, circuits=(*site.circuits, bare))
        found = self.served(site, scenario(outage_h=(2, 5)))["d"]
        assert found.gap_exceeded
        assert found.longest_gap_min == pytest.approx(200, abs=0.1)
        assert found.unserved_min == 0.0

    def test_gaps_do_not_add_up_across_a_live_spell(self) -> None:
        from server.domain.scenario import Window

        hour = timedelta(hours=1)
        outages = tuple(Window(start=START + h * hour, end=START + (h + 1) * hour) for h in (1, 3))
        found = self.served(normal_only_site(), scenario(outages=outages))
        assert found["a"].dead_min == pytest.approx(120)
        assert found["a"].longest_gap_min == pytest.approx(60)
