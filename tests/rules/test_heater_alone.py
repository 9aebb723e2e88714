"""Furnaces and boilers that burn fuel, on a branch circuit of their own (422.12), from memory.

Exception 1 lets their own pump, valve, humidifier and air cleaner be on it, exception 2 cooling
equipment that is wired in. Fixed electric space heating is left out: 424 has its own rules.
"""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.check import check_site
from tests.rules.check_sites import of_kind, plain


def told(kind, *others, spaces=(1,), edition="2023"):
    base = of_kind("heat", "main", spaces, kind, breaker_a=20)
    things = tuple(KINDS[k].appliance(f"other-{n}", load_w=300) for n, k in enumerate(others))
    circuit = base.model_copy(update={"appliances": (*base.appliances, *things)})
    report = check_site(plain(circuit, code_edition=edition), recheck=True)
    return [f for f in report.findings if f.code == "heater-not-alone"]


@pytest.mark.parametrize("edition", ["2017", "2020", "2023", "2026"])
@pytest.mark.parametrize("kind", ["gas-furnace", "oil-furnace", "boiler"])
def test_a_furnace_shares_its_circuit_with_no_plugs(kind, edition):
    (one,) = told(kind, "plugs", edition=edition)
    assert (one.severity, one.section) == ("warning", "422.12")
    assert KINDS["plugs"].name in one.text
    assert one.recheck.clears
    assert not one.recheck.brings


@pytest.mark.parametrize("other", ["lighting", "freezer", "sump-pump", "room-air", "gas-furnace"])
def test_nor_with_lights_another_appliance_or_another_furnace(other):
    assert [f.severity for f in told("gas-furnace", other)] == ["warning"]


@pytest.mark.parametrize(
    "other", ["humidifier", "air-purifier", "hot-water-circulator", "thermostat-supply"]
)
def test_its_own_pump_humidifier_and_cleaner_may_be_there(other):
    assert told("gas-furnace", other) == []


def test_wired_cooling_may_be_there():
    assert told("gas-furnace", "central-air", spaces=(1, 3)) == []


def test_only_what_is_no_part_of_it_is_told():
    (one,) = told("boiler", "hot-water-circulator", "plugs")
    assert KINDS["hot-water-circulator"].name not in one.text
    assert one.mend == f"Give {KINDS['plugs'].name} a circuit apart."


@pytest.mark.parametrize("kind", ["pellet-stove", "electric-furnace", "gas-fireplace"])
def test_a_stove_and_electric_heat_are_not_central_equipment_that_burns_fuel(kind):
    spaces = (1, 3) if kind == "electric-furnace" else (1,)
    assert told(kind, "plugs", spaces=spaces) == []


def test_what_tells_nothing_of_itself_may_be_the_pump_of_the_heater():
    base = of_kind("heat", "main", (1,), "boiler")
    pump = KINDS["plugs"].appliance("pump", load_w=80).model_copy(update={"kind": "other"})
    circuit = base.model_copy(update={"appliances": (*base.appliances, pump)})
    found = check_site(plain(circuit)).findings
    assert [f.severity for f in found if f.code == "heater-not-alone"] == ["note"]
