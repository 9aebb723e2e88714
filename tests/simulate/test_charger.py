"""A car's charge from how full it comes and is wanted, its amps setting, and a late start.

Outside figures: SAE J1772 power as DOE tells it (240 V at 16, 32, 48 and 80 A: 3.84, 7.68, 11.52
and 19.2 kW); efficiencies of 0.9 at 240 V and 0.8 at 120 V are common practice, no source.
"""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest

from server.domain.behaviour import Charger, Week
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    generator,
    normal_only_site,
    scenario,
    service,
    with_parts,
)
from tests.simulate.houses import kwh, taken_w

CAR = Charger(
    energy_kwh=0, battery_kwh=60, arrive_pct=35, target_pct=80, arrive_hour=13, depart_hour=23
)


def charged(car: Charger, load_w: float = 7680, *, span_h: float = 12, step_s: int = 60) -> Run:
    """A run of a house whose one load is this car's charger, at 240 V."""
    load = appliance("load", load_w, volts=240, behaviour=car)
    own = circuit("c", "main", 1, 3, breaker_a=100, appliances=(load,))
    return simulate(normal_only_site(circuits=(own,)), scenario(span_h=span_h, step_s=step_s))


@pytest.mark.parametrize(("amps", "kw"), [(16, 3.84), (32, 7.68), (48, 11.52), (80, 19.2)])
def test_amps_setting_gives_the_published_kilowatts(amps: float, kw: float) -> None:
    car = CAR.model_copy(update={"setting_a": amps})
    run = charged(car, 19_200)
    assert taken_w(run).max() == pytest.approx(1000 * kw)


@pytest.mark.parametrize(("amps", "watts"), [(48, 9976.6), (24, 4988.3), (None, 9976.6)])
def test_amps_are_held_on_a_wye_service(amps: float | None, watts: float) -> None:
    """11,520 W at 240 V are 48 A: times 120 x sqrt 3 = 207.85 V, 9,977 W; 24 A give 4,988 W."""
    car = CAR.model_copy(update={"setting_a": amps})
    load = appliance("load", 11_520, volts=240, behaviour=car)
    own = circuit("c", "main", 1, 3, breaker_a=100, appliances=(load,))
    site = normal_only_site(circuits=(own,), services=(service(system="120/208"),))
    run = simulate(site, scenario(span_h=18))
    assert taken_w(run).max() == pytest.approx(watts, rel=1e-4)
    assert run.amps.max() == pytest.approx(amps or 48, rel=1e-4)
    assert kwh(run) == pytest.approx(30, rel=1e-4)
    assert np.count_nonzero(taken_w(run) > 100) == pytest.approx(60 * 30_000 / watts, abs=1.5)


def test_a_car_on_a_wye_that_waits_is_still_done_when_it_leaves() -> None:
    car = CAR.model_copy(update={"waits": True})
    load = appliance("load", 7680, volts=240, behaviour=car)
    own = circuit("c", "main", 1, 3, breaker_a=100, appliances=(load,))
    site = normal_only_site(circuits=(own,), services=(service(system="120/208"),))
    assert kwh(simulate(site, scenario(span_h=12))) == pytest.approx(30, rel=1e-3)


@pytest.mark.parametrize(("system", "watts"), [("120/240", 7680.0), ("120/208", 6651.1)])
def test_a_set_of_another_system_gives_the_same_amps(system: str, watts: float) -> None:
    """32 A at 240 V on the utility; at 207.85 V on a wye set, 6,651 W."""
    load = appliance("load", 7680, volts=240, behaviour=Charger(energy_kwh=300, arrive_hour=13))
    own = circuit("c", "backed", 1, 3, breaker_a=100, appliances=(load,))
    site = with_parts(backed_up_site(), circuits=(own,), generators=(generator(system=system),))
    run = simulate(site, scenario(outage_h=(2, 4), span_h=6))
    assert taken_w(run)[150:180].mean() == pytest.approx(watts, rel=1e-4)
    assert taken_w(run)[300:330].mean() == pytest.approx(7680, rel=1e-4)


def test_setting_above_its_watts_changes_nothing() -> None:
    car = CAR.model_copy(update={"setting_a": 48})
    assert taken_w(charged(car)).max() == pytest.approx(7680)


def test_charge_wanted_is_taken_with_what_is_lost_on_the_way() -> None:
    """45 % of 60 kWh is 27 in the battery, 30 from the wall: 7 h 49 min at 16 A."""
    car = CAR.model_copy(update={"setting_a": 16})
    run = charged(car, span_h=18)
    assert kwh(run) == pytest.approx(30, rel=1e-4)
    on = np.flatnonzero(taken_w(run) > 100)
    assert len(on) == pytest.approx(7 * 60 + 49, abs=1)


@pytest.mark.parametrize(("arrive", "target"), [(80, 80), (95, 80)])
def test_car_as_full_as_wanted_takes_nothing(arrive: float, target: float) -> None:
    car = CAR.model_copy(update={"arrive_pct": arrive, "target_pct": target})
    assert kwh(charged(car)) == 0.0


@pytest.mark.parametrize("step_s", [30, 60, 300])
def test_car_that_waits_is_done_just_when_it_leaves(step_s: int) -> None:
    """30 kWh at 7.68 kW take 3 h 54 min before 23:00; the run begins at noon."""
    car = CAR.model_copy(update={"waits": True})
    run = charged(car, span_h=14, step_s=step_s)
    assert kwh(run) == pytest.approx(30, rel=1e-3)
    on_h = np.flatnonzero(taken_w(run) > 100) * step_s / 3600
    start = run.scenario.start.hour
    assert on_h[0] + start == pytest.approx(23 - 30 / 7.68, abs=step_s / 3600 + 1e-6)
    assert on_h[-1] + step_s / 3600 + start == pytest.approx(23, abs=step_s / 3600)


def test_car_that_waits_and_has_no_time_begins_at_once() -> None:
    car = CAR.model_copy(update={"waits": True, "setting_a": 10, "depart_hour": 17})
    run = charged(car)
    assert kwh(run) == pytest.approx(4 * 2.4, rel=1e-3)


class TestWeek:
    """A week from Thursday 1 January 2026: 10 kWh a return, at 1 kW from 18:00, gone at 07:00."""

    def energy_by_day(self, **leaves: bool) -> list[float]:
        car = Charger(energy_kwh=10, leaves=Week(**leaves))
        load = appliance("load", 1000, volts=240, behaviour=car)
        own = circuit("c", "main", 1, 3, breaker_a=100, appliances=(load,))
        week = scenario(span_h=168, start=datetime(2026, 1, 1))
        run = simulate(normal_only_site(circuits=(own,)), week)
        return [float(day.sum()) / 60_000 for day in taken_w(run).reshape(7, 1440)]

    def test_every_day_where_nothing_is_said(self) -> None:
        assert self.energy_by_day() == pytest.approx([10] * 7)

    def test_weekdays_only_leave_the_weekend_without_a_charge(self) -> None:
        """Friday's return is charged till Saturday 04:00; Saturday's and Sunday's never come."""
        assert self.energy_by_day(sat=False, sun=False) == pytest.approx([10, 10, 4, 0, 6, 10, 10])

    def test_car_that_stays_home_may_take_longer_than_a_night(self) -> None:
        """20 kWh wanted each return: 13 kWh in a night, all of it over a weekend at home."""
        car = Charger(energy_kwh=20, leaves=Week(sat=False, sun=False))
        load = appliance("load", 1000, volts=240, behaviour=car)
        own = circuit("c", "main", 1, 3, breaker_a=100, appliances=(load,))
        friday = scenario(span_h=48, start=datetime(2026, 1, 2, 12))
        assert kwh(simulate(normal_only_site(circuits=(own,)), friday)) == pytest.approx(20)

    def test_car_that_never_leaves_wants_nothing(self) -> None:
        never = dict.fromkeys(("mon", "tue", "wed", "thu", "fri", "sat", "sun"), False)
        assert sum(self.energy_by_day(**never)) == 0.0
