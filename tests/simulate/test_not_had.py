"""Energy that circuits went without: what was wanted and not taken, not watts asked for in vain."""

from __future__ import annotations

import pytest

from server.domain.behaviour import Charger, Tank
from server.simulate.not_had import energy_not_had
from server.simulate.run import simulate
from server.simulate.summary import summarise
from tests.builders import START, appliance, backed_up_site, circuit, normal_only_site, scenario
from tests.simulate.houses import kwh, run_of

CAR = Charger(energy_kwh=10, arrive_hour=START.hour + 1, depart_hour=(START.hour + 11) % 24)


def test_a_car_that_is_full_by_its_departure_missed_nothing() -> None:
    """2 kW from 1 h in, 10 kWh wanted, 4 h of outage: done 10 h in, an hour before it leaves."""
    run = run_of(CAR, load_w=2000, span_h=14, outage_h=(2, 6))
    assert kwh(run) == pytest.approx(10)
    assert run.service[0].unserved_min == pytest.approx(240)
    assert energy_not_had(run).tolist() == [pytest.approx(0, abs=1e-6)]


def test_a_car_misses_what_was_wanted_and_not_in_at_its_departure() -> None:
    """8 h of its 10 h are dark: 4 kWh are in, whatever it asked for meanwhile."""
    run = run_of(CAR, load_w=2000, span_h=14, outage_h=(2, 10))
    assert kwh(run) == pytest.approx(4)
    assert energy_not_had(run).tolist() == [pytest.approx(6)]


def test_a_tank_misses_what_it_lost_and_not_watts_for_as_long_as_it_waits() -> None:
    tank = Tank(gallons=50, draws_gal_by_hour=(2.0,) * 24)
    run = run_of(tank, load_w=4500, span_h=24, outage_h=(2, 24))
    day = run_of(tank, load_w=4500, span_h=24)
    missed = float(energy_not_had(run)[0])
    assert missed == pytest.approx(kwh(day) - kwh(run), rel=1e-6)
    assert 0.0 < missed < 0.2 * 4.5 * run.service[0].unserved_min / 60


def test_what_never_asked_in_vain_missed_nothing_though_a_set_fed_it() -> None:
    run = simulate(backed_up_site(), scenario(outage_h=(2, 5)))
    missed = dict(zip([c.id for c in run.site.circuits], energy_not_had(run), strict=True))
    assert missed["a"] == pytest.approx(3 * 1.2)
    assert missed["b"] == pytest.approx(0.0, abs=0.01)


def test_what_a_person_keeps_off_on_a_set_counts_too() -> None:
    site = backed_up_site()
    off = tuple(
        c.model_copy(update={"outage_role": "off"}) if c.id == "b" else c for c in site.circuits
    )
    run = simulate(site.model_copy(update={"circuits": off}), scenario(outage_h=(2, 5)))
    row = [c.id for c in run.site.circuits].index("b")
    watts = sum(a.load_w for a in run.site.circuits[row].appliances)
    until_return_h = 3 + 10 / 60
    assert energy_not_had(run)[row] == pytest.approx(until_return_h * watts / 1000, rel=1e-3)


def test_a_run_without_an_outage_misses_nothing() -> None:
    lamp = appliance("lamp", 60)
    site = normal_only_site(circuits=(circuit("c", "main", 1, appliances=(lamp,)),))
    assert energy_not_had(simulate(site, scenario())).tolist() == [0.0]


def test_the_summary_tells_it() -> None:
    run = run_of(CAR, load_w=2000, span_h=14, outage_h=(2, 10))
    assert summarise(run).circuits[0].unserved_kwh == pytest.approx(6, abs=1e-3)
