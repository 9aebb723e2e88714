"""Behaviours packed into flat arrays."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from server.domain.behaviour import Charger, Constant, Cycle, Tank
from server.domain.scenario import ApplianceEvent
from server.physics.random import stream_of
from server.simulate.loads import Model, midnight_s, pack, watched
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, double_throw_site, normal_only_site, scenario
from tests.simulate.houses import one_load_site


def test_appliances_come_in_circuit_order_and_arrays_last() -> None:
    site = double_throw_site(solar=True)
    packed = pack(site, scenario(), supplied=1)
    assert packed.model.tolist() == [Model.CONSTANT] * 6 + [Model.SUPPLIED]
    assert packed.load_w.tolist() == [1200, 600, 1800, 2400, 900, 4500, 0]


def test_streams_are_named_by_appliance_wherever_it_hangs() -> None:
    loads = [appliance(n, 100, behaviour=Cycle(on_min=1, off_min=1)) for n in ("x", "y")]
    one = normal_only_site(circuits=(circuit("a", "main", 1, appliances=tuple(loads)),))
    two = normal_only_site(circuits=(circuit("b", "main", 3, appliances=tuple(loads[::-1])),))
    assert pack(one, scenario(), supplied=0).stream.tolist() == [stream_of("x"), stream_of("y")]
    assert pack(two, scenario(), supplied=0).stream.tolist() == [stream_of("y"), stream_of("x")]


def test_zone_streams_are_named_by_zone() -> None:
    packed = pack(one_load_site(Constant()), scenario(), supplied=0)
    assert packed.zone_stream.tolist() == [stream_of("house")]


def test_an_empty_site_packs_to_nothing() -> None:
    packed = pack(normal_only_site(circuits=()), scenario(), supplied=0)
    assert packed.model.shape == (0,)
    assert packed.stages.shape == (0, 4)
    assert packed.stage_ptr.tolist() == [0]


def test_draws_scale_with_the_people_of_the_scenario() -> None:
    site = one_load_site(Tank(gallons=50, draws_gal_by_hour=(2.0,) * 24))
    assert np.all(pack(site, scenario(), supplied=0).by_hour == 2.0)
    assert np.all(pack(site, scenario(people=10), supplied=0).by_hour == 5.0)
    assert np.all(pack(site, scenario(people=0), supplied=0).by_hour == 0.0)


def sessions(charger: Charger, **day: object) -> list[tuple[float, float, float]]:
    packed = pack(one_load_site(charger), scenario(**day), supplied=0)
    return [(a / 3600, wh / 1000, b / 3600) for a, wh, b in packed.starts]


def test_daily_sessions_reach_back_to_the_evening_before() -> None:
    charger = Charger(energy_kwh=9, arrive_hour=18, depart_hour=7)
    found = sessions(charger, start=datetime(2026, 11, 26, 0), span_h=48)
    assert [row[0] for row in found] == [-6, 18, 42]
    assert [row[2] for row in found] == [7, 31, 55]


def test_a_session_over_before_the_start_is_left_out() -> None:
    charger = Charger(energy_kwh=9, arrive_hour=18, depart_hour=7)
    assert [row[0] for row in sessions(charger, span_h=24)] == [6]


def test_events_replace_the_daily_arrival() -> None:
    charger = Charger(energy_kwh=9, arrive_hour=18, depart_hour=20)
    events = tuple(
        ApplianceEvent(appliance_id="load", at=START + timedelta(hours=h), energy_kwh=kwh)
        for h, kwh in ((5, 4), (2, None))
    )
    assert sessions(charger, events=events, span_h=12) == [(2, 9, 5), (5, 4, 8)]


def test_a_car_that_never_leaves_has_one_session_a_day() -> None:
    charger = Charger(energy_kwh=9, arrive_hour=18, depart_hour=18)
    found = sessions(charger, start=datetime(2026, 11, 26, 0), span_h=24)
    assert [(a, b) for a, _, b in found] == [(-6, 18), (18, 42)]


def test_midnight_is_before_the_start() -> None:
    assert midnight_s(datetime(2026, 1, 1, 3, 4, 5)) == -(3 * 3600 + 4 * 60 + 5)
    assert midnight_s(datetime(2026, 1, 1)) == pytest.approx(0)


def test_what_is_watched_is_numbered_in_the_order_of_its_names() -> None:
    base = one_load_site(Tank(gallons=50, draws_gal_by_hour=(2.0,) * 24))
    packed = pack(base, scenario(), supplied=2)
    assert packed.watch_of.tolist() == [0, -1, -1]
    assert [w.appliance_id for w in watched(base)] == ["load"]
    run = simulate(base, scenario())
    assert run.level.shape == (1, run.steps)
    assert 115 <= run.level.min() <= run.level.max() <= 125
    assert run.zone_f.shape == (1, run.steps)
