"""Cold boxes in the air of their zone, of the weather, or of a room that stays as it is."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from server.domain.behaviour import ColdBox, RoomUnit, Zone
from server.domain.catalogue import KINDS
from server.domain.scenario import Weather
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.harms import harms
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario, with_parts
from tests.simulate.houses import kwh, run_of

BTU_PER_WH = 3.412142


def steady(air_f: float) -> Weather:
    return Weather(low_f=air_f, high_f=air_f)


def house(box: ColdBox, *, heater_w: float = 8_000.0, **zone: Any) -> Site:
    """A house of 400 Btu/h °F, what heats it, and a box on a circuit of its own."""
    heat = appliance("heat", heater_w, behaviour=RoomUnit(zone_id="house", mode="heat"))
    return normal_only_site(
        circuits=(
            circuit("c", "main", 1, appliances=(appliance("box", 150, behaviour=box),)),
            circuit("d", "main", 3, appliances=(heat,)),
        ),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=400, **zone),),
    )


@pytest.mark.parametrize("air_f", [50, 70, 90])
def test_box_outdoors_takes_what_its_loss_to_the_weather_needs(air_f: float) -> None:
    """4 Btu/h °F x (air - 37) over 1.4 x 3.412: 0.26, 0.66 and 1.06 kWh a day."""
    run = run_of(ColdBox(stands="outdoors"), load_w=150, span_h=240, weather=steady(air_f))
    a_day = 4 * (air_f - 37) / (1.4 * BTU_PER_WH) * 24 / 1000
    assert kwh(run) / 10 == pytest.approx(a_day, rel=0.04)


def test_doors_let_in_by_how_much_warmer_the_air_is() -> None:
    """10 openings an hour of 40 Btu at 70 °F are 10 x 40 x (90 - 37)/(70 - 37) Btu/h at 90."""
    box = ColdBox(stands="outdoors", opening_btu=40, openings_by_hour=(10.0,) * 24)
    run = run_of(box, load_w=300, span_h=240, weather=steady(90))
    heat_btuh = 4 * 53 + 10 * 40 * 53 / 33
    assert kwh(run) / 240 == pytest.approx(heat_btuh / (1.4 * BTU_PER_WH * 1000), rel=0.03)


def test_box_colder_outdoors_than_kept_rests() -> None:
    run = run_of(ColdBox(stands="outdoors"), load_w=150, span_h=48, weather=steady(20))
    assert run.circuit_w[0, -60 * 24 :].max() == 0.0
    assert 20.0 < run.level[0, -1] < 37.0


def test_box_in_a_house_that_cools_follows_both_exponentials() -> None:
    """House: A + B e^(-t/h), h 10 h. Box: T' = (house - T)/b, b 42 h, so that

    T = A + B h/(h - b) e^(-t/h) + D e^(-t/b), D from where it begins.
    """
    site = house(ColdBox(), time_constant_h=10)
    run = simulate(site, scenario(span_h=24, outage_h=(0, 24), weather=steady(0)))
    first, hours = 60, np.arange(24 * 60 - 61) / 60.0 + 1 / 60.0
    begin, room = float(run.level[0, first]), float(run.zone_f[0, first])
    ends = 0.0 + room * 10 / (10 - 42) * np.exp(-hours / 10)
    ends += (begin - room * 10 / (10 - 42)) * np.exp(-hours / 42)
    assert run.level[0, first + 1 :].astype(float) == pytest.approx(ends, abs=0.02)
    assert run.zone_f[0, -1] < 10.0


def test_house_at_the_temperature_its_figures_are_for_changes_nothing_much() -> None:
    zone = {"heat_setpoint_f": 70.0}
    day = scenario(span_h=240, weather=steady(30))
    used = [
        float(simulate(house(ColdBox(stands=stands), **zone), day).circuit_w[0].sum())
        for stands in ("zone", "own")
    ]
    assert used[0] == pytest.approx(used[1], rel=0.01)


def test_without_a_served_zone_its_room_stays_as_it_is() -> None:
    """No zone, or one that nothing heats: the same to the bit as a room of its own."""
    bare = [
        run_of(ColdBox(stands=stands), load_w=150, weather=steady(5)) for stands in ("zone", "own")
    ]
    assert np.array_equal(bare[0].level, bare[1].level)
    named = run_of(ColdBox(zone_id="house"), load_w=150, weather=steady(5))
    assert not np.array_equal(bare[0].level, named.level)


def test_manager_that_holds_nothing_off_leaves_the_box_as_it_was() -> None:
    """Under a manager the house and its box are taken minute by minute together."""
    site = house(ColdBox(), time_constant_h=10)
    managed = with_parts(
        site,
        energy_groups=(EnergyGroup(id="hold", name="Hold", setting_a=200),),
        circuits=(
            site.circuits[0],
            site.circuits[1].model_copy(update={"energy_group_id": "hold"}),
        ),
    )
    day = scenario(span_h=12, outage_h=(2, 6), weather=steady(10))
    free, held = simulate(site, day), simulate(managed, day)
    assert held.level[0, :360] == pytest.approx(free.level[0, :360], abs=0.001)
    assert held.zone_f[0, :360] == pytest.approx(free.zone_f[0, :360], abs=0.001)


def test_doors_turn_the_compressor_at_the_same_second_at_any_step() -> None:
    """A door opened within a minute of a turn must not be smeared over the minute."""
    doors = ColdBox(
        time_constant_h=12, loss_btuh_per_f=60, opening_btu=500, openings_by_hour=(6.0,) * 24
    )
    site = house(doors, time_constant_h=10)
    day = scenario(span_h=48, weather=Weather(low_f=30, high_f=50))
    whole = simulate(site, day)
    half = simulate(site, day.model_copy(update={"step_s": 30}))
    minutes = half.circuit_w[0].reshape(-1, 2).mean(axis=1)
    assert minutes == pytest.approx(whole.circuit_w[0], abs=1.0)
    assert half.level[0, 1::2] == pytest.approx(whole.level[0], abs=0.01)


def test_zone_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValidationError, match="stands in zone"):
        house(ColdBox(zone_id="barn"))


class TestHarm:
    def food(self, box: ColdBox, air_f: float) -> Any:
        run = run_of(box, load_w=150, outage_h=(1, 23), weather=steady(air_f))
        (found,) = [h for h in harms(run) if h.kind == "food"]
        return found

    def test_shed_in_the_cold_keeps_food_all_night(self) -> None:
        harm = self.food(ColdBox(stands="outdoors"), 30)
        assert not harm.reached
        assert harm.nearest.startswith("warmest")

    def test_shed_in_the_heat_keeps_it_less_than_four_hours(self) -> None:
        """At the latest 42 ln((95 - 37)/(95 - 40)) = 2.2 h."""
        harm = self.food(ColdBox(stands="outdoors"), 95)
        assert harm.hours <= 42 * math.log(58 / 55) + 1e-6

    def test_what_spoils_at_another_limit_is_not_called_food(self) -> None:
        """36 to 45 °F in 12 ln(34/25) = 3.7 h at the latest."""
        cooler = ColdBox(kept_f=36, time_constant_h=12, too_warm_f=45, loss_btuh_per_f=40)
        harm = self.food(cooler, 70)
        assert harm.what == "load: above 45 °F"
        assert harm.hours <= 12 * math.log(34 / 25) + 1e-6

    def test_a_rule_of_hours_is_told_as_that_where_the_run_stays_colder(self) -> None:
        """In a house of 50 °F it warms to 45 °F in 12 ln(14/5) = 12 h; in the 70 °F of the rule
        in 12 ln(34/25) = 3.7 h."""
        cooler = ColdBox(kept_f=36, time_constant_h=12, too_warm_f=45, loss_btuh_per_f=40)
        site = house(cooler, time_constant_h=1)
        run = simulate(site, scenario(span_h=9, outage_h=(1, 9), weather=steady(20)))
        (harm,) = [h for h in harms(run) if h.kind == "food" and "freezes" not in h.what]
        assert harm.hours == pytest.approx(12 * math.log(34 / 25), abs=0.02)
        assert "past its hours without power" in harm.what
        assert "by the rule for a shut box, 4 h without power in a room of 70 °F. This" in harm.why
        assert "°F at the warmest; to go by that takes a thermometer" in harm.why

    def test_a_freezer_past_its_hours_is_unsafe_only_if_no_ice_is_left(self) -> None:
        """In a house of 20 °F outdoors a full one stays under 20 °F past the 48 h of the rule."""
        full = ColdBox(kept_f=0, time_constant_h=57)
        site = house(full, time_constant_h=1)
        run = simulate(site, scenario(span_h=60, outage_h=(1, 60), weather=steady(20)))
        (harm,) = [h for h in harms(run) if h.kind == "food"]
        assert harm.hours == pytest.approx(57 * math.log(70 / 30), abs=0.3)
        assert harm.what.endswith("food unsafe, if no ice is left in it")
        assert harm.why.endswith("or ice left in what it holds")
        assert not [one for one in run.verdict.harms if one.kind == "food" and one.fails]

    def test_a_freezer_goes_by_its_temperature_where_it_passes_40(self) -> None:
        """Beside 90 °F it warms to 40 °F in 57 ln(90/50) = 33.5 h, before the 48 h of the rule."""
        full = ColdBox(kept_f=0, time_constant_h=57)
        site = house(full, time_constant_h=1)
        run = simulate(site, scenario(span_h=60, outage_h=(1, 60), weather=steady(90)))
        (harm,) = [h for h in harms(run) if h.kind == "food"]
        assert harm.hours == pytest.approx(57 * math.log(90 / 50), rel=0.05)
        assert harm.what.endswith("food unsafe")
        assert not harm.given


def test_walk_in_cooler_is_a_cold_box() -> None:
    """About 40 Btu/h °F x (70 - 36) of 2 x 2,000 x 3.412 Btu/h: a tenth of the time, doors shut."""
    kind = KINDS["walk-in-cooler"]
    assert isinstance(kind.behaviour, ColdBox)
    assert kind.behaviour.duty(kind.load_w) == pytest.approx(40 * 34 / 13_648.6, rel=1e-3)
    assert timedelta(hours=kind.behaviour.time_constant_h) == timedelta(hours=12)
