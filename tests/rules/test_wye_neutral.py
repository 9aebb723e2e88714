"""Two legs and the neutral of a 120/208 V wye."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.measured import Record, measured
from server.rules.demand.optional import optional
from server.rules.demand.selected import selected
from server.rules.demand.standard import standard
from server.rules.editions import rulebook

RULES = rulebook("2023")
COOKING = (Load("Range", "cooking", 12_000), Load("Dryer", "dryer", 5_500))


def rows(volts, *loads, area_ft2=1500):
    sheet = standard(Dwelling("Flat", area_ft2, loads=loads, volts=volts), RULES)
    return sheet.legs, {r.label: r for r in sheet.legs.rows}


@pytest.mark.parametrize(("label", "va"), [("Range", 8000), ("Dryer", 5500)])
def test_range_and_dryer_load_the_neutral_of_a_wye_in_full(label, va):
    """220.61(C)(1): no reduction; the 70 % of (B)(1) is for 120/240 V."""
    _, wye = rows(208, *COOKING)
    assert wye[label].neutral_a == pytest.approx(va / 208)
    assert wye[label].section == "220.61(C)(1)"
    _, single = rows(240, *COOKING)
    assert single[label].neutral_a == pytest.approx(0.7 * va / 240)
    assert single[label].section == "220.61(B)(1)"


def test_120_v_load_of_a_wye_is_half_on_each_leg_over_120_v():
    """1,500 ft²: 3,000 VA + 35 % of 6,000 VA = 5,100 VA; 5,100 / 2 / 120 = 21.25 A."""
    _, wye = rows(208)
    general = wye["General load"]
    assert (general.l1_a, general.l2_a, general.neutral_a) == pytest.approx((21.25, 21.25, 21.25))


@pytest.mark.parametrize(("volts", "cut"), [(208, False), (240, True)])
def test_only_a_neutral_of_120_240_v_is_cut_above_200_a(volts, cut):
    """(C)(1) also bars the 70 % of (B)(2)."""
    machines = [
        Load(f"{leg} {n}", "individual", 3000, volts=120, leg=leg)
        for n in range(10)
        for leg in ("L1", "L2")
    ]
    legs, found = rows(volts, *machines)
    assert legs.unbalance_a > 250
    assert ("Neutral above 200 A" in found) is cut
    assert (legs.neutral_a < legs.unbalance_a) is cut


def test_the_amps_of_a_wye_add_each_load_over_its_own_volts():
    """5,100 VA / 2 / 120 V = 21.25 A, (8,000 + 5,500) VA / 208 V = 64.90 A; 18,600 / 208 = 89.4."""
    sheet = standard(Dwelling("Flat", 1500, loads=COOKING, volts=208), RULES)
    found = {step.label: step for step in sheet.amp_lines}
    assert found["To neutral, half on each leg"].sum == "5,100 VA / 2 / 120 V"
    assert found["Between the legs"].sum == "13,500 VA / 208 V"
    assert found["Both on a leg"].sum == "21.2 A + 64.9 A"
    assert sheet.amps == sheet.leg_a == pytest.approx(86.154, abs=0.001)
    assert [t.value for t in sheet.working.terms if t.name == "To neutral"] == [5100]


def test_the_fuller_leg_of_a_wye_decides():
    """Two saws of 1,800 VA on L1 are 30 A there, though 3,600 VA over 208 V are 17.3 A."""
    saws = Load("Saws", "individual", 1800, quantity=2, volts=120, leg="L1")
    sheet = standard(Dwelling("Shed", 0, 0, 0, loads=(saws,), volts=208, existing_a=25.0), RULES)
    assert (sheet.amps, sheet.leg_a, sheet.fits) == (pytest.approx(15), pytest.approx(30), False)


@pytest.mark.parametrize("category", ["individual", "fastened", "central_heat"])
def test_a_nameplate_of_240_v_counts_over_208_v_on_the_fuller_leg(category):
    """A 2,080 VA heater is 10 A of each leg, and 1,200 VA on L2 are 10 A more there."""
    loads = (
        Load("Heater", category, 2_080, volts=240),
        Load("Kettle", "individual", 1_200, volts=120, leg="L2"),
    )
    sheet = standard(Dwelling("Set", 0, 0, 0, loads=loads, volts=208), RULES)
    assert (sheet.legs.l1_a, sheet.legs.l2_a) == (pytest.approx(10), pytest.approx(20))
    assert sheet.leg_a == pytest.approx(20)
    assert sheet.amps == pytest.approx(15)


def test_what_is_selected_on_a_wye_set_is_counted_the_same_way():
    loads = (
        Load("Pump", "individual", 2_080),
        Load("Fridge", "individual", 600, volts=120, leg="L1"),
        Load("Lamps", "individual", 600, volts=120, leg="L2"),
    )
    sheet = selected(Dwelling("Set", 0, volts=208, existing_a=20), loads, RULES)
    assert sheet.leg_a == pytest.approx(15)


def test_the_120_v_part_of_a_240_v_load_lies_over_120_v_of_a_wye():
    """1,200 of its 3,280 VA from L1: 10 A there, and 2,080 VA / 208 V = 10 A on both."""
    pump = Load("Heat pump", "heat_pump", 3_280, neutral_va=1_200, leg="L1")
    sheet = standard(Dwelling("Set", 0, 0, 0, loads=(pump,), volts=208), RULES)
    assert (sheet.legs.l1_a, sheet.legs.l2_a) == (pytest.approx(20), pytest.approx(10))


def test_a_method_without_legs_of_its_own_takes_all_of_it_over_208_v():
    """The most it can be: what of its total lies to neutral it does not tell."""
    sheet = optional(Dwelling("Flat", 1500, loads=COOKING, volts=208), RULES)
    assert sheet.amps == sheet.leg_a == pytest.approx(sheet.total_va / 208)


def test_a_sheet_that_takes_all_of_it_over_208_v_says_so_and_what_apart_it_would_be():
    """2023: 4,500 + 3,000 + 1,500 + 12,000 + 5,500 = 26,500 VA; 10,000 + 40 % = 16,600 VA.

    By the standard method 5,100 of 18,600 VA lie to neutral, so 4,551.6 of 16,600 do:
    4,551.6 / 240 + 12,048.4 / 208 = 76.9 A, under 16,600 / 208 = 79.8 A.
    """
    sheet = optional(Dwelling("Flat", 1500, loads=COOKING, volts=208), RULES)
    (note,) = (n for n in sheet.notes if "over 208 V" in n)
    assert "All 16,600 VA" in note
    assert "(79.8 A on each)" in note
    assert "With 4,552 VA of it to neutral" in note
    assert note.endswith("it would be 76.9 A.")
    plain = optional(Dwelling("House", 1500, loads=COOKING), RULES)
    assert not any("208 V" in n for n in plain.notes)
    own = standard(Dwelling("Flat", 1500, loads=COOKING, volts=208), RULES)
    assert not any("208 V" in n for n in own.notes)


def test_a_measured_peak_on_a_wye_says_that_all_of_it_counts_over_208_v():
    record = Record(peak_va=10_400, kind="year", days=365, interval_min=15)
    sheet = measured(record, (), name="Flat", existing_a=100, volts=208, rules=RULES)
    (note,) = (n for n in sheet.notes if "over 208 V" in n)
    assert "All 13,000 VA" in note
    assert "(62.5 A on each)" in note
    assert "With" not in note


@given(
    st.lists(
        st.builds(
            lambda va, between: Load(
                "Load", "individual", va, volts=240 if between else 120, leg=None
            ),
            st.floats(100, 20_000),
            st.booleans(),
        ),
        max_size=8,
    )
)
def test_all_of_it_over_208_v_is_never_less_than_each_over_its_own_volts(loads):
    """What the note calls the most it can be."""
    dwelling = Dwelling("Flat", 1500, loads=tuple(loads), volts=208)
    apart = standard(dwelling, RULES)
    assert apart.total_va / 208 >= apart.amps - 1e-9
