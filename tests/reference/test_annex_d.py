"""Annex D and other published load calculations, line by line.

Printed figures are those of the examples named; where only arithmetic stands behind a figure the
test says "derived". Amps are printed to the nearest whole (220.5(B)).
"""

from __future__ import annotations

import pytest

from server.rules.demand.cooking import cooking_demand
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.managed import room_under_setting
from server.rules.demand.multifamily import multifamily
from server.rules.demand.optional import existing, optional
from server.rules.demand.standard import standard
from server.rules.demand.two_family import two_family
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import rulebook

PRINTED = ("2017", "2020", "2023")

RANGE = Load("Range", "cooking", 12_000)
DRYER_5 = Load("Dryer", "dryer", 5_000)
DISHWASHER = Load("Dishwasher", "fastened", 1_200, volts=120)


def demand(sheet: Worksheet, label: str) -> float:
    return next(line.demand_va for line in sheet.lines if line.label.startswith(label))


def connected(sheet: Worksheet, label: str) -> float:
    return next(line.connected_va for line in sheet.lines if line.label.startswith(label))


def amps(sheet: Worksheet, label: str) -> tuple[float, float, float]:
    row = next(r for r in sheet.legs.rows if r.label.startswith(label))
    return row.l1_a, row.l2_a, row.neutral_a


# --- D1(a): 1500 ft2, 12 kW range, 5.5 kW dryer (flylib.com/books/en/2.419.1) -----------------

D1A = Dwelling("D1(a)", 1500, loads=(RANGE, Load("Dryer", "dryer", 5_500)))


@pytest.mark.parametrize("edition", PRINTED)
def test_d1a_lines(edition):
    sheet = standard(D1A, rulebook(edition))
    assert connected(sheet, "Lighting") == 4500
    assert connected(sheet, "Small-appliance") == 3000
    assert connected(sheet, "Laundry") == 1500
    assert demand(sheet, "First 3,000 VA at 100 %") == 3000
    assert demand(sheet, "Remainder at 35 %") == pytest.approx(2100)
    assert demand(sheet, "Range") == 8000
    assert demand(sheet, "Dryer") == 5500
    assert sheet.total_va == pytest.approx(18_600)
    assert sheet.amps == pytest.approx(77.5)
    assert sheet.rounded_a == 78
    assert sheet.least_a == 100
    assert sheet.standard_a == 100


def test_d1a_neutral_lines():
    sheet = standard(D1A, rulebook("2023"))
    assert amps(sheet, "General load")[2] * 240 == pytest.approx(5100)
    assert amps(sheet, "Range")[2] * 240 == pytest.approx(5600)
    assert amps(sheet, "Dryer")[2] * 240 == pytest.approx(3850)
    assert sheet.legs.neutral_a * 240 == pytest.approx(14_550)
    assert round(sheet.legs.neutral_a) == 61


# --- D1(b): the same with window units, disposer and dishwasher, leg by leg -------------------
# The example adds whole amperes, so each printed step is compared to the nearest ampere. The 2005
# printing has 2 A in the neutral's motor row (83 A in all); another printing has 3 A (84 A): each
# row's larger leg, as done here.

D1B = Dwelling(
    "D1(b)",
    1500,
    loads=(
        *D1A.loads,
        Load("Room air 230 V", "cooling", 6 * 230, volts=230, motor_va=6 * 230),
        Load("Room air 115 V", "cooling", 12 * 115, volts=115, leg="L1", motor_va=12 * 115),
        Load("Disposer", "fastened", 8 * 115, volts=115, leg="L2", motor_va=8 * 115),
        Load("Dishwasher", "fastened", 10 * 120, volts=120, leg="L2"),
    ),
)


def test_d1b_leg_rows():
    sheet = standard(D1B, rulebook("2017"))
    base = standard(D1A, rulebook("2017"))
    assert round(base.legs.l1_a + 1e-9) == 78
    assert amps(sheet, "Room air 230 V") == (6, 6, 0)
    pair = next(r for r in sheet.legs.rows if r.label == "Room air 115 V and Dishwasher")
    assert (pair.l1_a, pair.l2_a, pair.neutral_a) == (12, 10, 12)
    assert amps(sheet, "Disposer") == (0, 8, 8)
    assert amps(sheet, "25 % of the largest motor") == (3, 2, 3)


def test_d1b_totals():
    sheet = standard(D1B, rulebook("2017"))
    assert 78 + (sheet.legs.l1_a - 77.5) == pytest.approx(99)
    assert 78 + (sheet.legs.l2_a - 77.5) == pytest.approx(104)
    # The example adds each row's larger leg: 61 + 12 + 8 + 3 = 84.
    rows = [r.neutral_a for r in sheet.legs.rows if not r.label.startswith("No more than")]
    assert sum(rows) == pytest.approx(60.625 + 12 + 8 + 3)
    # 220.61(A) asks for no more than the fuller leg: disposer 8, dishwasher 10, a motor's 2 on L2.
    assert sheet.legs.neutral_a == pytest.approx(14_550 / 240 + 20)
    assert sheet.legs.neutral_a == sheet.legs.unbalance_a


# --- D2(a), D2(c): the optional method --------------------------------------------------------

D2A = Dwelling(
    "D2(a)",
    1500,
    loads=(
        RANGE,
        Load("Water heater", "fastened", 2_500),
        DISHWASHER,
        Load("Room heat", "room_heat", 1_800, quantity=5),
        DRYER_5,
        Load("Room air", "cooling", 6 * 230, volts=230, motor_va=6 * 230),
    ),
)


@pytest.mark.parametrize("edition", PRINTED)
def test_d2a_lines(edition):
    sheet = optional(D2A, rulebook(edition))
    general = sum(line.connected_va for line in sheet.lines if line.factor is None)
    assert general == 29_700
    for label, va in (
        ("Lighting", 4500),
        ("Small-appliance", 3000),
        ("Laundry", 1500),
        ("Range", 12_000),
        ("Water heater", 2500),
        ("Dishwasher", 1200),
        ("Dryer", 5000),
    ):
        assert connected(sheet, label) == va
    assert demand(sheet, "First 10,000 VA at 100 %") == 10_000
    assert demand(sheet, "Remainder at 40 %") == pytest.approx(7880)
    assert demand(sheet, "Room heat") == pytest.approx(3600)
    assert demand(sheet, "Room air") == 0
    assert sheet.total_va == pytest.approx(21_480)
    assert sheet.amps == pytest.approx(89.5)
    assert sheet.rounded_a == 90
    assert sheet.standard_a == 100


def test_d2a_neutral_lines():
    sheet = optional(D2A, rulebook("2023"))
    assert amps(sheet, "General load")[2] * 240 == pytest.approx(5100)
    assert amps(sheet, "Range")[2] * 240 == pytest.approx(5600)
    assert amps(sheet, "Dryer")[2] * 240 == pytest.approx(3500)
    assert amps(sheet, "Dishwasher")[2] * 240 == pytest.approx(1200)
    assert sheet.legs.neutral_a * 240 == pytest.approx(15_400)
    assert round(sheet.legs.neutral_a) == 64


D2C = Dwelling(
    "D2(c)",
    2000,
    loads=(
        RANGE,
        Load("Water heater", "fastened", 4_500),
        DISHWASHER,
        DRYER_5,
        Load("Heat pump", "heat_pump", 24 * 240, motor_va=24 * 240),
        Load("Backup heat", "central_heat", 15_000),
    ),
)


@pytest.mark.parametrize("edition", PRINTED)
def test_d2c_lines(edition):
    sheet = optional(D2C, rulebook(edition))
    assert sum(line.connected_va for line in sheet.lines if line.factor is None) == 33_200
    assert demand(sheet, "First 10,000") + demand(sheet, "Remainder") == pytest.approx(19_280)
    assert demand(sheet, "Heat pump") == 5760
    assert demand(sheet, "Backup heat") == pytest.approx(9750)
    assert sheet.total_va == pytest.approx(34_790)
    assert sheet.rounded_a == 145
    assert sheet.standard_a == 150


def test_2026_figures_derived_by_arithmetic():
    """The same houses at 2 VA/ft2 and an 8 kVA first step: derived, not printed."""
    rules = rulebook("2026")
    one, other = optional(D2A, rules), optional(D2C, rules)
    assert (one.total_va, one.rounded_a) == (pytest.approx(19_680), 82)
    assert (other.total_va, other.rounded_a) == (pytest.approx(32_790), 137)
    plain = standard(D1A, rules)
    assert plain.total_va == pytest.approx(18_075)
    assert plain.amps == pytest.approx(75.3, abs=0.02)
    assert all(line.cite.provisional for s in (one, other, plain) for line in s.lines)
    assert one.provisional


# --- D6: many ranges; single appliances -------------------------------------------------------


@pytest.mark.parametrize(
    ("ratings", "demand_kw"),
    [
        ([16] * 24, 46.8),
        ([11] * 5 + [12] * 2 + [13.5] * 20 + [18] * 3, 49.5),
        ([14], 8.8),
        ([3], 2.4),
        ([12], 8.0),
        ([12, 12], 11.0),
    ],
    ids=["D6 24 of 16 kW", "D6 mixed", "one 14 kW", "one 3 kW oven", "one 12 kW", "two"],
)
def test_cooking_examples(ratings, demand_kw):
    assert cooking_demand(ratings).demand_kw == pytest.approx(demand_kw)


# --- Lighting step and fastened appliances (coursehero sheet) ---------------------------------


def test_lighting_step_and_four_fastened_appliances():
    loads = tuple(
        Load(f"Appliance {va}", "fastened", va, volts=120) for va in (1200, 1032, 960, 1127)
    )
    sheet = standard(Dwelling("Sheet", 2800, loads=loads), rulebook("2023"))
    assert sum(line.connected_va for line in sheet.lines if line.factor is None) == 12_900
    assert demand(sheet, "First 3,000") + demand(sheet, "Remainder") == pytest.approx(6465)
    cut = [line for line in sheet.lines if line.factor == 0.75]
    assert sum(line.connected_va for line in cut) == 4319
    assert sum(line.demand_va for line in cut) == pytest.approx(3239.25)


# --- Two-family house (ecmag, Part LVIII): standard parts -------------------------------------

UNIT = (
    Load("Fixed appliances", "fastened", 9156 / 4, quantity=4),
    RANGE,
    DRYER_5,
    Load("Compressor and condenser fan", "cooling", 4200 + 360),
    Load("Heat", "central_heat", 10_000),
    Load("Blower", "air_handler", 1176),
)


def test_one_unit_of_the_two_family_house_derived():
    sheet = standard(Dwelling("Unit", 1800, loads=UNIT), rulebook("2023"))
    assert demand(sheet, "First 3,000") + demand(sheet, "Remainder") == pytest.approx(5415)
    assert demand(sheet, "Fixed appliances") == pytest.approx(6867)
    assert demand(sheet, "Range") == 8000
    assert demand(sheet, "Dryer") == 5000
    assert demand(sheet, "Heat") + demand(sheet, "Blower") == 11_176
    assert demand(sheet, "Compressor") == 0
    assert sheet.total_va == pytest.approx(36_458)
    assert sheet.amps == pytest.approx(151.9, abs=0.05)


def test_both_units_together_derived():
    loads = tuple(Load(d.name, d.category, d.va, quantity=2 * d.quantity) for d in UNIT)
    sheet = standard(Dwelling("Two units", 1800, loads=loads, units=2), rulebook("2023"))
    assert demand(sheet, "First 3,000") + demand(sheet, "Remainder") == pytest.approx(8880)
    assert demand(sheet, "Fixed appliances") == pytest.approx(13_734)
    assert demand(sheet, "Range") == 11_000
    assert demand(sheet, "Dryer") == 10_000
    assert demand(sheet, "Heat") + demand(sheet, "Blower") == 22_352
    # The printed total, 66,180 VA, is 214 VA more: presumably a motor's 25 % not in the capture.
    assert sheet.total_va == pytest.approx(65_966)


def test_two_units_as_three_identical_ones():
    """220.85: 16,200 + 13,500 + 78,468 + 33,528 = 141,696 VA; 45 % of it 63,763 VA, the lesser."""
    unit = Dwelling("Unit", 1800, loads=UNIT)
    both = Dwelling("Two units", 3600, dwellings=(unit, unit))
    sheet = two_family(both, rulebook("2023"))
    assert connected(sheet, "Lighting") == 16_200
    assert connected(sheet, "Small-appliance") + connected(sheet, "Laundry") == 13_500
    assert sum(connected(sheet, x) for x in ("Fixed", "Range", "Dryer")) == pytest.approx(78_468)
    assert connected(sheet, "Heat") + connected(sheet, "Blower") == 33_528
    assert connected(sheet, "45 %") == pytest.approx(141_696)
    assert round(sheet.total_va) == 63_763
    assert sheet.total_va < 66_180


# --- D4(b): flats of 840 ft2 (flylib.com/books/en/2.419.1; both factors from memory) -----------


@pytest.mark.parametrize(
    ("count", "connected_va", "demand_va", "printed_a"),
    [(20, 440_400, 167_352, 697), (40, 880_800, 246_624, 1028)],
)
def test_many_flats_by_table_220_84(count, connected_va, demand_va, printed_a):
    """Each: 2,520 + 3,000 + 8,000 + 6,000 + 2,500 VA; 38 % of 20 of them, 28 % of 40."""
    loads = (
        Load("Range", "cooking", 8_000),
        Load("Heater", "room_heat", 1_500, quantity=4),
        Load("Water heater", "fastened", 2_500),
    )
    flat = Dwelling("Flat", 840, laundry_circuits=0, loads=loads)
    house = Dwelling("Flats", 840 * count, dwellings=(flat,) * count)
    sheet = multifamily(house, rulebook("2023"))
    share = next(line for line in sheet.lines if " % of the " in line.label)
    assert share.connected_va == pytest.approx(connected_va)
    assert sheet.total_va == pytest.approx(demand_va)
    assert round(sheet.amps) == printed_a


# --- Existing dwelling ------------------------------------------------------------------------

OLD = (RANGE, DRYER_5, Load("Water heater", "fastened", 4_500), DISHWASHER)


def test_existing_dwelling_with_new_cooling_derived():
    """Form logic of Walnut Creek CA: cooling at 100 % beside the steps."""
    new = Load("Air conditioner", "cooling", 5_000, new=True)
    sheet = existing(Dwelling("Old", 1500, loads=(*OLD, new), existing_a=100), rulebook("2023"))
    assert sum(line.connected_va for line in sheet.lines if line.factor is None) == 31_700
    assert demand(sheet, "First 8,000") == 8000
    assert demand(sheet, "Remainder") == pytest.approx(9480)
    assert demand(sheet, "Air conditioner") == 5000
    assert sheet.total_va == pytest.approx(22_480)
    assert sheet.amps == pytest.approx(93.7, abs=0.04)
    assert sheet.fits


def test_existing_dwelling_without_new_cooling_keeps_it_in_the_steps():
    old = Load("Air conditioner", "cooling", 5_000)
    sheet = existing(Dwelling("Old", 1500, loads=(*OLD, old), existing_a=100), rulebook("2023"))
    assert sheet.total_va == pytest.approx(8000 + 0.40 * (36_700 - 8000))


def test_125_a_service_at_83_a_has_42_a_left():
    """mikeholt.com thread 2577971: 83 A by 220.83 on 125 A leaves 42 A."""
    loads = (Load("All of it", "fastened", (83 * 240 - 8000) / 0.4 + 8000 - 4500),)
    sheet = existing(Dwelling("Old", 0, loads=loads, existing_a=125), rulebook("2023"))
    assert sheet.amps == pytest.approx(83)
    assert sheet.margin_a == pytest.approx(42)


# --- Power control (D15, 2026): ecmag load-control --------------------------------------------


def test_power_control_leaves_29_a_for_the_car():
    work = room_under_setting(
        uncontrolled_va=29_040 - 12_000, setting_a=100, volts=240, rules=rulebook("2026")
    )
    assert 29_040 / 240 == 121
    assert work.terms[-1].value == 71
    assert work.value == 29


# --- D5(a), D5(b): a flat on two legs of a 208Y/120 V wye ---------------------------------------
# flylib.com/books/en/2.419.1, Examples D5(a) and D5(b); D5(a) also forums.mikeholt.com 157274.

D5_RANGE = Load("Range", "cooking", 12_000)


def flat_on_a_wye(*loads):
    return standard(Dwelling("D5", 840, 2, 0, loads=loads, volts=208), rulebook("2017"))


def test_d5a_line_to_neutral_and_between_the_legs_are_added_apart():
    """Printed: 3882 VA / 2 legs / 120 V = 16.2 A; range 8000 VA / 208 V = 38.5 A; 54.7 A."""
    without = flat_on_a_wye()
    assert without.total_va == pytest.approx(3882)
    assert without.amps == without.leg_a == pytest.approx(16.2, abs=0.05)
    sheet = flat_on_a_wye(D5_RANGE)
    assert amps(sheet, "Range")[:2] == pytest.approx((38.5, 38.5), abs=0.05)
    assert sheet.amps == sheet.leg_a == pytest.approx(54.7, abs=0.1)  # sum of rounded amps


def test_d5b_calculated_load_of_a_flat_with_heat_and_water_heater():
    """Its range of 8 kW at 80 % (Column B) is 6400 VA. Printed: 18,782 VA; 3882 VA to neutral is
    16.2 A, 14,900 VA between the legs 71.6 A, together 87.8 A.
    """
    sheet = flat_on_a_wye(
        Load("Range", "individual", 6_400),
        Load("Water heater", "fastened", 2_500),
        Load("Space heating", "central_heat", 6_000),
    )
    assert sheet.total_va == pytest.approx(18_782)
    assert sheet.amps == sheet.leg_a == pytest.approx(87.8, abs=0.05)
