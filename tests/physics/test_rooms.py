"""Rooms and their units against sums that can be made by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from server.physics.newton import BTU_PER_WH
from server.physics.rooms import performance, rooms, set_points

UNIT = {
    "sign": 1.0,
    "cop": 1.0,
    "band": 1.5,
    "stage": 0.0,
    "min_off_s": 0.0,
    "min_on_s": 0.0,
    "least": 1.0,
    "above": np.inf,
    "below": -np.inf,
    "on_set": 1.0,
    "defrost_every_s": 0.0,
    "defrost_s": 360.0,
    "tempers": 0.0,
    "ducted": 0.0,
}
ROOM = {
    "loss": 400.0,
    "store": 400.0 * 20,
    "gain": 0.0,
    "heat": 68.0,
    "cool": 76.0,
    "sun": 0.0,
    "heat_back": 68.0,
    "cool_back": 76.0,
    "from": 22.0,
    "to": 6.0,
    "things": 0.0,
}
PLANNING_CURVE = [(5.0, 16_500.0, 2.0), (17.0, 21_600.0, 2.5), (47.0, 36_000.0, 3.5)]
"""A 3 ton heat pump on the planning coefficients 3.5, 2.5 and 2.0 at 47, 17 and 5 F (memory)."""


class House:
    """One room with any number of units; each unit is (watts, changes of ``UNIT``, curve)."""

    def __init__(self, *units: tuple[float, dict[str, float], list[Any]], **room: float) -> None:
        self.room = np.array(list((ROOM | room).values()))
        self.watts = np.array([u[0] for u in units])
        self.params = np.array([list((UNIT | u[1]).values()) for u in units]).reshape(-1, 14)
        points = [p for u in units for p in u[2]]
        self.curve = np.array(points, dtype=float).reshape(-1, 3)
        self.ptr = np.cumsum([0, *(len(u[2]) for u in units)])
        self.state = np.zeros((len(units), 8))
        self.ledger, self.starts = np.zeros(3), np.zeros(len(units))
        self.temp, self.at_s = float(self.room[3]), 0.0

    def go(self, hours: float, outdoor_f: float, *, step_s: float = 60.0, **now: Any) -> np.ndarray:
        """Watts taken by each unit in each step: (steps, units)."""
        count = len(self.watts)
        on = np.array(now.get("available", [1.0] * count), dtype=float)
        on_set = np.array(now.get("on_set", [False] * count))
        self.asked, made = [], []
        for _ in range(round(hours * 3600 / step_s)):
            asked, took = np.zeros(count), np.zeros(count)
            self.temp = rooms(
                self.temp,
                self.room,
                np.arange(count),
                count,
                self.state,
                self.params,
                self.ptr,
                self.curve,
                self.watts,
                on,
                on_set,
                outdoor_f,
                now.get("sun", 0.0),
                now.get("powered", 1.0),
                self.at_s,
                step_s,
                0.0,
                np.zeros((count, 2)),
                asked,
                took,
                self.starts,
                self.ledger,
            )
            self.at_s += step_s
            self.asked.append(asked)
            made.append(took)
        return np.array(made)

    @property
    def balance(self) -> float:
        """Heat in less stored less lost, as a share of what moved."""
        heat, lost, stored = self.ledger
        return float(abs(heat - lost - stored) / (abs(heat) + abs(lost) + abs(stored)))


def heat_pump(watts: float = 3300.0, **changes: float) -> tuple[float, dict[str, float], list[Any]]:
    return watts, changes, PLANNING_CURVE


class TestPerformance:
    @pytest.mark.parametrize(("outdoor", "capacity", "cop"), PLANNING_CURVE)
    def test_the_points_of_the_sheet_come_back(
        self, outdoor: float, capacity: float, cop: float
    ) -> None:
        curve = np.array(PLANNING_CURVE)
        assert performance(outdoor, curve, 0, 3) == pytest.approx((capacity, cop))

    def test_lines_between_and_beyond(self) -> None:
        curve = np.array(PLANNING_CURVE)
        assert performance(32.0, curve, 0, 3) == pytest.approx((28_800, 3.0))
        assert performance(11.0, curve, 0, 3) == pytest.approx((19_050, 2.25))
        assert performance(59.5, curve, 0, 3) == pytest.approx((42_000, 3.5 + 1 / 2.4))
        assert performance(-100.0, curve, 0, 3) == (0.0, 1.0)

    def test_one_point_holds_everywhere(self) -> None:
        assert performance(-20.0, np.array([[47.0, 9000.0, 3.0]]), 0, 1) == (9000.0, 3.0)


class TestHeatPump:
    @pytest.mark.parametrize(
        ("outdoor", "kw"), [(47.0, 3.014), (17.0, 2.532), (5.0, 2.418), (32.0, 2.813)]
    )
    def test_watts_are_capacity_over_coefficient(self, outdoor: float, kw: float) -> None:
        """36,000 / 3.5 / 3412 = 3.01 kW, 21,600 / 2.5 = 2.53, 16,500 / 2.0 = 2.42."""
        house = House(heat_pump())
        house.temp = 40.0
        assert house.go(0.5, outdoor)[:, 0] / 1000 == pytest.approx(kw, rel=1e-3)

    def test_energy_over_a_cold_day_is_load_over_coefficient(self) -> None:
        house = House(heat_pump())
        house.go(24, 32.0)
        used = house.go(240, 32.0)[:, 0].mean()
        assert used == pytest.approx(400 * (68 - 32) / BTU_PER_WH / 3.0, rel=0.02)

    def test_below_the_balance_point_it_runs_without_a_break_and_strips_help(self) -> None:
        """At 0 F: loss 400 x 67 = 26,800; the pump gives 14,375 (line beyond 5 F)."""
        strip = (9600.0, {"stage": 1.5, "band": 1.0}, [])
        house = House(heat_pump(), strip)
        house.go(24, 0.0)
        watts = house.go(48, 0.0)
        assert np.all(watts[:, 0] > 2000)
        held = 400 * (house.temp - 0.0) - 14_375
        assert watts[:, 1].mean() * BTU_PER_WH == pytest.approx(held, rel=0.03)

    def test_strips_locked_out_above_a_temperature_or_on_a_generator_stay_off(self) -> None:
        cold = {"available": [0.0, 0.0]}
        for changes, now in (({"above": 30.0}, {}), ({"on_set": 0.0}, {"on_set": [True, True]})):
            house = House(heat_pump(), (9600.0, {"stage": 1.5} | changes, []))
            house.go(6, 35.0, **cold)
            watts = house.go(2, 35.0, **now)
            assert watts[:, 0].max() > 0
            assert watts[:, 1].max() == 0.0

    def test_a_pump_stops_below_its_lockout(self) -> None:
        house = House(heat_pump(below=-5.0))
        assert house.go(3, -10.0)[:, 0].max() == 0.0
        assert np.array(house.asked).max() == 0.0

    def test_frost_takes_a_tenth_of_the_heat_and_pulses_the_strips(self) -> None:
        """6 of every 66 min give no heat: x 0.909, about the tenth that is common."""
        frosty = heat_pump(defrost_every_s=3600.0)
        house = House(frosty, (5000.0, {"stage": 35.0, "tempers": 1.0}, []))
        house.temp = 40.0
        watts = house.go(6.6, 30.0)
        pulses = watts[:, 1] > 0
        assert pulses.sum() == pytest.approx(6 * 6, abs=1)
        assert np.flatnonzero(np.diff(pulses.astype(int)) == 1).size == 6
        capacity, cop = performance(30.0, np.array(PLANNING_CURVE), 0, 3)
        heat_wh = house.ledger[0] - 5000 * 36 / 60
        assert heat_wh == pytest.approx(capacity * 6.0 / BTU_PER_WH, rel=0.01)
        assert watts[:, 0] == pytest.approx(capacity / cop / BTU_PER_WH)
        dry = House(frosty, (5000.0, {"stage": 35.0, "tempers": 1.0}, []))
        dry.temp = 50.0
        assert dry.go(6.6, 10.0)[:, 1].max() == 0.0

    def test_variable_speed_follows_the_loss_without_cycling(self) -> None:
        house = House(heat_pump(least=0.25))
        house.go(24, 32.0)
        watts = house.go(24, 32.0)[:, 0]
        need = 400 * 36 / BTU_PER_WH / 3.0
        assert watts == pytest.approx(need, rel=0.02)
        assert house.temp == pytest.approx(68.0, abs=0.05)

    def test_variable_speed_cycles_where_the_loss_is_below_its_least(self) -> None:
        house = House(heat_pump(least=0.25))
        house.go(24, 60.0)
        watts = house.go(48, 60.0)[:, 0]
        assert watts.min() == 0.0
        capacity, cop = performance(60.0, np.array(PLANNING_CURVE), 0, 3)
        least = 0.25 * capacity / cop / BTU_PER_WH
        assert np.median(watts[watts > 0]) == pytest.approx(least, rel=0.01)

    def test_after_a_long_loss_it_runs_at_full_speed(self) -> None:
        house = House(heat_pump(least=0.25))
        house.go(6, 30.0, available=[0.0])
        capacity, cop = performance(30.0, np.array(PLANNING_CURVE), 0, 3)
        assert house.go(0.5, 30.0)[:, 0] == pytest.approx(capacity / cop / BTU_PER_WH)


class TestTimes:
    def test_a_compressor_stays_on_its_least_time(self) -> None:
        house = House((5000.0, {"cop": 3.0, "min_on_s": 900.0, "min_off_s": 900.0}, []))
        on = house.go(24, 60.0, step_s=10)[:, 0] > 2500
        edges = np.flatnonzero(np.diff(on.astype(int)))
        lengths = np.diff(edges) * 10
        assert len(lengths) > 10
        assert lengths.min() >= 900 - 20

    def test_the_least_times_end_to_the_second_within_one_long_step(self) -> None:
        """At 60 F, 5 kW reach the stop before 900 s; in 900 s more it is colder than the start."""
        unit = {"cop": 3.0, "min_on_s": 900.0, "min_off_s": 900.0, "band": 0.2}
        house = House((5000.0, unit, []), loss=4000.0, store=8000.0)
        house.temp = 67.8
        assert house.go(0.5, 60.0, step_s=1800)[0, 0] == pytest.approx(2500, rel=1e-7)
        assert house.starts[0] == 1

    def test_starts_are_counted(self) -> None:
        house = House((5000.0, {"cop": 3.0}, []))
        on = house.go(48, 40.0)[:, 0] > 0
        assert house.starts[0] >= 20
        assert house.starts[0] == pytest.approx(np.sum(np.diff(on.astype(int)) == 1), abs=2)


class TestCooling:
    def test_the_sheet_at_95_and_warmer(self) -> None:
        """3 ton, coefficient 3.2 at 95; at 115 F power +22 %, capacity -12 %."""
        curve = [(95.0, 36_000.0, 3.2), (115.0, 31_680.0, 3.2 * 0.88 / 1.22)]
        at_95 = 36_000 / 3.2 / BTU_PER_WH
        for outdoor, watts in ((95.0, at_95), (115.0, at_95 * 1.22)):
            house = House((3500.0, {"sign": -1.0}, curve))
            house.temp = 90.0
            assert house.go(0.2, outdoor)[:, 0] == pytest.approx(watts)

    def test_it_takes_heat_out(self) -> None:
        house = House((3500.0, {"sign": -1.0, "cop": 3.0}, []))
        house.temp = 76.0
        house.go(24, 100.0)
        mean = house.go(120, 100.0)[:, 0].mean()
        assert mean == pytest.approx(400 * (100 - 76) / 3 / BTU_PER_WH, rel=0.02)
        assert house.balance < 1e-6


class TestFan:
    def units(self) -> tuple[Any, ...]:
        return (
            (3000.0, {"cop": 3.0, "ducted": 1.0}, []),
            (400.0, {"sign": 0.0}, []),
        )

    def test_it_runs_with_its_unit(self) -> None:
        house = House(*self.units())
        watts = house.go(12, 30.0)
        assert watts[:, 1] * 7.5 == pytest.approx(watts[:, 0])
        assert watts[:, 1].max() == 400.0

    def test_a_dead_fan_stops_what_blows_through_it_and_asks(self) -> None:
        house = House(*self.units())
        watts = house.go(12, 30.0, available=[1.0, 0.0])
        assert watts.max() == 0.0
        assert house.asked[-1][1] == 400.0


class TestRoom:
    def test_sun_and_people_heat_it(self) -> None:
        """60 ft2 x 500 W/m2 x 0.317 = 9,510 Btu/h lifts 400 Btu/h F by 23.8 F in the long run."""
        house = House(sun=60.0, gain=1000.0)
        house.go(400, 40.0, sun=500.0)
        assert house.temp == pytest.approx(40 + (9510 + 1000) / 400, rel=1e-4)

    def test_things_heat_it_by_the_share_that_has_power(self) -> None:
        house = House(gain=1000.0, things=1500.0)
        house.go(400, 40.0, powered=0.2)
        assert house.temp == pytest.approx(40 + (1000 + 300) / 400, rel=1e-4)

    def test_a_dead_house_cools_by_newton(self) -> None:
        house = House(heat_pump())
        house.go(20, 20.0, available=[0.0])
        assert house.temp == pytest.approx(20 + 48 * np.exp(-1), abs=1e-6)
        assert np.array(house.asked)[-1, 0] > 0

    def test_set_points_go_back_at_night(self) -> None:
        room = np.array(list((ROOM | {"heat_back": 60.0, "cool_back": 82.0}).values()))
        assert set_points(room, 21.9) == (68.0, 76.0)
        assert set_points(room, 23.0) == (60.0, 82.0)
        assert set_points(room, 5.9) == (60.0, 82.0)
        assert set_points(room, 6.0) == (68.0, 76.0)

    @pytest.mark.parametrize("step_s", [10.0, 60.0, 300.0, 900.0])
    def test_heat_balances_and_energy_holds_at_any_step(self, step_s: float) -> None:
        strip = (9600.0, {"stage": 2.0, "tempers": 1.0}, [])
        house = House(heat_pump(defrost_every_s=3600.0, min_off_s=300.0, least=0.4), strip)
        used = house.go(96, 22.0, step_s=step_s).sum() * step_s / 3.6e6
        assert house.balance < 1e-6
        need = 400 * 46 * 96 / BTU_PER_WH / 1000
        assert house.ledger[0] / 1000 == pytest.approx(need, rel=0.01)
        reference = House(heat_pump(defrost_every_s=3600.0, min_off_s=300.0, least=0.4), strip)
        assert used == pytest.approx(reference.go(96, 22.0, step_s=30).sum() * 30 / 3.6e6, rel=0.01)
