"""Each behaviour on its own, seen through whole runs."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest

from server.domain.behaviour import (
    Charger,
    Constant,
    Cycle,
    DailyStart,
    RoomUnit,
    Stage,
    Tank,
    Timed,
    Zone,
)
from server.domain.scenario import ApplianceEvent, Weather, Window
from server.simulate.not_had import energy_not_had
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, normal_only_site, scenario
from tests.simulate.houses import asked_w, kwh, one_load_site, run_of, taken_w

HOUR = timedelta(hours=1)
NO_DRAW = (0.0,) * 24


def event(hours: float, **changes: object) -> ApplianceEvent:
    at = START + timedelta(hours=hours)
    return ApplianceEvent.model_validate({"appliance_id": "load", "at": at} | changes)


class TestCycle:
    def test_mean_over_a_fortnight_is_its_duty(self) -> None:
        run = run_of(Cycle(on_min=12, off_min=28, spread=0.3), span_h=336)
        assert taken_w(run).mean() == pytest.approx(1000 * 12 / 40, rel=0.02)
        assert taken_w(run).max() == 1000.0

    def test_lengths_stay_within_the_spread(self) -> None:
        run = run_of(Cycle(on_min=20, off_min=30, spread=0.2), span_h=200, step_s=10)
        on = taken_w(run) > 500
        edges = np.flatnonzero(np.diff(on.astype(int)))
        lengths = np.diff(edges) * 10 / 60
        ons = lengths[on[edges[:-1] + 1]]
        offs = lengths[~on[edges[:-1] + 1]]
        assert ons.min() >= 16 - 0.34
        assert ons.max() <= 24 + 0.34
        assert offs.min() >= 24 - 0.34
        assert offs.max() <= 36 + 0.34

    def test_no_spread_is_a_clockwork(self) -> None:
        run = run_of(Cycle(on_min=5, off_min=5, spread=0), span_h=20)
        assert kwh(run) == pytest.approx(10.0, rel=0.01)

    def test_a_quick_cycle_in_a_long_step_gives_its_duty(self) -> None:
        run = run_of(Cycle(on_min=0.1, off_min=0.3, spread=0), span_h=24, step_s=900)
        assert taken_w(run) == pytest.approx(250, rel=0.02)

    def test_two_of_a_kind_are_not_in_step(self) -> None:
        cycle = Cycle(on_min=10, off_min=10)
        loads = tuple(appliance(f"load-{i}", 1000, behaviour=cycle) for i in range(2))
        circuits = tuple(
            circuit(f"c{i}", "main", 1 + i, appliances=(a,)) for i, a in enumerate(loads)
        )
        run = simulate(normal_only_site(circuits=circuits), scenario(span_h=48))
        assert not np.array_equal(run.circuit_w[0], run.circuit_w[1])
        assert abs(np.corrcoef(run.circuit_w)[0, 1]) < 0.4


STAGES = (
    Stage(minutes=12.5, share=1.0),
    Stage(minutes=20, share=0.8, cycle_on_s=50, cycle_off_s=70),
    Stage(minutes=5, share=0.0),
    Stage(minutes=7, share=0.4),
)
STAGE_WH = 1000 * (12.5 + 0.8 * 20 * 50 / 120 + 0.4 * 7) / 60


class TestTimed:
    @pytest.mark.parametrize("step_s", [10, 60, 300, 900])
    def test_stages_give_their_exact_integral_at_any_step(self, step_s: int) -> None:
        run = run_of(Timed(stages=STAGES), events=(event(1.013),), span_h=4, step_s=step_s)
        assert kwh(run) * 1000 == pytest.approx(STAGE_WH, rel=1e-5)

    def test_a_run_under_way_at_the_start_is_seen_from_there(self) -> None:
        run = run_of(Timed(stages=(Stage(minutes=60, share=1),)), events=(event(-0.5),), span_h=2)
        assert kwh(run) == pytest.approx(0.5, rel=1e-5)

    def test_cycling_begins_on(self) -> None:
        stage = Stage(minutes=30, share=1, cycle_on_s=60, cycle_off_s=120)
        run = run_of(Timed(stages=(stage,)), events=(event(0),), span_h=1)
        assert taken_w(run)[:6] == pytest.approx([1000, 0, 0, 1000, 0, 0])

    def test_habits_start_near_their_hour_on_their_share_of_days(self) -> None:
        habit = DailyStart(hour=15, chance=0.5, spread_min=30)
        run = run_of(Timed(stages=(Stage(minutes=10, share=1),), starts=(habit,)), span_h=336)
        starts = np.flatnonzero(np.diff((taken_w(run) > 0).astype(int)) == 1) + 1
        assert 2 <= len(starts) <= 12
        for step in starts:
            at = run.time_of(int(step))
            minutes = at.hour * 60 + at.minute
            assert 14.5 * 60 - 1 <= minutes <= 15.5 * 60 + 1

    def test_certain_habit_runs_every_day_and_never_habit_never(self) -> None:
        for chance, days in ((1.0, 7), (0.0, 0)):
            habit = DailyStart(hour=15, chance=chance)
            run = run_of(Timed(stages=(Stage(minutes=10, share=1),), starts=(habit,)), span_h=168)
            assert kwh(run) == pytest.approx(days / 6, abs=1e-6)

    def test_events_replace_habits(self) -> None:
        timed = Timed(stages=(Stage(minutes=10, share=1),), starts=(DailyStart(hour=15),))
        run = run_of(timed, events=(event(1),), span_h=24)
        assert kwh(run) == pytest.approx(1 / 6)
        assert taken_w(run)[60] == 1000.0

    def test_two_starts_at_once_run_one_after_the_other(self) -> None:
        timed = Timed(stages=(Stage(minutes=10, share=1),))
        run = run_of(timed, events=(event(1), event(1)), span_h=3)
        assert taken_w(run).max() == 1000.0
        assert kwh(run) == pytest.approx(2 / 6)

    def test_by_itself_takes_up_where_the_clock_stands(self) -> None:
        timed = Timed(stages=(Stage(minutes=60, share=1),))
        run = run_of(timed, events=(event(1),), span_h=4, outage_h=(1.25, 1.5))
        assert kwh(run) == pytest.approx(0.75)
        assert run.service[0].unserved_min == pytest.approx(15)
        assert energy_not_had(run)[0] == pytest.approx(0.25)

    def test_by_hand_loses_the_rest_of_its_run_but_not_the_next(self) -> None:
        timed = Timed(stages=(Stage(minutes=60, share=1),))
        site = one_load_site(timed, restart="by_hand")
        day = scenario(span_h=6, outage_h=(1.25, 1.5), events=(event(1), event(3)))
        run = simulate(site, day)
        assert kwh(run) == pytest.approx(0.25 + 1.0)
        assert taken_w(run)[int(1.75 * 60)] == 0.0
        assert asked_w(run)[int(1.75 * 60)] == 0.0


class TestCharger:
    def test_takes_its_energy_from_arrival_then_stops(self) -> None:
        run = run_of(Charger(energy_kwh=3, arrive_hour=18, depart_hour=7), span_h=24)
        assert kwh(run) == pytest.approx(3.0, rel=1e-5)
        assert taken_w(run)[: 6 * 60].max() == 0.0
        assert taken_w(run)[6 * 60 : 9 * 60] == pytest.approx(1000)
        assert taken_w(run)[9 * 60 :].max() < 1e-6

    def test_departure_cuts_it_short(self) -> None:
        run = run_of(Charger(energy_kwh=30, arrive_hour=18, depart_hour=23), span_h=20)
        assert kwh(run) == pytest.approx(5.0, rel=1e-5)

    def test_an_outage_is_made_up_before_departure(self) -> None:
        charger = Charger(energy_kwh=3, arrive_hour=18, depart_hour=7)
        run = run_of(charger, span_h=24, outage_h=(7, 9))
        assert kwh(run) == pytest.approx(3.0, rel=1e-5)
        assert taken_w(run)[9 * 60 : 11 * 60] == pytest.approx(1000)
        assert run.service[0].unserved_min == pytest.approx(120)

    def test_an_event_gives_its_own_energy(self) -> None:
        charger = Charger(energy_kwh=3, arrive_hour=18, depart_hour=7)
        run = run_of(charger, span_h=24, events=(event(2, energy_kwh=1.5),))
        assert kwh(run) == pytest.approx(1.5, rel=1e-5)
        assert taken_w(run)[2 * 60] == pytest.approx(1000)

    def test_plugging_in_again_before_departure_adds_to_what_is_left(self) -> None:
        charger = Charger(energy_kwh=3, depart_hour=11)
        events = (event(2, energy_kwh=2), event(3, energy_kwh=1.5))
        run = run_of(charger, span_h=24, events=events)
        assert kwh(run) == pytest.approx(3.5, rel=1e-5)
        assert taken_w(run)[2 * 60 : int(5.5 * 60)] == pytest.approx(1000)

    def test_a_session_begun_before_the_start_has_charged_until_then(self) -> None:
        charger = Charger(energy_kwh=3, arrive_hour=11, depart_hour=23)
        assert kwh(run_of(charger, span_h=10)) == pytest.approx(2.0, rel=1e-5)

    def test_a_charger_without_watts_takes_nothing(self) -> None:
        assert kwh(run_of(Charger(energy_kwh=3), load_w=0)) == 0.0

    @pytest.mark.parametrize("step_s", [10, 300, 900])
    def test_energy_is_exact_at_any_step(self, step_s: int) -> None:
        charger = Charger(energy_kwh=2.345, arrive_hour=13.1, depart_hour=23)
        assert kwh(run_of(charger, span_h=11, step_s=step_s)) == pytest.approx(2.345, rel=1e-5)


def tank(**changes: object) -> Tank:
    parts = {"gallons": 50, "draws_gal_by_hour": (2.0,) * 24}
    return Tank.model_validate(parts | changes)


class TestTank:
    def test_element_is_on_or_off_and_calls_across_its_deadband(self) -> None:
        """One heating of a 50 gal tank through 8 F: 50 x 8.33 x 8 / 3.412 Wh, and no more."""
        idle = tank(draws_gal_by_hour=NO_DRAW, loss_btuh_per_f=2.5, deadband_f=8)
        run = run_of(idle, load_w=4500, span_h=336, step_s=60)
        on = taken_w(run) > 0
        starts = np.flatnonzero(np.diff(on.astype(int)) == 1)
        assert len(starts) >= 5
        run_wh = [float(taken_w(run)[a:b].sum()) / 60 for a, b in pairwise(starts)]
        heat = 50 * 8.33 * 8 / 3.412142
        for wh in run_wh:
            assert heat <= wh <= heat * 1.03  # the loss while heating comes on top

    def test_a_heat_pump_takes_less_for_the_same_heat(self) -> None:
        plain = run_of(tank(), load_w=4500, span_h=240)
        pump = run_of(tank(cop=3), load_w=1500, span_h=240)
        assert kwh(pump) == pytest.approx(kwh(plain) / 3, rel=0.03)

    def test_guests_draw_more(self) -> None:
        calm = run_of(tank(loss_btuh_per_f=0), load_w=4500, span_h=240)
        full = run_of(tank(loss_btuh_per_f=0), load_w=4500, span_h=240, people=8)
        assert kwh(full) == pytest.approx(2 * kwh(calm), rel=0.03)

    def test_a_dead_tank_drifts_and_calls_at_return(self) -> None:
        run = run_of(tank(), load_w=4500, span_h=24, outage_h=(2, 8))
        before, dead, after = taken_w(run)[:120], taken_w(run)[120:480], taken_w(run)[480:]
        assert dead.max() == 0.0
        assert asked_w(run)[300:480] == pytest.approx(4500)  # calling long before the grid is back
        assert after[:20] == pytest.approx(4500)  # the lost heat is made up in one go
        assert before.mean() < after[:120].mean()

    def test_a_cold_small_tank_with_a_big_element_still_balances_in_long_steps(self) -> None:
        quick = tank(gallons=1, deadband_f=0.1, draw_gpm=0, draws_gal_by_hour=(20.0,) * 24)
        run = run_of(quick, load_w=5500, span_h=12, step_s=900)
        b = run.balance
        assert b.heat_in_kwh == pytest.approx(b.heat_stored_kwh + b.heat_lost_kwh, rel=1e-3)
        need = 20 * 8.33 * (125 - 58) / 3412.142 * 12
        assert kwh(run) == pytest.approx(need, rel=0.05)

    def test_no_loss_and_no_draw_never_calls_again(self) -> None:
        run = run_of(tank(draws_gal_by_hour=NO_DRAW, loss_btuh_per_f=0), load_w=4500, span_h=48)
        assert kwh(run) == 0.0

    def test_an_element_too_small_runs_without_a_break(self) -> None:
        run = run_of(tank(draws_gal_by_hour=(30.0,) * 24), load_w=1000, span_h=24)
        assert taken_w(run)[120:] == pytest.approx(1000)


def two_stage_site(*, strip: bool = True, min_off_min: float = 5) -> object:
    loads = [
        appliance(
            "pump",
            2000,
            behaviour=RoomUnit(zone_id="house", mode="heat", cop=3, min_off_min=min_off_min),
        )
    ]
    if strip:
        loads.append(
            appliance(
                "strip", 8000, behaviour=RoomUnit(zone_id="house", mode="heat", stage_drop_f=2)
            )
        )
    circuits = tuple(circuit(a.id, "main", 1 + i, appliances=(a,)) for i, a in enumerate(loads))
    zones = (Zone(id="house", name="House", loss_btuh_per_f=400, time_constant_h=10),)
    return normal_only_site(circuits=circuits, zones=zones)


def steady(f: float) -> Weather:
    return Weather(low_f=f, high_f=f)


class TestRoom:
    def test_mean_power_holds_the_set_point(self) -> None:
        """UA x (68 - 40) = 11,200 Btu/h needs 1094 W at a coefficient of 3."""
        site = two_stage_site(strip=False)
        run = simulate(site, scenario(span_h=240, weather=steady(40)))
        need = 400 * (68 - 40) / 3.412142 / 3
        assert taken_w(run)[720:].mean() == pytest.approx(need, rel=0.02)

    def test_strip_heat_stays_off_while_the_first_stage_holds(self) -> None:
        run = simulate(two_stage_site(), scenario(span_h=72, weather=steady(30)))
        assert run.circuit_w[0].max() == 2000.0
        assert run.circuit_w[1].max() == 0.0

    def test_strip_heat_comes_on_where_the_first_stage_cannot_hold(self) -> None:
        """At 0 F the house needs 27,200 less 2 F of drop; the pump gives 20,473 without a break."""
        run = simulate(two_stage_site(), scenario(span_h=72, weather=steady(0)))
        late = run.circuit_w[:, 1440:].astype(float)
        assert late[0] == pytest.approx(2000)
        short = (400 * (66 - 0) - 2000 * 3 * 3.412142) / 3.412142
        assert late[1].mean() == pytest.approx(short, rel=0.05)

    def test_a_compressor_waits_its_minimum_off_time(self) -> None:
        run = simulate(
            two_stage_site(strip=False, min_off_min=20),
            scenario(span_h=48, step_s=10, weather=steady(50)),
        )
        on = run.circuit_w[0] > 1000
        edges = np.flatnonzero(np.diff(on.astype(int)))
        offs = [b - a for a, b in pairwise(edges) if not on[a + 1]]
        assert offs
        assert min(offs) * 10 >= 20 * 60 - 20

    def test_a_compressor_waits_after_a_loss_of_power_too(self) -> None:
        day = scenario(span_h=12, step_s=10, weather=steady(-10), outage_h=(6.0, 6.01))
        run = simulate(two_stage_site(strip=False, min_off_min=5), day)
        back = int(6.01 * 360)
        watts = run.circuit_w[0].astype(float)
        assert watts[2100:2160] == pytest.approx(2000)
        lost = int(6.0 * 360)
        assert watts[lost + 1 : lost + 29].max() == 0.0  # 5 min from when it stopped
        assert watts[lost + 31 :] == pytest.approx(2000)
        assert back < lost + 29

    def test_a_dead_thermostat_drifts_and_calls_at_return(self) -> None:
        run = simulate(two_stage_site(), scenario(span_h=36, weather=steady(35), outage_h=(6, 18)))
        watts = run.circuit_w.astype(float)
        assert watts[:, 360:1080].max() == 0.0
        assert run.wanted_w[0, 700:1080] == pytest.approx(2000)
        first = watts[:, 1081:1141]
        assert first[0] == pytest.approx(2000)  # both stages at once: cold-load pickup
        assert first[1] == pytest.approx(8000)
        assert watts[1, 1800:].max() == 0.0

    def test_cooling_runs_when_it_is_hot_and_never_heats(self) -> None:
        unit = RoomUnit(zone_id="house", mode="cool", cop=3)
        hot = run_of(unit, load_w=3000, span_h=240, weather=steady(100))
        need = 400 * (100 - 76) / 3.412142 / 3
        assert taken_w(hot)[720:].mean() == pytest.approx(need, rel=0.03)
        assert hot.balance.heat_in_kwh < 0.0
        cold = run_of(unit, load_w=3000, span_h=48, weather=steady(60))
        assert kwh(cold) == 0.0

    def test_a_tight_quick_zone_still_balances_in_long_steps(self) -> None:
        unit = RoomUnit(zone_id="box", mode="heat", deadband_f=0.05)
        load = appliance("load", 5000, behaviour=unit)
        site = normal_only_site(
            circuits=(circuit("c", "main", 1, appliances=(load,)),),
            zones=(Zone(id="box", name="Box", loss_btuh_per_f=50, time_constant_h=0.2),),
        )
        run = simulate(site, scenario(span_h=24, step_s=900, weather=steady(20)))
        b = run.balance
        assert b.heat_in_kwh == pytest.approx(b.heat_stored_kwh + b.heat_lost_kwh, rel=1e-3)
        assert taken_w(run).mean() == pytest.approx(50 * 48 / 3.412142, rel=0.05)


def test_a_window_of_any_length_ends_where_it_says() -> None:
    """Cells are cut at odd seconds: 1000 W dead for 1234.5 s leaves the rest to the watt."""
    out = Window(start=START + timedelta(seconds=1000.25), end=START + timedelta(seconds=2234.75))
    run = run_of(Constant(), span_h=1, outages=(out,))
    assert kwh(run) * 3600 == pytest.approx(3600 - 1234.5, rel=1e-6)
    assert run.service[0].dead_min == pytest.approx(1234.5 / 60)
