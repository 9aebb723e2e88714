"""Stores through whole runs, and the harms they bring."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest

from server.domain.behaviour import Backed, ColdBox, SumpPump, Tub, WellPump
from server.domain.catalogue import KINDS
from server.domain.scenario import Weather
from server.simulate.chance import Chance
from server.simulate.ensemble import run_draws
from server.simulate.harm import Harm
from server.simulate.harms import harms
from server.simulate.odds import odds_of
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, normal_only_site, scenario
from tests.simulate.houses import kwh, one_load_site, run_of, taken_w

STEADY = (12.0,) * 24


def one(run: Run, kind: str) -> Harm:
    (found,) = [h for h in harms(run) if h.kind == kind and h.element_id == "load"]
    return found


def level(run: Run) -> np.ndarray:
    return run.level[0].astype(float)


class TestColdBox:
    def test_food_is_unsafe_after_the_four_hours_of_a_closed_one(self) -> None:
        """At the latest: 42 ln(33/30) = 4.0 h, however cold its food was when power went."""
        harm = one(run_of(ColdBox(), load_w=150, outage_h=(2, 9)), "food")
        assert harm.hours is not None
        assert harm.hours <= 42 * math.log(33 / 30) + 1e-6
        assert harm.hours > 2.0

    def test_doors_opened_while_dead_bring_it_sooner(self) -> None:
        """20 openings an hour of 40 Btu into 168 Btu/F warm it by 4.8 F an hour beside."""
        opened = ColdBox(openings_by_hour=(20.0,) * 24, opening_btu=40, opened_when_dead=True)
        harm = one(run_of(opened, load_w=300, outage_h=(2, 9)), "food")
        assert harm.hours is not None
        assert harm.hours < 1.2

    def test_defrost_takes_its_energy(self) -> None:
        """400 W for 20 min every 8 h is 0.4 kWh a day, a quarter of which is pumped out again."""
        plain = kwh(run_of(ColdBox(), load_w=150, span_h=240))
        frost = ColdBox(defrost_w=400, defrost_every_h=8, defrost_min=20)
        more = kwh(run_of(frost, load_w=150, span_h=240)) - plain
        assert more == pytest.approx(10 * 0.4 * (1 + 0.25 / 1.4), rel=0.07)

    @pytest.mark.parametrize("kind_id", ["refrigerator", "second-refrigerator", "freezer"])
    def test_a_shut_one_comes_on_every_half_to_whole_hour(self, kind_id: str) -> None:
        """30 to 60 min from start to start: common practice, no source."""
        kind = KINDS[kind_id]
        assert isinstance(kind.behaviour, ColdBox)
        shut = kind.behaviour.model_copy(update={"openings_by_hour": (0.0,) * 24})
        on = taken_w(run_of(shut, load_w=kind.load_w, span_h=240)) > 1.0
        starts = np.flatnonzero(on[1:] & ~on[:-1])
        assert 0.5 <= np.diff(starts).mean() / 60 <= 1.0

    @pytest.mark.parametrize("cycle_min", [20, 45, 1440])
    def test_how_often_it_comes_on_moves_neither_duty_nor_energy(self, cycle_min: float) -> None:
        """Duty 6 x 33 / (1.4 x 150 x 3.412) = 27.6 %, 0.995 kWh a day."""
        box = ColdBox(loss_btuh_per_f=6, cycle_min=cycle_min)
        run = run_of(box, load_w=150, span_h=14 * 24)
        assert kwh(run) / 14 == pytest.approx(0.995, rel=0.02)
        assert taken_w(run).mean() / 150 == pytest.approx(box.duty(150), rel=0.02)
        assert level(run).mean() == pytest.approx(37.0, abs=0.4)

    def test_where_the_band_is_narrower_than_a_cycle_needs_it_holds(self) -> None:
        assert ColdBox(deadband_f=0.1).food_band_f(150) == 0.1
        assert ColdBox(cycle_min=1440, time_constant_h=5).food_band_f(150) == 3.0

    def test_dead_its_food_warms_by_its_whole_store(self) -> None:
        """From where it was, T = 70 - (70 - T0) e^(-t/42), whatever turned its compressor."""
        run = run_of(ColdBox(), load_w=150, outage_h=(2, 9))
        begin = level(run)[2 * 60 - 1]
        hours = np.arange(1, 7 * 60 + 1) / 60
        ends = 70 - (70 - begin) * np.exp(-hours / 42)
        assert level(run)[2 * 60 : 9 * 60] == pytest.approx(ends, abs=0.01)

    def test_after_an_outage_it_runs_without_a_break(self) -> None:
        run = run_of(ColdBox(), load_w=60, span_h=24, outage_h=(2, 8))
        assert taken_w(run)[8 * 60 : 10 * 60].min() == pytest.approx(60)

    def test_box_kept_warmer_than_food_may_be_has_no_clock(self) -> None:
        run = run_of(ColdBox(kept_f=50), load_w=150, outage_h=(2, 9))
        assert not [h for h in harms(run) if h.kind == "food"]


class TestWell:
    WELL = WellPump(pump_gpm=10, tank_gal=44, draws_gal_by_hour=STEADY, draw_gpm=0)

    def test_drawdown_is_about_a_quarter_of_the_tank(self) -> None:
        """0.26 of the tank at 40/60 psi."""
        assert self.WELL.drawdown_gal / 44 == pytest.approx(0.26, abs=0.005)

    def test_day_takes_gallons_over_flow(self) -> None:
        """288 gal at 600 gal/h and 1.5 kW: 0.72 kWh."""
        assert kwh(run_of(self.WELL, load_w=1500, span_h=240)) / 10 == pytest.approx(0.72, rel=0.03)

    def test_water_lasts_what_the_tank_held(self) -> None:
        run = run_of(self.WELL, load_w=1500, outage_h=(3, 12))
        held_gal = level(run)[3 * 60 - 1]
        harm = one(run, "water")
        assert harm.hours == pytest.approx(held_gal / 12, abs=0.02)
        assert harm.why == "Circuit c dead since Thu 26 Nov 15:00"

    def test_nobody_drawing_leaves_water(self) -> None:
        run = simulate(
            one_load_site(self.WELL, load_w=1500),
            scenario(span_h=24, outage_h=(3, 12), people=0),
        )
        assert not one(run, "water").reached


class TestSump:
    PIT = SumpPump(inflow_gpm=0.5, pump_gpm=35, cycle_gal=8, reserve_gal=10)

    def test_pit_runs_over_when_it_has_filled(self) -> None:
        run = run_of(self.PIT, load_w=800, outage_h=(3, 5))
        missing_gal = 18 - level(run)[3 * 60 - 1]
        assert one(run, "sump").hours == pytest.approx(missing_gal / 30, abs=0.02)

    def test_scenario_sets_the_inflow_of_a_storm(self) -> None:
        calm = kwh(run_of(self.PIT, load_w=800))
        storm = kwh(run_of(self.PIT, load_w=800, pit_inflow_gpm=2.0))
        assert storm / calm == pytest.approx(4.0, rel=0.1)
        harm = one(run_of(self.PIT, load_w=800, pit_inflow_gpm=0.0, outage_h=(3, 5)), "sump")
        assert not harm.reached
        assert harm.nearest.endswith("it does not fill")

    def test_inflow_past_the_pump_is_named(self) -> None:
        run = run_of(self.PIT, load_w=800, pit_inflow_gpm=35.5, outage_h=(0.05, 0.051), span_h=2)
        assert one(run, "sump").why == "more comes in than the pump moves"


def test_tub_loses_by_the_weather_and_the_cover() -> None:
    """226 W x (102 - 28)/37 = 452 W at 28 °F; a cover off all day costs seven times that."""
    cold = Weather(low_f=28, high_f=28)
    covered = kwh(run_of(Tub(), load_w=5500, span_h=240, weather=cold)) / 240
    assert covered == pytest.approx(0.452, rel=0.04)
    bare = Tub(open_by_hour=(1.0,) * 24, open_times=7)
    opened = kwh(run_of(bare, load_w=5500, span_h=240, weather=cold)) / 240
    assert opened / covered == pytest.approx(7, rel=0.04)


class TestBacked:
    DEVICE = Backed(battery_min=90, recharge_h=3)

    def test_battery_is_empty_after_its_minutes(self) -> None:
        harm = one(run_of(self.DEVICE, load_w=100, outage_h=(3, 6)), "internet")
        assert harm.hours == pytest.approx(1.5, abs=0.02)

    def test_second_outage_finds_it_half_charged(self) -> None:
        """1.5 h used, one hour of power gives back half an hour: empty 0.5 h into the second."""
        site = one_load_site(self.DEVICE, load_w=100, kind="ventilator")
        base = scenario(span_h=12, outage_h=(1, 2.4))
        second = scenario(span_h=12, outage_h=(3.4, 6)).outages
        run = simulate(site, base.model_copy(update={"outages": (*base.outages, *second)}))
        harm = next(h for h in harms(run) if "battery empty" in h.what)
        assert harm.kind == "medical"
        assert harm.at is not None
        hours = (harm.at - START) / timedelta(hours=1)
        assert hours == pytest.approx(3.4 + 0.1 + 0.5, abs=0.03)

    def test_gaps_that_drain_it_together_are_too_long_though_none_is_alone(self) -> None:
        """0.9 h out, half an hour of power fills 0.25 h, 0.8 h out: 1.45 h of 1.5 h / 1.5 = 1 h."""
        site = one_load_site(self.DEVICE, load_w=100, kind="ventilator")
        first = scenario(span_h=12, outage_h=(1, 1.9))
        second = scenario(span_h=12, outage_h=(2.4, 3.2)).outages
        for outages, drawn_h, too_long in (
            (first.outages, 0.9, False),
            (second, 0.8, False),
            ((*first.outages, *second), 0.9 - 0.5 * 0.5 + 0.8, True),
        ):
            run = simulate(site, first.model_copy(update={"outages": outages}))
            fared = run.service[0]
            assert fared.longest_gap_min <= 54.0 + 1e-6
            assert fared.drawn_min == pytest.approx(drawn_h * 60.0)
            assert fared.gap_exceeded is too_long
            assert bool(run.verdict.gaps) is too_long
            harm = next(h for h in harms(run) if "too long" in h.what)
            assert harm.reached is too_long
        assert "its own battery down by 1 h 27 min" in run.verdict.sentence
        assert harm.at is not None
        assert (harm.at - START) / timedelta(hours=1) == pytest.approx(2.4 + 0.35, abs=0.01)
        draws = run_draws(site, run.scenario, draws=range(3))
        (odds,) = odds_of(site, run.scenario, draws).service
        assert odds.too_long == Chance(3, 3)

    def test_a_gap_that_a_person_allows_is_held_to_each_gap(self) -> None:
        device = appliance("vent", 100, behaviour=self.DEVICE, kind="ventilator")
        own = circuit("c", "main", 1, allowed_gap_min=60, appliances=(device,))
        day = scenario(span_h=12, outage_h=(1, 1.9))
        outages = (*day.outages, *scenario(outage_h=(2.4, 3.2)).outages)
        run = simulate(
            normal_only_site(circuits=(own,)), day.model_copy(update={"outages": outages})
        )
        assert not run.service[0].gap_exceeded

    def test_circuit_of_backed_devices_bears_their_battery_less_a_third(self) -> None:
        device = appliance("vent", 100, behaviour=self.DEVICE)
        own = circuit("c", "main", 1, load_class="must_serve", appliances=(device,))
        assert own.gap_min == pytest.approx(60)
        lamp = appliance("lamp", 10)
        assert own.model_copy(update={"appliances": (device, lamp)}).gap_min == 2.0


def test_a_run_of_every_store_is_the_same_whatever_else_the_house_has() -> None:
    site = one_load_site(ColdBox(), load_w=150)
    other = normal_only_site(
        circuits=(*site.circuits, circuit("d", "main", 3, load_w=100)), zones=site.zones
    )
    day = scenario(span_h=24)
    assert np.array_equal(simulate(site, day).circuit_w[0], simulate(other, day).circuit_w[0])
