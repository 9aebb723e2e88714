"""Heaters that are fixed to a building are electric space heating, whatever room they stand in."""

from __future__ import annotations

import pytest

from server.rules.checks.asked import needed_device_a
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests.rules.check_sites import of_kind, plain

RULES = rulebook("2023")
THREE_MORE = (
    of_kind("dish", "main", (9,), "dishwasher"),
    of_kind("sink", "main", (11,), "disposer"),
    of_kind("water", "main", (13, 15), "water-heater"),
)
HEATERS = ("greenhouse-heater", "bath-heater", "heated-floor")


def heater(kind, **changes):
    spaces = (1, 3) if kind == "greenhouse-heater" else (1,)
    return of_kind("heat", "main", spaces, kind, **changes)


def line(sheet, circuit):
    return next(x for x in sheet.lines if x.label == circuit.appliances[0].name)


@pytest.mark.parametrize("kind", HEATERS)
def test_a_fixed_heater_counts_in_full_and_makes_no_fourth_appliance(kind):
    """220.51: 100 %. 220.53 leaves space heating out, so three others stay at 100 % too."""
    own = heater(kind)
    sheet = demand_of(plain(own, *THREE_MORE), "grid", rules=RULES).sheet("standard")
    assert (line(sheet, own).factor, line(sheet, own).cite.section) == (1.0, "220.51")
    assert all(line(sheet, c).factor == 1.0 for c in THREE_MORE)


@pytest.mark.parametrize("kind", HEATERS)
def test_a_fixed_heater_is_heating_by_the_optional_method(kind):
    """Fewer than four room heaters count at 65 % beside the steps (220.82(C)(4))."""
    own = heater(kind)
    sheet = demand_of(plain(own, *THREE_MORE), "grid", rules=RULES).sheet("optional")
    assert (line(sheet, own).factor, line(sheet, own).cite.section) == (0.65, "220.82(C)(4)")


@pytest.mark.parametrize("kind", HEATERS)
def test_the_device_of_a_fixed_heater_takes_125_percent(kind):
    own = heater(kind, load_w=2400, continuous=False)
    volts = own.appliances[0].volts
    assert needed_device_a(own, 240.0, RULES) == pytest.approx(1.25 * 2400 / volts)


@pytest.mark.parametrize(
    ("edition", "section"), [("2017", "424.3(B)"), ("2020", "424.4(B)"), ("2023", "424.4(B)")]
)
def test_each_edition_names_its_own_rule_for_the_device_of_fixed_heat(edition, section):
    assert rulebook(edition).figure("fixed_heat_device_factor").cite.section == section


@pytest.mark.parametrize(
    ("kind", "continuous", "factor"),
    [
        ("pool-pump", False, 1.25),
        ("pool-pump", True, 1.25),
        ("dishwasher", True, 1.25),
        ("dishwasher", False, 1.0),
    ],
)
def test_a_device_takes_125_percent_by_its_circuit_or_by_the_kind(kind, continuous, factor):
    """210.20(A): what runs three hours or more, by either, and once."""
    spaces = (1, 3) if kind == "pool-pump" else (1,)
    plate = of_kind("x", "main", spaces, kind, continuous=continuous, full_rated=True)
    own = plate.model_copy(update={"full_rated": False})
    assert needed_device_a(own, 240.0, RULES) == pytest.approx(
        factor * needed_device_a(plate, 240.0, RULES)
    )
    assert needed_device_a(plate, 240.0, RULES) > 0


def test_a_motor_held_on_is_not_raised_a_second_time_as_the_largest():
    """10 A of a pool pump held on, and a dishwasher beside it: 12.5 A and no 25 % more."""
    pump = of_kind("pump", "main", (1, 3), "pool-pump", continuous=False)
    dish = of_kind("dish", "main", (1, 3), "dishwasher")
    both = pump.model_copy(update={"appliances": (*pump.appliances, *dish.appliances)})
    each = [needed_device_a(c, 240.0, RULES) for c in (pump, dish)]
    assert needed_device_a(both, 240.0, RULES) == pytest.approx(sum(each))
