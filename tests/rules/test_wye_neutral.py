"""Two legs and the neutral of a 120/208 V wye."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load
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
