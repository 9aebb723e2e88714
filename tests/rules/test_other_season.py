"""The smaller of heating and cooling is in no sum (220.60), and on the wires it loads (220.61)."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.optional import optional
from server.rules.demand.selected import selected
from server.rules.demand.standard import standard
from server.rules.editions import rulebook

RULES = rulebook("2023")
HEAT = tuple(Load(f"Baseboard {i}", "room_heat", 3000) for i in range(3))


def coolers(*legs):
    return tuple(
        Load(f"Cooler {i}", "cooling", 1400, volts=120, leg=leg, motor_va=1400)
        for i, leg in enumerate(legs)
    )


def wing(*loads):
    part = Dwelling("Wing", 0, 0, 0, loads=loads, whole=False, is_service=False, no_dwelling=True)
    return standard(part, RULES)


def test_heat_between_the_legs_lessens_no_neutral():
    """By hand: 2 x 1,400 / 120 = 23.3 A on each leg, and 25 % of one, 2.9 A: 26.2 A in summer.

    220.61(A) asks for the maximum unbalance (2023, from memory).
    """
    alone = wing(*coolers("L1", "L2", "L1", "L2"))
    both = wing(*coolers("L1", "L2", "L1", "L2"), *HEAT)
    assert both.total_va == 9000
    assert alone.legs.neutral_a == pytest.approx(26.25)
    assert both.legs.neutral_a == pytest.approx(26.25)
    assert both.legs.unbalance_a == pytest.approx(26.25)
    # 9,000 / 240 is more than 26.2 A.
    assert (both.legs.l1_a, both.legs.l2_a) == (37.5, 37.5)


def test_a_leg_takes_the_larger_of_winter_and_summer():
    """By hand: 4 x 1,400 / 120 + 2.9 = 49.6 A on L1 in summer, 9,000 / 240 = 37.5 A in winter."""
    sheet = wing(*coolers("L1", "L1", "L1", "L1"), *HEAT)
    assert sheet.legs.l1_a == pytest.approx(49.58, abs=0.01)
    assert sheet.legs.l2_a == 37.5
    assert sheet.leg_a == pytest.approx(49.58, abs=0.01)
    assert sheet.legs.neutral_a == pytest.approx(49.58, abs=0.01)
    last = sheet.legs.rows[-1]
    assert last.label == "More where cooling alone runs"
    assert last.section == "220.61(A)"
    for wire in ("l1_a", "l2_a", "neutral_a"):
        total = sum(getattr(row, wire) for row in sheet.legs.rows)
        assert total == pytest.approx(getattr(sheet.legs, wire))
    assert sheet.legs.counted_a == (37.5, 37.5)


def test_heat_of_120_v_counts_on_its_leg_where_cooling_is_larger():
    """By hand: 1,500 / 120 = 12.5 A on L2 and its neutral; 2,400 / 240 = 10 A, and 2.5 A more."""
    sheet = wing(
        Load("Split", "cooling", 2400, motor_va=2400),
        Load("Wall heater", "room_heat", 1500, volts=120, leg="L2"),
    )
    assert sheet.legs.l1_a == pytest.approx(12.5)
    assert sheet.legs.l2_a == pytest.approx(12.5)
    assert sheet.legs.neutral_a == pytest.approx(12.5)
    assert sheet.legs.rows[-1].label == "More where heating alone runs"


def test_what_adds_to_no_wire_adds_no_row():
    sheet = wing(Load("Split", "cooling", 2400, motor_va=2400), *HEAT)
    assert not [row for row in sheet.legs.rows if row.label.startswith("More where")]


def test_a_method_that_borrows_legs_borrows_those_of_its_sum():
    """Its heavier leg is in proportion to what counts: the other season evens none of it out."""
    loads = (*coolers("L2", "L2", "L2", "L2"), *HEAT, *HEAT)
    house = Dwelling("House", 1500, loads=loads, conductors_a=100)
    sheet = optional(house, RULES)
    assert sheet.leg_a == pytest.approx(sheet.amps)
    # 1,500 ft2: 9,000 VA / 3,000 at 100 %, 6,000 at 35 % = 5,100 VA, 21.25 A on the neutral;
    # coolers 46.67 A and 2.92 A.
    assert sheet.legs.neutral_a == pytest.approx(21.25 + 49.58, abs=0.01)


def test_what_is_selected_on_a_set_counts_on_its_leg_too():
    """By hand: 1,200 / 120 = 10 A on L1 in summer; 2,000 / 240 = 8.3 A in winter."""
    heat = Load("Heat", "individual", 2000)
    cooler = Load("Cooler", "individual", 1200, volts=120, leg="L1")
    sheet = selected(Dwelling("Set", 0), (heat,), RULES, beside=(cooler,), instead=(cooler,))
    assert sheet.total_va == 2000
    assert sheet.legs.l1_a == pytest.approx(10.0)
    assert sheet.legs.l2_a == pytest.approx(2000 / 240)
    assert sheet.legs.neutral_a == pytest.approx(10.0)
    assert sheet.leg_a == pytest.approx(10.0)
