"""Zones and their units as rows."""

from __future__ import annotations

import numpy as np
import pytest

from server.domain.behaviour import Rating, RoomUnit, Zone
from server.domain.scenario import Weather
from server.domain.site import Site
from server.physics.newton import BTU_PER_WH
from server.simulate.room_rows import curve_rows, room_plan, unit_row
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario

HOUSE = Zone(id="house", name="House", loss_btuh_per_f=400, gain_btuh=1000, time_constant_h=20)


def baseboards(*shares: float, watts: float = 2000) -> Site:
    circuits = tuple(
        circuit(
            f"c{i}",
            "main",
            2 * i + 1,
            appliances=(
                appliance(
                    f"heater-{i}",
                    watts,
                    behaviour=RoomUnit(zone_id="house", mode="heat", own_room_share=share),
                ),
            ),
        )
        for i, share in enumerate(shares)
    )
    return normal_only_site(circuits=circuits, zones=(HOUSE,))


def test_rooms_of_their_own_are_cut_out_of_the_zone() -> None:
    plan = room_plan(baseboards(0.3, 0.0, 0.2))
    assert plan.rows[:, 0] == pytest.approx([200, 120, 80])
    assert plan.rows[:, 1] == pytest.approx([4000, 2400, 1600])
    assert plan.rows[:, 2] == pytest.approx([200, 120, 80])
    assert plan.rows[:, 10] == pytest.approx([300, 180, 120])
    assert plan.names == ("house", "heater-0/room", "heater-2/room")
    assert plan.room_of == {"heater-0": 1, "heater-1": 0, "heater-2": 2}


def test_rooms_that_make_the_whole_leave_nothing_over() -> None:
    plan = room_plan(baseboards(0.5, 0.5))
    assert plan.rows[:, 0] == pytest.approx([200, 200])
    assert plan.room_of == {"heater-0": 0, "heater-1": 1}


def test_more_rooms_than_the_zone_has_are_refused() -> None:
    with pytest.raises(ValueError, match="make more than the whole"):
        baseboards(0.5, 0.4, 0.2)


def test_a_baseboard_s_duty_is_its_room_s_loss_over_its_watts() -> None:
    """A tenth of 400 Btu/h F across 68 - 18 = 50 F, less 100 gained: 1,900 Btu/h is 557 W."""
    run = simulate(baseboards(0.1), scenario(span_h=240, weather=Weather(low_f=18, high_f=18)))
    need = (40 * 50 - 100) / BTU_PER_WH
    assert run.circuit_w[0, 1440:].mean(dtype=float) == pytest.approx(need, rel=0.02)


def test_baseboards_run_at_their_own_times_until_an_outage_brings_them_together() -> None:
    weather = Weather(low_f=18, high_f=18)
    day = scenario(span_h=60, weather=weather, outage_h=(24, 32))
    run = simulate(baseboards(*[0.1] * 10), day)
    on = run.circuit_w > 0
    before = on[:, 12 * 60 : 24 * 60].sum(axis=0)
    after = on[:, 32 * 60 + 1 : 33 * 60].sum(axis=0)
    assert 1.5 <= before.mean() <= 4.5
    assert before.max() < 10
    assert np.all(after == 10)


def test_a_row_says_what_the_unit_says() -> None:
    unit = RoomUnit(
        zone_id="house",
        mode="cool",
        min_on_min=5,
        off_below_f=20,
        ratings=(
            Rating(outdoor_f=95, capacity_btuh=30_000, cop=3),
            Rating(outdoor_f=75, capacity_btuh=33_000, cop=4),
        ),
    )
    row = unit_row(unit)
    assert (row[0], row[5], row[7], row[8], row[9]) == (-1.0, 300.0, np.inf, 20.0, 1.0)
    assert [r[0] for r in curve_rows(unit)] == [75, 95]


def test_two_points_at_one_temperature_are_refused() -> None:
    point = Rating(outdoor_f=47, capacity_btuh=30_000, cop=3)
    with pytest.raises(ValueError, match="1 °F apart"):
        RoomUnit(zone_id="house", mode="heat", ratings=(point, point))
