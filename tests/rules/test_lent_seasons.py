"""Borrowed legs are those of the season that loads a leg most (220.60, 220.61)."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.optional import existing, optional
from server.rules.demand.seasons import in_either_season
from server.rules.demand.standard import standard_legs
from server.rules.editions import rulebook

RULES = rulebook("2023")
HEAT = tuple(Load(f"Baseboard {i}", "room_heat", 3000) for i in range(3))
COOL = tuple(
    Load(f"Cooler {i}", "cooling", 1400, volts=120, leg="L1", motor_va=1400) for i in range(4)
)


def house(*loads):
    return Dwelling("House", 1500, loads=loads, existing_a=200.0)


@pytest.mark.parametrize("method", [optional, existing])
def test_heat_between_the_legs_takes_nothing_off_a_leg(method):
    way = in_either_season(method)
    alone, both = way(house(*COOL), RULES), way(house(*COOL, *HEAT), RULES)
    assert both.leg_a == pytest.approx(alone.leg_a)
    assert both.leg_needed_a[0] == pytest.approx(alone.leg_needed_a[0])
    assert both.standard_a == alone.standard_a
    assert any("Where cooling alone runs" in note for note in both.notes)


def test_the_leg_of_the_optional_method_in_summer_by_hand():
    """General 9,000 VA and 5,600 of cooling: 14,600 VA, 60.8 A, by the standard legs' 70.8 to 21.2.

    With 9 kW of room heat the sum is 9,000 + 65 % of 9,000 = 14,850 VA, 61.9 A on both in winter.
    """
    summer = standard_legs(house(*COOL), RULES)
    share = summer.l1_a / ((summer.l1_a + summer.l2_a) / 2)
    sheet = in_either_season(optional)(house(*COOL, *HEAT), RULES)
    assert sheet.total_va == pytest.approx(14_850)
    assert sheet.amps == pytest.approx(14_850 / 240)
    assert sheet.leg_a == pytest.approx(14_600 / 240 * share)
    assert sheet.leg_a == pytest.approx(93.6, abs=0.05)
    assert sheet.leg_needed_a[1] == pytest.approx(14_850 / 240)


@pytest.mark.parametrize("loads", [HEAT, COOL, ()])
def test_with_one_season_alone_it_is_the_method_itself(loads):
    assert in_either_season(optional)(house(*loads), RULES) == optional(house(*loads), RULES)


def test_even_legs_are_let_be():
    """A central unit between the legs loads neither more than the heat does."""
    central = Load("Central", "cooling", 3000, motor_va=3000)
    found = in_either_season(optional)(house(central, *HEAT), RULES)
    assert found.leg_a == pytest.approx(optional(house(central, *HEAT), RULES).leg_a)
    assert not any("alone runs" in note for note in found.notes)
