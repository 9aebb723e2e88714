"""What the optional methods take in, and where they may be used."""

from __future__ import annotations

import pytest

from server.domain.errors import InputError
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.optional import existing, optional
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests.rules.check_sites import of_kind, plain

RULES = rulebook("2023")
BLOWER = Load("Furnace blower", "air_handler", 800, volts=120, motor_va=800)
ROOMS = Load("Baseboard", "room_heat", 3000, quantity=3)
COOLING = Load("Central air", "cooling", 3000)


def sheet_of(*loads):
    return optional(Dwelling("House", 3000, loads=loads), RULES)


def line(sheet, label):
    return next(x for x in sheet.lines if x.label == label)


def test_a_blower_beside_larger_room_heat_is_a_motor_in_the_steps():
    """220.82(B)(4): 800 VA more in the 40 % remainder, 320 VA."""
    own = line(sheet_of(BLOWER, ROOMS, COOLING), "Furnace blower")
    assert (own.factor, own.connected_va, own.cite.section) == (None, 800, "220.82(B)(4)")
    more = sheet_of(BLOWER, ROOMS, COOLING).total_va - sheet_of(ROOMS, COOLING).total_va
    assert more == pytest.approx(0.4 * 800)


def test_a_blower_that_runs_with_the_selection_counts_once_and_there():
    found = [x for x in sheet_of(BLOWER, COOLING).lines if x.label == "Furnace blower"]
    assert [(x.factor, x.demand_va) for x in found] == [(1.0, 800)]


def test_an_existing_dwelling_of_60_a_may_use_its_method_and_the_optional_one_not():
    """The 100 A stand in 220.82(A) alone."""
    house = Dwelling("House", 900, loads=(BLOWER,), existing_a=60)
    assert existing(house, RULES).existing_a == 60
    with pytest.raises(InputError, match="100 A or more"):
        optional(house, RULES)


def test_an_existing_dwelling_asks_for_a_supply_of_two_legs():
    with pytest.raises(InputError, match="3-wire"):
        existing(Dwelling("Cabin", 400, volts=120), RULES)
    assert existing(Dwelling("Flat", 400, volts=208), RULES).volts == 208


@pytest.mark.parametrize(
    "kind",
    [
        "heat-mats",
        "stock-tank-heater",
        "heated-waterer",
        "engine-heater",
        "treadmill",
        "dialysis-machine",
    ],
)
def test_what_plugs_in_neither_makes_nor_takes_the_75_percent(kind):
    """220.53 is for what is fastened in place: three others and one that plugs in are not four."""
    others = (
        of_kind("dish", "main", (9,), "dishwasher"),
        of_kind("sink", "main", (11,), "disposer"),
        of_kind("water", "main", (13, 15), "water-heater"),
    )
    own = of_kind("own", "main", (1,), kind, load_w=1000)
    sheet = demand_of(plain(own, *others), "grid", rules=RULES).sheet("standard")
    assert [line(sheet, c.appliances[0].name).factor for c in (own, *others)] == [1.0] * 4
    pump = of_kind("pump", "main", (17, 19), "well-pump")
    sheet = demand_of(plain(own, pump, *others), "grid", rules=RULES).sheet("standard")
    assert line(sheet, own.appliances[0].name).factor == 1.0
    assert [line(sheet, c.appliances[0].name).factor for c in others] == [0.75] * 3


def test_a_blower_without_electric_heat_or_cooling_is_a_motor_in_the_steps():
    """Nothing of 220.82(C) stands there, so its 800 VA go by (B)(4): 320 VA."""
    own = line(sheet_of(BLOWER), "Furnace blower")
    assert (own.factor, own.connected_va, own.cite.section) == (None, 800, "220.82(B)(4)")
    assert sheet_of(BLOWER).total_va - sheet_of().total_va == pytest.approx(0.4 * 800)


def test_room_heat_left_out_stands_under_its_own_part_of_220_82_c():
    """(C)(4) is of fewer than four room units, (C)(1) of cooling."""
    site = plain(
        of_kind("cool", "main", (1, 3), "central-air", load_w=9_000),
        of_kind("heat", "main", (5, 7), "baseboard", load_w=1_500),
    )
    lines = demand_of(site, "grid", rules=RULES).sheet("optional").lines
    (left_out,) = [x for x in lines if x.note.startswith("not counted")]
    assert (left_out.demand_va, left_out.cite.section) == (0.0, "220.82(C)(4)")


def test_new_cooling_beside_four_room_heaters_counts_where_it_comes_to_more():
    """220.83(B), 2023, worked by hand. Base 4,500 + 3,000 + 1,500 + 12,000 + 4,500 + 4,500 =
    30,000 VA. Cooling: 8,000 + 0.4 × 22,000 + 5,000 = 21,800. Heat, four units in the steps:
    8,000 + 0.4 × 28,000 = 19,200."""
    house = Dwelling(
        "House",
        1500,
        loads=(
            Load("Range", "cooking", 12_000),
            Load("Dryer", "dryer", 4_500),
            Load("Water heater", "fastened", 4_500),
            Load("Room heat", "room_heat", 1_500, quantity=4),
            Load("Air conditioner", "cooling", 5_000, new=True),
        ),
    )
    sheet = existing(house, rulebook("2023"))
    assert sheet.total_va == pytest.approx(21_800)
    (lost,) = [x for x in sheet.lines if x.note.startswith("not counted")]
    assert (lost.label, lost.note) == ("Room heat", "not counted: cooling comes to more")


@pytest.mark.parametrize("burner", [{}, {"ductless": True}])
@pytest.mark.parametrize("cooling", [{}, {"ductless": True}])
def test_a_burner_counts_beside_cooling_only_through_one_duct(burner, cooling):
    """220.82(C)(1) is cooling; a burner that shares no duct with it is a motor of (B)(4)."""
    motor = Load("Burner", "air_handler", 750, volts=120, motor_va=750, **burner)
    cool = Load("Cooling", "cooling", 4_800, motor_va=4_800, **cooling)
    rest = Load("Heater", "fastened", 12_000)
    sheet = optional(Dwelling("House", 2_000, loads=(motor, cool, rest)), RULES)
    (line,) = (x for x in sheet.lines if x.label == "Burner")
    own = bool(burner or cooling)
    assert line.cite.section == ("220.82(B)(4)" if own else "220.82(C)(1)")
    assert line.factor == (None if own else 1.0)
    # 2,000 ft² 6,000 VA, three circuits 4,500 VA, heater 12,000 VA: above 10 kVA at 40 %.
    general = 22_500 + (750 if own else 0)
    beside = 4_800 + (0 if own else 750)
    assert sheet.total_va == pytest.approx(10_000 + 0.4 * (general - 10_000) + beside)


def test_an_existing_dwelling_keeps_such_a_burner_in_its_steps():
    """220.83(B): new cooling stands outside at 100 %, the burner in the steps."""
    motor = Load("Burner", "air_handler", 750, volts=120, motor_va=750)
    cool = Load("Window unit", "cooling", 4_800, motor_va=4_800, ductless=True, new=True)
    sheet = existing(Dwelling("House", 2_000, loads=(motor, cool)), RULES)
    (line,) = (x for x in sheet.lines if x.label == "Burner")
    assert line.factor is None
    assert sheet.total_va == pytest.approx(8_000 + 0.4 * (10_500 + 750 - 8_000) + 4_800)


@pytest.mark.parametrize(
    ("method", "section"), [("optional", "220.82(B)(2)"), ("existing", "220.83(A)(2)")]
)
def test_circuits_of_1500_va_are_cited_where_the_method_lists_them(method, section):
    lights = of_kind("lights", "main", (1,), "lighting")
    sheet = demand_of(plain(lights), "grid", rules=RULES).sheet(method)
    cites = {x.label: x.cite.section for x in sheet.lines}
    assert cites["Small-appliance circuits"] == cites["Laundry circuits"] == section


CAR = Load("Car", "vehicle", 11_520, continuous=True)
RANGE = Load("Range", "cooking", 12_000)


def safe_reading(sheet):
    return [n for n in sheet.notes if "our safe reading" in n]


def test_that_the_quarter_more_is_of_the_whole_nameplate_is_said():
    """3,000 ft²: 9,000 + 4,500 + 12,000 + 11,520 VA = 37,020; 10,000 + 40 % of 27,020 = 20,808 VA,
    86.7 A; and 25 % of 48 A, 98.7 A, or of the 40 % alone 4.8 A, 91.5 A.
    """
    sheet = sheet_of(CAR, RANGE)
    assert sheet.total_va == pytest.approx(20_808)
    (said,) = safe_reading(sheet)
    assert "25 % more" in said
    assert "at 40 %" in said
    assert "about 91.5 A and not 98.7 A" in said
    old = existing(Dwelling("House", 3000, loads=(CAR, RANGE)), RULES)
    # 8,000 + 40 % of 29,020 = 19,608 VA, 81.7 A; 93.7 A and 86.5 A.
    assert "about 86.5 A and not 93.7 A" in safe_reading(old)[0]


def test_it_is_not_said_where_the_steps_take_nothing_off():
    assert not safe_reading(sheet_of(RANGE))
    pump = Load("Pool pump", "fastened", 1000, continuous=True)
    assert not safe_reading(optional(Dwelling("Hut", 100, loads=(pump,)), RULES))
    # From 2026 vehicles stand outside the steps in this method.
    late = optional(Dwelling("House", 3000, loads=(CAR, RANGE)), rulebook("2026"))
    assert not safe_reading(late)
    late = optional(Dwelling("House", 3000, loads=(pump, RANGE)), rulebook("2026"))
    assert safe_reading(late)


def test_a_ductless_heat_pump_beside_room_heat_says_that_both_can_run():
    """220.82(C): 3,000 VA of a mini-split, or 40 % of four rooms of 1,500 VA, 2,400; together by
    (C)(3) 3,000 + 65 % of 6,000 = 6,900 VA.
    """
    split = Load("Mini-split", "heat_pump", 3000, ductless=True)
    rooms = Load("Baseboard", "room_heat", 1500, quantity=4)
    said = [n for n in sheet_of(split, rooms).notes if "can heat at one time" in n]
    assert len(said) == 1
    assert said[0].startswith("Mini-split and Baseboard can heat")
    assert "they would be 6,900 VA, 3,900 VA more" in said[0]
    for alone in ((split,), (rooms,)):
        assert not any("can heat at one time" in n for n in sheet_of(*alone).notes)


def test_a_heat_pump_with_its_strip_beside_room_heat_says_so_too():
    """220.82(C): 4,200 + 65 % of 9,600 = 10,440 VA counts, with a fan of 500 VA; by (C)(3) with a
    shop's 3,000 VA 4,200 + 65 % of 12,600 = 12,390 VA, 1,950 VA more.
    """
    pump = Load("Heat pump", "heat_pump", 4200)
    strip = Load("Strip", "central_heat", 9600)
    fan = Load("Fan", "air_handler", 500)
    shop = Load("Shop heat", "room_heat", 3000)
    (said,) = [n for n in sheet_of(pump, strip, fan, shop).notes if "can heat at one time" in n]
    assert said.startswith("Heat pump, Strip and Shop heat can heat")
    assert "they would be 12,390 VA, 1,950 VA more" in said
    assert not any("at one time" in n for n in sheet_of(pump, strip, fan).notes)
    # Cooling of 13,000 VA counts in any case, and is more than all heat together.
    cool = Load("Cooling", "cooling", 13_000)
    assert not any("at one time" in n for n in sheet_of(pump, strip, fan, shop, cool).notes)
