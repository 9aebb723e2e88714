"""The run page says what tank, meter and pipe give beside what a set burns."""

from __future__ import annotations

import re

import pytest

from server.domain.scenario import Weather
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from tests.builders import with_parts

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())
HOUSE = read_site_file((DEMOS / "two-family.json").read_bytes())


@pytest.mark.parametrize(("low_f", "high_f", "passed"), [(48, 90, False), (-30, -28, True)])
def test_fuel_part_tells_gas_and_burn_with_their_working(browser, sites, low_f, high_f, passed):
    outage = next(s for s in FARM.scenarios if s.id == "three-day-shutoff")
    weather = Weather(low_f=low_f, high_f=high_f)
    half = {"weather": weather, "span_h": 24, "fuel_at_start_share": 0.5}
    cold = outage.model_copy(update=half)
    stored = sites.create(with_parts(FARM, scenarios=(cold,)))
    page = browser.get(f"/sites/{stored.id}/scenarios/three-day-shutoff").text
    part = page[page.index('id="supply"') :]
    part = part[: part.index("Table of hourly peaks")]
    assert re.search(r"burns [\d,]+ Btu/h of propane in the hour to", part)
    assert "How the gas of the tank was worked out" in part
    assert "manual TP-6727" in part
    assert ("Take a larger tank" in part) is passed


@pytest.mark.parametrize(("meter", "said"), [(100_000, "larger meter"), (None, "is not told")])
def test_fuel_part_tells_what_a_natural_gas_set_asks_of_its_meter(browser, sites, meter, said):
    outage = next(s for s in HOUSE.scenarios if s.id == "three-day-shutoff")
    told = HOUSE.generators[0].model_copy(
        update={"gas_meter_btu_h": meter, "other_gas_btu_h": 40_000}
    )
    day = outage.model_copy(update={"span_h": 24})
    stored = sites.create(with_parts(HOUSE, generators=(told,), scenarios=(day,)))
    page = browser.get(f"/sites/{stored.id}/scenarios/three-day-shutoff").text
    part = page[page.index('id="supply"') :]
    part = part[: part.index("Table of hourly peaks")]
    assert "with 40,000 of all other gas appliances" in part
    assert "How the natural gas was worked out" in part
    assert said in part
