"""The neutral of what a person selects to run on a set."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.selected import selected
from server.rules.editions import rulebook

RULES = rulebook("2023")


@pytest.mark.parametrize(
    ("load", "neutral_a"),
    [
        (Load("Range", "cooking", 8_800), 25.67),  # 8,800 x 0.7 / 240
        (Load("Dryer", "dryer", 4_300), 12.54),  # 4,300 x 0.7 / 240
        (Load("Water heater", "individual", 4_500), 0.0),
        (Load("Gas dryer", "dryer", 600, volts=120, leg="L1"), 5.0),
    ],
)
def test_a_range_and_a_dryer_lie_on_the_neutral_in_part(load, neutral_a):
    """220.61(B)(1): 70 % of the load on the hot wires."""
    sheet = selected(Dwelling("Set", 0), (load,), RULES)
    assert sheet.legs.neutral_a == pytest.approx(neutral_a, abs=0.01)
    assert sheet.total_va == load.va


def test_the_part_of_120_v_lies_on_its_leg_and_the_neutral_and_the_rest_between_the_legs():
    """Two of 4,800 VA with 600 VA each to neutral: 1,200 / 120 = 10 A, 8,400 / 240 = 35 A."""
    load = Load("Spa", "individual", 4_800, quantity=2, neutral_va=600, leg="L2")
    legs = selected(Dwelling("Set", 0), (load,), RULES).legs
    assert (legs.l1_a, legs.l2_a, legs.neutral_a) == pytest.approx((35.0, 45.0, 10.0))


def test_a_floor_area_is_not_asked_of_what_a_person_selects():
    pump = Load("Pump", "individual", 0, known=False)
    sheet = selected(Dwelling("Set", None, 0, 0, (pump,)), (pump,), RULES)
    assert len(sheet.missing) == 1
    assert "Pump" in sheet.missing[0]
