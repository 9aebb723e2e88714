"""A motor of known horsepower on the demand sheets: by the table, or said to go by its plate."""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.rules.demand.farm import farm
from server.rules.demand.inputs import Dwelling, FarmBuilding, Load
from server.rules.demand.motors import by_plate, by_table
from server.rules.demand.optional import existing, optional
from server.rules.demand.report import demand_of
from server.rules.demand.standard import standard
from server.rules.editions import rulebook
from tests.rules.check_sites import of_kind, plain

RULES = rulebook("2023")
PUMP = Load("Pump", "fastened", 1_474, motor_va=1_474, horsepower=1.0, wired_motor=True)
HOUSE = Dwelling("House", 2_000, loads=(PUMP,), existing_a=200.0)


def line(sheet, label):
    return next(x for x in sheet.lines if x.label == label)


def test_the_standard_method_counts_a_motor_by_its_table():
    """220.50, 430.24, 430.6(A)(1): 8.0 A × 240 V, and 25 % of the largest by the table too."""
    sheet = standard(HOUSE, RULES)
    pump = line(sheet, "Pump")
    assert pump.demand_va == 1_920
    assert "8 A × 240 V = 1,920 VA (430.6(A)(1)); its plate: 1,474 VA" in pump.note
    assert line(sheet, "25 % of the largest motor, Pump").demand_va == 480


@pytest.mark.parametrize("method", [optional, existing])
def test_the_optional_methods_count_the_plate_and_say_so(method):
    """220.82(B)(3), (4) and 220.83 name the nameplate."""
    pump = line(method(HOUSE, RULES), "Pump")
    assert pump.connected_va == 1_474
    assert "by its plate, as this method asks" in pump.note
    assert "8 A × 240 V = 1,920 VA" in pump.note


def test_a_plate_above_the_table_stands():
    large = replace(PUMP, va=2_100, motor_va=2_100)
    (counted,) = by_table([large], 240, RULES)
    assert counted.va == 2_100
    assert "which is more" in counted.note
    assert by_plate(large, 240, RULES) == ""


@pytest.mark.parametrize(("volts", "fed_v", "va"), [(240, 240, 1_920), (240, 208, 8.8 * 208),
                                                    (120, 240, 16 * 120)])  # fmt: skip
def test_the_column_is_that_of_the_volts_it_is_fed_at(volts, fed_v, va):
    (counted,) = by_table([replace(PUMP, volts=volts)], fed_v, RULES)
    assert counted.va == pytest.approx(va)


def test_what_is_no_motor_of_the_table_is_left():
    for load in (replace(PUMP, horsepower=0.1), replace(PUMP, wired_motor=False)):
        assert by_table([load], 240, RULES) == (load,)


@pytest.mark.parametrize(
    ("hp", "amps", "words"),
    [
        # 8 A at 1 hp and 10 A at 1-1/2; 6.9 at 3/4; 28 at 5 and 40 at 7-1/2 (430.6(A)(1)).
        (1.25, 9.0, "between its rows for 1-1/4 hp: 9 A"),
        (0.9, 6.9 + 0.6 * 1.1, "between its rows for 0.9 hp: 7.56 A"),
        (7.0, 28 + 0.8 * 12, "between its rows for 7 hp: 37.6 A"),
        (7.5, 40, "Table 430.248, 7-1/2 hp: 40 A"),
    ],
)
def test_between_two_rows_it_is_interpolated(hp, amps, words):
    (counted,) = by_table([replace(PUMP, horsepower=hp)], 240, RULES)
    assert counted.va == pytest.approx(max(amps * 240, PUMP.va))
    assert words in counted.note


def test_past_the_table_it_counts_by_its_plate_and_says_so():
    large = replace(PUMP, horsepower=12.0, va=1_500, motor_va=1_500)
    (counted,) = by_table([large], 240, RULES)
    assert counted.va == 1_500
    assert "Table 430.248 ends at 10 hp (430.6(A)(1))" in counted.note


def test_a_farm_building_counts_its_motors_so():
    barn = FarmBuilding("Barn", (PUMP,), 1)
    sheet = farm(replace(HOUSE, farm_buildings=(barn,)), RULES)
    assert line(sheet, "Largest farm load, Barn, at 100 %").demand_va == 1_920


@pytest.mark.parametrize(
    ("kind", "spaces", "by"), [("well-pump", (1, 3), True), ("disposer", (1,), False)]
)
def test_what_plugs_in_goes_by_its_plate(kind, spaces, by):
    """430.6(A)(1) exception 3: a listed appliance on a cord."""
    site = plain(of_kind("x", "main", spaces, kind))
    sheet = demand_of(site, "main", rules=RULES).sheet("standard")
    note = next(x for x in sheet.lines if x.label == site.circuits[0].appliances[0].name).note
    assert ("430.6(A)(1)" in note) is by


@pytest.mark.parametrize(
    ("kind", "spaces", "load_w", "horsepower", "words"),
    [
        ("air-compressor", (1, 3), 4500, 5, "5 hp: 28 A × 240 V = 6,720 VA"),
        ("table-saw", (1, 3), 2600, 3, "3 hp: 17 A × 240 V = 4,080 VA"),
        ("table-saw", (1, 3), 4600, 3, None),  # its plate is more
        ("table-saw", (1, 3), 2600, None, None),
        ("table-saw", (1,), 1400, 1, None),  # 120 V: it has a plug
        ("room-air-large", (1, 3), 1500, 2, None),  # a compressor goes by its own plate
    ],
)
def test_a_shop_motor_taken_as_plugged_in_says_what_it_is_wired_in_place(
    kind, spaces, load_w, horsepower, words
):
    """430.6(A)(1) and its exception 3; Table 430.248."""
    own = of_kind("x", "main", spaces, kind, load_w=load_w, volts=120 * len(spaces))
    (thing,) = own.appliances
    changes = {"horsepower": horsepower, "load_type": "motor", "power_factor": 1.0}
    site = plain(own.model_copy(update={"appliances": (thing.model_copy(update=changes),)}))
    sheet = demand_of(site, "grid", rules=RULES).sheet("standard")
    notes = [x.note for x in sheet.lines if "taken as plugged in" in x.note]
    assert len(notes) == (words is not None)
    if words:
        assert words in notes[0]
        assert "(430.6(A)(1) exception 3)" in notes[0]
        (counted,) = (x for x in sheet.lines if "taken as plugged in" in x.note)
        assert counted.demand_va == load_w
