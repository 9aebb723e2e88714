"""More published examples, held out while the rules were written, line by line.

Each names its publication, section and edition. Where a source prints a slip, the test says so and
holds the rule instead.
"""

from __future__ import annotations

import pytest

from server.physics.engine_set import derated_kw
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.optional import optional
from server.rules.demand.standard import standard
from server.rules.editions import rulebook
from server.rules.tables import conductor
from server.rules.wiring.ampacity import ampacity
from server.rules.wiring.drop import Stretch, voltage_drop
from server.rules.wiring.ground import base_ground_size, equipment_ground
from server.rules.wiring.raceway import Wires, fill, trade_size_needed
from server.rules.wiring.run import Run
from server.rules.wiring.sizing import size_run

AT_100_F = (100 - 32) / 1.8
PRINTED = ("2017", "2020", "2023")
RULES = rulebook("2023")


def demands(sheet):
    """Demand of every line by its label; what is carried on counts its connected load."""
    return {
        line.label: line.connected_va if line.factor is None else line.demand_va
        for line in sheet.lines
    }


# --- jadelearning.com/blog/single-family-dwelling-calculation-optional-method (2014 edition) ----


@pytest.mark.parametrize("edition", PRINTED)
def test_2800_ft2_house_by_the_optional_method(edition):
    house = Dwelling(
        "House",
        2800,
        loads=(
            Load("Range", "cooking", 14_000),
            Load("Water heater", "fastened", 3_000),
            Load("Dryer", "dryer", 5_000),
            Load("Dishwasher", "fastened", 1_500, volts=120),
            Load("Central heat", "central_heat", 15_000),
            Load("Air conditioner", "cooling", 29 * 240),
        ),
    )
    sheet = optional(house, rulebook(edition))
    lines = demands(sheet)
    assert lines["Lighting and general plugs"] == 8_400
    assert lines["Small-appliance circuits"] + lines["Laundry circuits"] == 4_500
    assert (lines["Range"], lines["Water heater"]) == (14_000, 3_000)
    assert (lines["Dryer"], lines["Dishwasher"]) == (5_000, 1_500)
    carried = [line for line in sheet.lines if line.factor is None]
    assert sum(line.connected_va for line in carried) == 36_400
    assert lines["First 10,000 VA at 100 %"] == 10_000
    assert lines["Remainder at 40 %"] == pytest.approx(10_560)
    assert lines["Central heat"] == pytest.approx(9_750)
    assert lines["Air conditioner"] == 0  # 6,960 VA is the smaller
    assert sheet.total_va == pytest.approx(30_310)
    assert sheet.rounded_a == 126


# --- Annex D2(b), 2005 printing: flylib.com/books/en/2.419.1, example_no_d2_b ------------------

D2B = Dwelling(
    "D2(b)",
    1500,
    loads=(
        Load("Oven", "cooking", 4_000, quantity=2),
        Load("Cooking unit", "cooking", 5_100),
        Load("Water heater", "fastened", 4_500),
        Load("Dishwasher", "fastened", 1_200, volts=120),
        Load("Washer with dryer", "dryer", 5_000),
        Load("Room air", "cooling", 7 * 240, quantity=6),
        Load("Bathroom heat", "room_heat", 1_500),
    ),
)


@pytest.mark.parametrize("edition", PRINTED)
def test_d2b_lines(edition):
    sheet = optional(D2B, rulebook(edition))
    lines = demands(sheet)
    assert lines["Lighting and general plugs"] == 4_500
    assert (lines["Small-appliance circuits"], lines["Laundry circuits"]) == (3_000, 1_500)
    assert (lines["Oven"], lines["Cooking unit"]) == (8_000, 5_100)
    assert (lines["Water heater"], lines["Dishwasher"]) == (4_500, 1_200)
    assert lines["Washer with dryer"] == 5_000
    carried = [line for line in sheet.lines if line.factor is None]
    assert sum(line.connected_va for line in carried) == 32_800
    assert lines["First 10,000 VA at 100 %"] == 10_000
    assert lines["Remainder at 40 %"] == pytest.approx(9_120)
    assert lines["Room air"] == pytest.approx(10_080)
    assert lines["Bathroom heat"] == 0
    assert sheet.total_va == pytest.approx(29_200)


def test_d2b_neutral_lines():
    legs = optional(D2B, RULES).legs
    va = {row.label: row.neutral_a * 240 for row in legs.rows}
    assert va["General load"] == pytest.approx(5_100)
    # Printed with 13.1 kVA at 55 % rounded down to 7200 VA; exact, 7205 VA.
    assert va["Oven, Cooking unit"] == pytest.approx(5_040, abs=4)
    assert va["Washer with dryer"] == pytest.approx(3_500)


# --- ask-the-electrician.com/electric-service-calculation.html (standard method) ---------------


@pytest.mark.parametrize("edition", PRINTED)
def test_3000_ft2_house_by_the_standard_method(edition):
    house = Dwelling(
        "House",
        3000,
        existing_a=200,
        loads=(
            Load("Range", "cooking", 12_000),
            Load("Central heat", "central_heat", 20_000),
            Load("Water heater", "fastened", 5_000),
            Load("Air conditioner", "cooling", 9_000),
            Load("Dishwasher", "fastened", 1_000, volts=120),
            Load("Disposer", "fastened", 900, volts=120),
            Load("Dryer", "dryer", 4_500),
        ),
    )
    sheet = standard(house, rulebook(edition))
    lines = demands(sheet)
    assert lines["Lighting and general plugs"] == 9_000
    assert (lines["Small-appliance circuits"], lines["Laundry circuits"]) == (3_000, 1_500)
    assert lines["First 3,000 VA at 100 %"] == 3_000
    assert lines["Remainder at 35 %"] == pytest.approx(3_675)
    assert lines["Dryer"] == 5_000  # never less than 5000 VA
    assert lines["Range"] == 8_000
    fixed = ("Water heater", "Dishwasher", "Disposer")
    assert sum(lines[name] for name in fixed) == 6_900  # three only: no 75 %
    assert lines["Central heat"] == 20_000
    assert lines["Air conditioner"] == 0
    assert sheet.total_va == pytest.approx(46_575)
    assert sheet.rounded_a == 194
    assert sheet.standard_a == 200


def test_its_200_a_service_takes_2_0_copper():
    answer = size_run(Run(10, 194, device_a=200, whole_dwelling=True, service=True), RULES)
    assert answer.size == "2/0"


# --- forums.mikeholt.com thread 108600, second sum: 2680 ft2, furnace of 25 kW in all -----------


@pytest.mark.parametrize("edition", PRINTED)
def test_2680_ft2_all_electric_house(edition):
    house = Dwelling(
        "House",
        2680,
        loads=(
            Load("Double oven", "cooking", 9_600),
            Load("Water heater", "fastened", 4_500),
            Load("Dryer", "dryer", 5_000),
            Load("Dishwasher", "fastened", 1_200, volts=120),
            Load("Disposer", "fastened", 600, volts=120),
            Load("Well", "individual", 2_400),
            Load("Cooktop", "cooking", 4_500),
            Load("Vacuum", "individual", 4_500, quantity=2),
            Load("Furnaces", "central_heat", 25_000),
        ),
    )
    sheet = optional(house, rulebook(edition))
    lines = demands(sheet)
    assert lines["Lighting and general plugs"] == 8_040
    carried = [line for line in sheet.lines if line.factor is None]
    assert sum(line.connected_va for line in carried) == 49_340
    assert lines["First 10,000 VA at 100 %"] == 10_000
    assert lines["Remainder at 40 %"] == pytest.approx(15_736)
    assert lines["Furnaces"] == pytest.approx(16_250)
    assert sheet.total_va == pytest.approx(41_986)
    assert sheet.rounded_a == 175


# --- tradelicenseprep.com, voltage drop lesson (K 12.9, Chapter 9 Table 8) ----------------------


@pytest.mark.parametrize(("size", "volts", "percent"), [("12", 7.9, 6.6), ("8", 3.1, 2.6)])
def test_20_a_over_100_ft_at_120_v(size, volts, percent):
    drop = voltage_drop(amps=20, stretches=[Stretch(100, size, "copper")], volts=120, rules=RULES)
    assert drop.dc_v == pytest.approx(volts, abs=0.05)
    assert drop.dc_share * 100 == pytest.approx(percent, abs=0.05)


def test_of_those_two_the_larger_holds_3_percent_and_10_awg_would_not():
    answer = size_run(Run(100, 20, volts=120, device_a=20, terminal_c=75, drop_share=0.03), RULES)
    assert answer.size == "8"
    assert {c.size: c.drops_ok for c in answer.candidates}["10"] is False


# --- Goodheart-Willcox, Modern Commercial Wiring 2018, sample problems 6-7 and 6-8 --------------


def test_mixed_sizes_in_rigid_conduit():
    wires = [Wires("12", 1, "THHN"), Wires("10", 1, "THHN"), Wires("8", 3, "THHN")]
    areas = [w.count * conductor(w.size).area_in2["thhn"] for w in wires]
    assert sum(areas) == pytest.approx(0.1442)
    found = trade_size_needed(kind="rmc", wires=wires, rules=RULES)
    assert found is not None
    assert found.raceway.trade_size == "3/4"
    smaller = fill(kind="rmc", trade_size="1/2", wires=wires, rules=RULES)
    assert 0.40 * smaller.raceway.total_in2 == pytest.approx(0.125, abs=0.001)  # cut, not rounded
    assert not smaller.fits


# --- tests.com electrician maths practice test, questions 8 and 13 (250.122(B)) -----------------


@pytest.mark.parametrize(
    ("device_a", "base", "needed", "installed", "grown"),
    [(400, "3", "3/0", "250", "1"), (150, "6", "1/0", "350", "1/0")],
)
def test_grounds_grown_with_their_hots(device_a, base, needed, installed, grown):
    assert base_ground_size(device_a=device_a, metal="copper") == base
    size, _ = equipment_ground(
        device_a=device_a,
        metal="copper",
        needed_size=needed,
        installed_size=installed,
        rules=RULES,
    )
    assert size == grown


def test_20_a_on_6_awg_takes_a_ground_of_6():
    """ecmag.com, Code Question of the Day 2013-04-12: 12 to 6 AWG, ground 12 to 6."""
    size, _ = equipment_ground(
        device_a=20, metal="copper", needed_size="12", installed_size="6", rules=RULES
    )
    assert size == "6"


# --- Slips in print: the rule, not the print ----------------------------------------------------


def test_a_ratio_that_is_rounded_asks_for_a_ground_one_size_too_large():
    """forums.mikeholt.com thread 2548368 rounds 26,240/16,510 to 1.6 and so asks for 6 AWG.

    Exact: 26,240 x 10,380 / 16,510 = 16,497 cmil, and 8 AWG has 16,510.
    """
    assert 10_380 * 1.6 > 16_510 > 26_240 * 10_380 / 16_510
    size, _ = equipment_ground(
        device_a=40, metal="copper", needed_size="8", installed_size="6", rules=RULES
    )
    assert size == "8"


def test_three_4_thhn_and_an_8_do_not_fit_3_4_emt():
    """A worked answer on smartsolve.ai takes 8 AWG's area for 4 AWG's and says 3/4 in."""
    wires = [Wires("4", 3, "THHN"), Wires("8", 1, "THHN")]
    areas = [w.count * conductor(w.size).area_in2["thhn"] for w in wires]
    assert sum(areas) == pytest.approx(0.2838)
    found = trade_size_needed(kind="emt", wires=wires, rules=RULES)
    assert found is not None
    assert found.raceway.trade_size == "1"


# --- Held out: found after the rules were written, passed without a change ----------------------


def test_three_sizes_of_thwn_in_emt():
    """Steel Tube Institute, NEC conduit and EMT fill tables (resources, post 4).

    3 of 12, 4 of 10 and 8 of 8 AWG: .0399 + .0844 + .2928 = .4171 in²; 1 in EMT holds .346,
    1-1/4 in .598.
    """
    wires = [Wires("12", 3, "THWN"), Wires("10", 4, "THWN"), Wires("8", 8, "THWN")]
    areas = [w.count * w.area_in2 for w in wires]
    assert areas == pytest.approx([0.0399, 0.0844, 0.2928])
    found = trade_size_needed(kind="emt", wires=wires, rules=RULES)
    assert found.area_in2 == pytest.approx(0.4171)
    assert found.raceway.trade_size == "1-1/4"
    assert found.allowed_in2 == pytest.approx(0.598, abs=0.0005)
    smaller = fill(kind="emt", trade_size="1", wires=wires, rules=RULES)
    assert smaller.allowed_in2 == pytest.approx(0.346, abs=0.0005)
    assert not smaller.fits


def test_2_thwn_at_100_fahrenheit():
    """electricianmath.com, temperature correction: 115 A x .88 = 101.2 A."""
    found = ampacity(size="2", metal="copper", letters="THWN", ambient_c=AT_100_F, rules=RULES)
    assert found.adjusted_a == pytest.approx(101.2)


def test_eight_10_thhn_at_100_fahrenheit():
    """forums.mikeholt.com thread 2579629 (2017): 40 A x .70 x .91 = 25.5 A, an inspector's answer.

    The 25 A the asker found starts from 35 A of the 75 °C column and leaves the heat out (24.5 A).
    """
    found = ampacity(
        size="10",
        metal="copper",
        letters="THHN",
        ambient_c=AT_100_F,
        current_carrying=8,
        rules=rulebook("2017"),
    )
    assert (found.ambient_factor, found.bundle_factor) == (0.91, 0.70)
    assert found.adjusted_a == pytest.approx(25.48)


def test_an_engine_at_4500_ft():
    """progressivegardening.com, agricultural engineering text: 3 % for each 1000 ft above 500 ft.

    225 hp leave 198 hp (the answer is derived, not printed).
    """
    left = derated_kw(
        rated_kw=225,
        altitude_ft=4500,
        outdoor_f=77,
        altitude_derate_per_1000ft=0.03,
        altitude_free_ft=500,
        heat_derate_per_10f=0.01,
        heat_free_f=77,
    )
    assert left == pytest.approx(198)
