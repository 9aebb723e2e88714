"""From total volt-amperes to amps step by step, and what still fits on each leg.

The house is Annex D2(a) without its room heat: area 4,500, small-appliance 3,000, laundry 1,500,
range 12,000, dryer 5,000, water heater 2,500 and dishwasher 1,200 VA come to 29,700 VA, by the
steps 17,880 VA as printed there, 74.5 A at 240 V. Every further figure is worked beside its test.
"""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load, Setting
from server.rules.demand.optional import optional
from server.rules.demand.selected import selected
from server.rules.demand.standard import standard
from server.rules.editions import rulebook

RULES = rulebook("2023")
HOUSE = (
    Load("Range", "cooking", 12_000),
    Load("Dryer", "dryer", 5_000),
    Load("Water heater", "fastened", 2_500),
)


def steps(sheet):
    return {step.label: step for step in sheet.amp_lines}


def house(*more, existing_a=100.0):
    return Dwelling("House", 1500, loads=(*HOUSE, *more), existing_a=existing_a)


def test_the_optional_method_shows_every_step_to_its_heavier_leg():
    """The dishwasher is alone on L1. The standard method has (5,100 + 8,000 + 5,000 + 2,500) VA
    / 240 V = 85.83 A on both legs and 1,200 / 120 = 10 A more on L1. Mean 90.83 A, share
    95.83 / 90.83 = 1.055: 74.5 x 1.055 = 78.6 A.
    """
    sheet = optional(house(Load("Dishwasher", "fastened", 1_200, volts=120, leg="L1")), RULES)
    found = steps(sheet)
    assert found["Total over volts"].sum == "17,880 VA / 240 V"
    assert found["Total over volts"].value == pytest.approx(74.5)
    assert found["L1 by the standard method"].value == pytest.approx(95.83, abs=0.01)
    assert found["L2 by the standard method"].value == pytest.approx(85.83, abs=0.01)
    assert found["Mean of the two"].value == pytest.approx(90.83, abs=0.01)
    assert found["Heavier over mean"].value == pytest.approx(1.05505, abs=1e-5)
    assert "common practice, no source" in found["Heavier over mean"].source
    assert found["On the heavier leg, L1"].value == pytest.approx(78.60, abs=0.01)
    assert found["On the heavier leg, L1"].sum == "74.5 A × 1.055"
    assert sheet.leg_a == pytest.approx(78.60, abs=0.01)
    assert found["Next standard rating"].value == sheet.standard_a == 100


def test_balanced_legs_need_no_such_steps():
    found = steps(optional(house(), RULES))
    assert set(found) == {"Total over volts", "Least for one dwelling", "Next standard rating"}


def test_the_continuous_part_is_added_in_the_open():
    """11,520 VA of charger at 25 %: 2,880 VA, 12 A on each leg."""
    sheet = standard(house(Load("Charger", "vehicle", 11_520, continuous=True)), RULES)
    found = steps(sheet)
    assert found["Continuous part"].value == 11_520
    assert found["25 % of it"].value == pytest.approx(12)
    assert found["25 % of it"].sum == "0.25 × 11,520 VA / 240 V"
    assert found["For the device and the wire"].value == pytest.approx(sheet.needed_a)


def test_continuous_loads_of_one_leg_count_on_that_leg():
    """Two mats of 600 VA on L1, 120 V: 10 A there, and 25 % of it 2.5 A; L2 has nothing of it."""
    mats = Load("Mats", "individual", 600, quantity=2, volts=120, leg="L1", continuous=True)
    sheet = standard(Dwelling("Shed", 0, 0, 0, loads=(mats,), existing_a=20.0), RULES)
    assert sheet.leg_needed_a == (pytest.approx(12.5), pytest.approx(0))
    found = steps(sheet)
    assert found["25 % of it on L1"].sum == "0.25 × 1,200 VA / 120 V"
    assert found["25 % of it on L1"].value == pytest.approx(2.5)
    assert sheet.continuous_a == pytest.approx(10)
    assert sheet.can_add_on == {"L1": pytest.approx(900), "L2": pytest.approx(2400)}


@pytest.mark.parametrize(("edition", "article"), [("2023", "220"), ("2026", "120")])
def test_every_step_cites_the_article_of_its_edition(edition, article):
    sheet = optional(house(), rulebook(edition))
    found = steps(sheet)
    assert found["Total over volts"].source == f"{article}.5(A)"
    assert found["Next standard rating"].source == f"{article}.5(B), 240.6(A)"
    assert sheet.notes[:1] == (f"Legs and neutral are by the standard method ({article}.61).",)


def test_the_room_by_a_method_with_a_step_is_told_by_nameplate_too():
    """17,880 VA is 74.5 A; 25.5 A left of 100 A are 6,120 VA, at 40 % 15,300 VA by nameplate."""
    sheet = optional(house(Load("Dishwasher", "fastened", 1_200)), RULES)
    assert sheet.can_add_va == pytest.approx(6_120)
    assert "room for 6,120 VA more is calculated VA" in sheet.notes[1]
    assert "counts at 40 % it is 15,300 VA by nameplate" in sheet.notes[1]


def test_a_setting_is_continuous_in_full():
    """Water heater and strip, 9,000 VA, held at 20 A: 4,800 VA, 20 A, with 25 % of it 25 A."""
    held = (
        Load("Water heater", "fastened", 4_500, group="m"),
        Load("Strip", "individual", 4_500, group="m"),
    )
    sheet = standard(Dwelling("Panel", 0, 0, 0, held, (Setting("m", "Manager", 4_800),)), RULES)
    assert (sheet.total_va, sheet.continuous_va) == (4_800, 4_800)
    assert sheet.needed_a == pytest.approx(25)
    assert "counts as continuous (220.70, verified)" in sheet.lines[-1].note


def test_a_held_charger_counts_the_least_of_its_edition():
    """3,840 VA counts as 7,200 VA in 2023, under a 40 A setting: 30 A, with 25 % of it 37.5 A."""
    car = Load("Car", "vehicle", 3_840, group="m", continuous=True)
    sheet = standard(Dwelling("Panel", 0, 0, 0, (car,), (Setting("m", "Manager", 9_600),)), RULES)
    assert (sheet.total_va, sheet.continuous_va) == (7_200, 7_200)
    assert sheet.needed_a == pytest.approx(37.5)


def test_a_120_v_load_has_the_room_of_its_leg_alone():
    """85.83 A on both legs and a 10 A dishwasher on L1. On 100 A: 4.17 A x 120 V = 500 VA on L1,
    14.17 A x 120 V = 1,700 VA on L2, and between the legs 4.17 A x 240 V = 1,000 VA.
    """
    sheet = standard(house(Load("Dishwasher", "fastened", 1_200, volts=120, leg="L1")), RULES)
    assert sheet.can_add_va == pytest.approx(1000)
    assert sheet.can_add_on == {"L1": pytest.approx(500), "L2": pytest.approx(1700)}


@pytest.mark.parametrize("method", [standard, optional])
def test_what_is_added_on_a_leg_brings_it_to_the_rating(method):
    light = Load("Dishwasher", "fastened", 1_200, volts=120, leg="L1")
    room = method(house(light), RULES).can_add_on["L2"]
    before = method(house(light), RULES).leg_needed_a
    assert room == pytest.approx((100 - before[1]) * 120)
    if method is standard:
        added = Load("Added", "individual", room, volts=120, leg="L2")
        assert method(house(light, added), RULES).leg_needed_a[1] == pytest.approx(100)


def test_no_room_is_nothing_and_no_rating_is_not_told():
    assert standard(house(existing_a=80.0), RULES).can_add_on == {"L1": 0, "L2": 0}
    assert standard(house(existing_a=None), RULES).can_add_on is None


def test_a_set_of_one_leg_has_one_room():
    lamp = Load("Lamp", "individual", 600, volts=120, leg="L1")
    sheet = selected(Dwelling("Set", 0, volts=120, existing_a=20), (lamp,), RULES)
    assert sheet.can_add_on is None
    assert sheet.can_add_va == pytest.approx((20 - 5) * 120)
    assert [s.label for s in sheet.amp_lines] == ["Total over volts", "Next standard rating"]
