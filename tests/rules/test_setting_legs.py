"""A manager's setting over its own circuits lies on their legs (220.70, 220.61(A))."""

from __future__ import annotations

import pytest

from server.rules.demand.general import continuous_part
from server.rules.demand.inputs import Dwelling, Load, Setting
from server.rules.demand.standard import standard
from server.rules.editions import rulebook

RULES = rulebook("2023")


def heater(name, leg, **more):
    return Load(name, "individual", 1500, volts=120, leg=leg, group="m", **more)


def part(*loads, setting_a, volts=240.0):
    setting = Setting("m", "Manager", setting_a * volts)
    return Dwelling(
        "Feeder", 0, 0, 0, loads, (setting,), volts=volts, whole=False, is_service=False
    )


def wires_a(dwelling):
    legs = standard(dwelling, RULES).legs
    return legs.l1_a, legs.l2_a, legs.neutral_a


@pytest.mark.parametrize(("setting_a", "l1_a"), [(15, 15.0), (20, 20.0), (30, 25.0)])
def test_members_on_one_leg_load_that_leg_alone(setting_a, l1_a):
    """By hand: 2 x 1,500 VA / 120 V = 25 A on L1, of which the manager lets its setting pass."""
    both = (heater("Sauna", "L1"), heater("Kiln", "L1"))
    assert wires_a(part(*both, setting_a=setting_a)) == pytest.approx((l1_a, 0.0, l1_a))


def test_members_on_both_legs_are_held_on_each():
    """By hand: 12.5 A on L1, 25 A on L2 held at 20 A; the neutral has the larger, 220.61(A)."""
    three = (heater("Sauna", "L1"), heater("Kiln", "L2"), heater("Oven", "L2"))
    assert wires_a(part(*three, setting_a=20)) == pytest.approx((12.5, 20.0, 20.0))


def test_a_load_of_the_other_leg_is_set_against_them_on_the_neutral():
    """By hand: 20 A from L1 and 10 A from L2 to neutral: the fuller leg has 20 A."""
    other = Load("Plugs", "individual", 1200, volts=120, leg="L2")
    both = (heater("Sauna", "L1"), heater("Kiln", "L1"), other)
    assert wires_a(part(*both, setting_a=20)) == pytest.approx((20.0, 10.0, 20.0))


def test_what_lies_between_the_legs_is_on_both():
    """By hand: 18.75 + 12.5 = 31.25 A on L1, held at 25 A; L2 18.75 A; to neutral 12.5 A."""
    tank = Load("Tank", "fastened", 4500, group="m")
    mixed = part(tank, heater("Sauna", "L1"), setting_a=25)
    assert wires_a(mixed) == pytest.approx((25.0, 18.75, 12.5))


def test_a_leg_that_the_setting_holds_runs_for_hours():
    """By hand (220.70): 20 A on L1 alone, and 25 % of that more; the line says what holds it."""
    held = part(heater("Sauna", "L1"), heater("Kiln", "L1"), setting_a=20)
    assert continuous_part(held, RULES).amps(240) == pytest.approx((20.0, 0.0))
    sheet = standard(held, RULES)
    assert sheet.leg_needed_a == pytest.approx((25.0, 0.0))
    (line,) = [line for line in sheet.lines if line.label == "Manager"]
    assert "on a leg more than its setting of 20 A" in line.note


def test_a_setting_that_holds_nothing_off_keeps_what_runs_for_hours_on_its_leg():
    held = part(heater("Mat", "L2", continuous=True), heater("Kiln", "L2"), setting_a=30)
    assert continuous_part(held, RULES).amps(240) == pytest.approx((0.0, 12.5))


def test_on_two_legs_of_a_wye_each_load_counts_over_its_own_volts():
    """By hand: 4,160 VA / 208 V + 12.5 A = 32.5 A on L1, held at 30 A; 20 A on L2."""
    tank = Load("Tank", "fastened", 4160, volts=208, group="m")
    mixed = part(tank, heater("Sauna", "L1"), setting_a=30, volts=208)
    l1_a, l2_a, _ = wires_a(mixed)
    assert (l1_a, l2_a) == pytest.approx((30.0, 20.0))
