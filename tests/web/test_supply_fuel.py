"""The fuel points of a set on its page, typed as a sheet prints them."""

from __future__ import annotations

import re

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in, problem_at


def test_three_points_in_percent_and_heat_are_saved_and_drawn_as_the_curve_they_make(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path)
    assert {f"fuel_points.{i}.load_pct" for i in range(3)} <= set(fields)
    sheet = {"rated_kw": "25", "fuel": "propane", "fuel_rate_in": "Btu/h"}
    sheet |= {"tank.capacity_gal": "500", "tank.fill_share": "80", "tank.reserve_share": "20"}
    for i, (pct, gph) in enumerate(((0, 1.5), (50, 2.9), (100, 4.3))):
        sheet |= {f"fuel_points.{i}.load_pct": str(pct)}
        sheet |= {f"fuel_points.{i}.rate_per_h": f"{gph * 91_333:,.0f}"}
    assert "a guess" in browser.get(path).text.partition('id="burns"')[2]
    assert browser.post(path, data=fields | sheet).status_code == 303
    made = sites.get(stored.id).site.generators[0]
    assert [(p.load_kw, p.load_pct) for p in made.fuel_points] == [
        (None, 0),
        (None, 50),
        (None, 100),
    ]
    burns = browser.get(path).text.partition('id="burns"')[2].partition("</section>")[0]
    assert "guess" not in burns
    assert re.search(r"50 %</th><td class=\"num\">12.5</td><td class=\"num\"><span>2.9<", burns)
    assert "from 0 to 12.5 kW, 1.5 + 0.112 for each kW" in burns
    # 300 gal usable at 4.3 gal/h.
    assert re.search(r"100 %</th>.*<span>70</span>", burns)


def test_load_written_twice_and_gallons_of_gas_are_told_beside_their_fields(
    browser: TestClient, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path) | {"fuel": "natural_gas"}
    fields |= {"fuel_rate_in": "gal/h", "fuel_points.0.load_kw": "5", "fuel_points.0.load_pct": "9"}
    answer = browser.post(path, data=fields | {"fuel_points.0.rate_per_h": "100"})
    assert answer.status_code == 422
    assert "not counted in gallons" in problem_at(answer.text, "fuel_rate_in")
    assert "once" in problem_at(answer.text, "fuel_points.0.load_kw")
    assert 'value="9"' in answer.text


def test_vessels_and_other_appliances_on_the_tank_are_kept_and_counted(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path) | {"fuel": "propane", "tank.capacity_gal": "200"}
    told = {"tank.vessels": "2", "tank.other_btu_h": "40,000"}
    for name, slip in (("tank.vessels", "0"), ("tank.other_btu_h", "-1")):
        answer = browser.post(path, data=fields | told | {name: slip})
        assert answer.status_code == 422
        assert problem_at(answer.text, name)
    assert browser.post(path, data=fields | told).status_code == 303
    tank = sites.get(stored.id).site.generators[0].tank
    assert tank is not None
    assert (tank.vessels, tank.other_btu_h) == (2, 40_000)
    assert "in 2 vessels" in browser.get(f"/sites/{stored.id}/supply").text
    emptied = fields | {"tank.vessels": "", "tank.other_btu_h": ""}
    revision = form_in(browser.get(path).text, path)["revision"]
    assert browser.post(path, data=emptied | {"revision": revision}).status_code == 303
    tank = sites.get(stored.id).site.generators[0].tank
    assert tank is not None
    assert (tank.vessels, tank.other_btu_h) == (1, 0)


def test_gas_meter_and_other_appliances_are_kept_and_a_slip_is_told_beside_its_field(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path)
    assert fields["gas_meter_btu_h"] == fields["other_gas_btu_h"] == ""
    told = {"fuel": "natural_gas", "gas_meter_btu_h": "259,750", "other_gas_btu_h": "0"}
    told |= {"fuel_rate_in": ""} | {n: "" for n in fields if n.startswith("tank.")}
    answer = browser.post(path, data=fields | told | {"gas_meter_btu_h": "-5"})
    assert answer.status_code == 422
    assert problem_at(answer.text, "gas_meter_btu_h")
    assert browser.post(path, data=fields | told).status_code == 303
    made = sites.get(stored.id).site.generators[0]
    assert (made.gas_meter_btu_h, made.other_gas_btu_h) == (259_750, 0)
