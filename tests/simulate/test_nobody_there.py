"""What rests while nobody is there, and what does not."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pytest

from server.domain.behaviour import RoomUnit, Zone
from server.domain.catalogue import KINDS
from server.domain.scenario import Weather, Window
from server.domain.site import Site
from server.simulate.harms import harms
from server.simulate.must_serve import must_serve
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, normal_only_site, scenario


def _site(*kinds: str) -> Site:
    things = tuple(KINDS[kind].appliance(kind) for kind in kinds)
    room = circuit("room", "main", 1, appliances=things, load_class="must_serve")
    return normal_only_site(circuits=(room,))


def _days(**changes: Any) -> Any:
    return scenario(span_h=24 * 14, **changes)


def _kwh(site: Site, appliance_id: str, **changes: Any) -> float:
    run = simulate(site, _days(**changes))
    return float(run.flows.taken_by(appliance_id).sum()) * run.scenario.step_s / 3.6e6


@pytest.mark.parametrize("kind", ["oxygen-concentrator", "ventilator"])
def test_what_is_breathed_through_takes_nothing_with_nobody_there(kind: str) -> None:
    site = _site(kind)
    assert _kwh(site, kind) > 10.0
    assert _kwh(site, kind, people=0) == 0.0


def test_a_gas_tank_only_makes_up_what_it_loses_with_nobody_there() -> None:
    site = _site("gas-water-heater")
    home, away = (_kwh(site, "gas-water-heater", people=n) for n in (None, 0))
    # 12 of 102 min at 150 W, and 21 min a day, about one firing in 13 h; few firings, so wide.
    assert home == pytest.approx(14 * 24 * 0.150 * 12 / 102, rel=0.1)
    assert away == pytest.approx(14 * 21 / 60 * 0.150, rel=0.35)


def test_a_refrigerator_for_medicine_is_needed_with_nobody_there_too() -> None:
    site = _site("medicine-refrigerator")
    out = (Window(start=START, end=START + timedelta(hours=30)),)
    run = simulate(site, scenario(span_h=48, people=0, outages=out))
    assert run.service[0].gap_exceeded
    assert must_serve(run).dark


@pytest.mark.parametrize("kind", ["oxygen-concentrator", "ventilator"])
def test_nobody_is_harmed_where_nobody_is(kind: str) -> None:
    out = (Window(start=START, end=START + timedelta(hours=30)),)
    for people, harmed in ((None, True), (0, False)):
        run = simulate(_site(kind), scenario(span_h=48, people=people, outages=out))
        assert any(h.reached for h in harms(run) if h.kind == "medical") is harmed
        assert bool(must_serve(run).dark) is harmed


def test_a_house_with_nobody_there_cools_without_the_heat_of_people() -> None:
    """20 °F outdoors, 480 Btu/h °F, 28 h, 2,500 Btu/h: it falls toward 20 °F, or 25.2 with people.

    12 h after T it is at end + (T − end) e^(−12/28).
    """
    house = Zone(id="house", name="House", loss_btuh_per_f=480, time_constant_h=28, gain_btuh=2500)
    site = normal_only_site(zones=(house,))
    cold = Weather(low_f=20, high_f=20, sun_share=0)
    for people, end_f in ((0, 20.0), (None, 20.0 + 2500 / 480)):
        run = simulate(site, scenario(span_h=24, weather=cold, people=people))
        first, later = float(run.zone_f[0][359]), float(run.zone_f[0][359 + 720])
        by_hand = end_f + (first - end_f) * math.exp(-12 / 28)
        assert first > 45.0
        assert later == pytest.approx(by_hand, abs=0.02)


def test_an_empty_house_keeps_its_set_back_day_and_night() -> None:
    """68 °F is let fall to 60 °F, or to the zone's own set-back; 45 °F of a store stays."""
    unit = RoomUnit(zone_id="house", mode="heat")
    heater = appliance("heater", 10_000, volts=240, behaviour=unit)
    own = circuit("heat", "main", 1, 3, breaker_a=60, appliances=(heater,))
    cold = Weather(low_f=20, high_f=20)

    def mean_f(people: int | None, **zone: Any) -> float:
        house = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=10, **zone)
        site = normal_only_site(circuits=(own,), zones=(house,))
        run = simulate(site, scenario(span_h=96, weather=cold, people=people))
        return float(run.zone_f[0, -24 * 60 :].mean())

    assert mean_f(None) == pytest.approx(68.0, abs=1.0)
    assert mean_f(0) == pytest.approx(60.0, abs=1.0)
    assert mean_f(0, heat_setback_f=55.0) == pytest.approx(55.0, abs=1.0)
    assert mean_f(0, heat_setpoint_f=45.0) == pytest.approx(45.0, abs=1.0)
