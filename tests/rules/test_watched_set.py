"""A manager that measures a set: what its setting lets pass, on the legs and on the neutral."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load, Setting
from server.rules.demand.standard import standard
from server.rules.demand.watched_set import up_to_setting
from server.rules.editions import rulebook
from server.rules.ocpd import standard_or_none_a

RULES = rulebook("2023")
REST = Load("Well and water", "individual", 12_000)
LIGHTS = Load("Lights", "individual", 1_200, volts=120, leg="L1")
RANGE = Load("Range", "cooking", 12_000)


def sheet(*loads, rules=RULES, settings=()):
    part = Dwelling("Set", 0, 0, 0, loads, settings, whole=False, is_service=False)
    return standard(part, rules)


def held(setting_a, *managed, rules=RULES):
    return up_to_setting(
        sheet(REST, LIGHTS, rules=rules),
        sheet(REST, LIGHTS, *managed, rules=rules),
        name="Manager",
        setting_a=setting_a,
        rules=rules,
    )


def test_a_range_that_the_setting_lets_on_counts_on_the_neutral():
    """By hand: lights 10 A, and 70 % of 8,000 VA / 240 V, 23.3 A (220.61, Table 220.55 note 1)."""
    left = held(70, RANGE)
    assert left.total_va == sheet(REST, LIGHTS).total_va
    assert left.legs.neutral_a == pytest.approx(10 + 23.33, abs=0.01)
    assert sum(row.neutral_a for row in left.legs.rows) == pytest.approx(left.legs.neutral_a)
    assert left.legs.rows[-1].section == "220.61(A)"


def test_the_neutral_is_held_to_the_setting():
    assert held(30, RANGE).legs.neutral_a == pytest.approx(30.0)


def test_a_load_between_the_legs_adds_nothing_to_the_neutral():
    heater = Load("Water heater", "fastened", 4_500)
    assert held(70, heater).legs.neutral_a == pytest.approx(10.0)


@pytest.mark.parametrize(("setting_a", "needed_a"), [(52, 65.0), (48, 60.0), (40, 60.0)])
def test_a_setting_under_the_rest_is_a_continuous_load_too(setting_a, needed_a):
    """By hand: 12,000 / 240 + 10 = 60 A on L1 is left; 52 A x 1.25 = 65 A is more (220.70)."""
    left = held(setting_a, RANGE, Load("Charger", "vehicle", 9_600, continuous=True))
    assert left.needed_a == pytest.approx(needed_a)
    assert left.leg_a == pytest.approx(60.0)
    assert left.standard_a == standard_or_none_a(needed_a)
    assert left.amp_lines[-1].value == left.standard_a


def test_what_can_never_reach_the_setting_is_no_more_than_all_of_it():
    heater = Load("Heater", "individual", 480)
    assert held(200, heater).needed_a == pytest.approx(62.0)


def test_a_setting_over_a_group_carries_its_neutral_up_to_itself():
    """By hand: the range's 23.3 A on the neutral; of a setting of 4,800 VA 20 A."""
    mine = Load("Range", "cooking", 12_000, group="m")
    wide = sheet(mine, settings=(Setting("m", "Manager", 7_200),))
    tight = sheet(mine, settings=(Setting("m", "Manager", 4_800),))
    assert wide.legs.neutral_a == pytest.approx(23.33, abs=0.01)
    assert tight.legs.neutral_a == pytest.approx(20.0)
    assert (tight.legs.l1_a, tight.legs.l2_a) == (20.0, 20.0)
    car = Load("Charger", "vehicle", 9_600, group="m", continuous=True)
    assert sheet(car, settings=(Setting("m", "Manager", 4_800),)).legs.neutral_a == 0.0


CHARGER = Load("Charger", "vehicle", 9_600, continuous=True)


@pytest.mark.parametrize(
    ("setting_a", "edition", "l1_a", "l2_a"),
    [(52, "2023", 65.0, 65.0), (44, "2023", 60.0, 55.0), (52, "2017", 65.0, 65.0)],
)
def test_each_leg_holds_the_larger_of_its_rest_and_the_setting(setting_a, edition, l1_a, l2_a):
    """The rest is 60 A on L1 and 50 A on L2; the setting is a continuous load (220.70)."""
    left = held(setting_a, RANGE, CHARGER, rules=rulebook(edition))
    assert left.leg_needed_a == pytest.approx((l1_a, l2_a))


def test_the_step_says_what_is_let_on_by_its_sum():
    step = held(52, RANGE, CHARGER).amp_lines[-2]
    assert (step.label, step.sum, step.value) == (
        "What Manager lets pass", "1.25 × 52 A, as a continuous load", pytest.approx(65.0)
    )  # fmt: skip
    all_of_it = held(200, Load("Heater", "individual", 480)).amp_lines[-2]
    assert all_of_it.sum == "1.25 × 200 A, as a continuous load, and no more than all of it, 62.0 A"


def test_where_the_setting_asks_for_no_more_the_steps_are_those_of_the_rest():
    assert held(48, RANGE, CHARGER).amp_lines == sheet(REST, LIGHTS).amp_lines


def test_the_row_of_what_is_let_on_is_on_the_neutral_alone_and_says_where_it_is_held():
    tight, wide = held(30, RANGE).legs.rows[-1], held(70, RANGE).legs.rows[-1]
    assert (tight.l1_a, tight.l2_a, wide.l1_a, wide.l2_a) == (0.0, 0.0, 0.0, 0.0)
    assert tight.note == "33.3 A to neutral with all of it on, held at 30 A"
    assert wide.note == "33.3 A to neutral with all of it on"
