from __future__ import annotations

from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from server.advise.confirm import to_confirm
from server.domain.site import PLACE_NOT_TOLD
from server.store.sites import SiteStore
from tests.web.conftest import form_in, problem_at
from tests.web.start_walk import walked


@pytest.mark.parametrize("picked", ["other", ""])
@pytest.mark.parametrize(("way", "kw"), [("portable", "7.5"), ("whole-house", "17.5")])
def test_a_set_of_any_size_can_be_told(
    browser: TestClient, sites: SiteStore, picked: str, way: str, kw: str
):
    page = walked(browser, way, generator_kw=picked, generator_other_kw=kw, fuel="gasoline")
    assert browser.post("/start", data=form_in(page, "/start")).status_code == 303
    (generator,) = sites.get(sites.list_sites()[0].id).site.generators
    assert generator.rated_kw == float(kw)


def test_7_5_kw_is_in_both_lists(browser: TestClient):
    for way in ("portable", "whole-house"):
        page = browser.get(f"/start?step=sources&way={way}").text
        assert '<option value="7.5">7.5 kW</option>' in page
        assert '<option value="other">' in page


@pytest.mark.parametrize(
    ("picked", "written", "said"),
    [
        ("other", "", "Write the kilowatts on its plate, 1 to 150."),
        ("10", "12", "pick “another size” there"),
        ("other", "900", "150"),
        ("", "large", "number"),
    ],
)
def test_a_size_that_cannot_be_is_told_beside_it_and_kept(
    browser: TestClient, picked: str, written: str, said: str
):
    asked = {"way": "portable", "generator_kw": picked, "generator_other_kw": written}
    answer = browser.get(f"/start?{urlencode(asked | {'step': 'things'})}")
    assert answer.status_code == 422
    assert said in problem_at(answer.text, "generator_other_kw")
    assert form_in(answer.text, "/start")["generator_other_kw"] == written
    assert form_in(answer.text, "/start")["generator_kw"] == picked


def test_what_nobody_told_is_listed_before_and_after_the_house_is_made(
    browser: TestClient, sites: SiteStore
):
    page = walked(browser, "whole-house", generator_kw="20")
    for taken in ("propane", "by itself, within seconds", "Cold winters, hot summers"):
        assert f'<span class="guess">{taken}' in page
    browser.post("/start", data=form_in(page, "/start"))
    card = sites.list_sites()[0]
    site = sites.get(card.id).site
    assert "Fuel propane; Changeover by itself" in site.note
    (generator,) = site.generators
    assert (generator.rated_kw, generator.figure_source) == (20, "guess")
    (read,) = (one for one in to_confirm(site) if one.part_id == generator.id)
    assert (read.name, read.value) == ("Fuel and tank of Standby generator", 500)
    assert "Told: its size. Taken, for nobody told: its fuel, its tank." in read.where


def test_a_size_that_was_told_is_no_guess_where_its_fuel_is_one(
    browser: TestClient, sites: SiteStore
):
    page = walked(browser, "backed-up-panel", generator_kw="20", solar="6")
    assert '<span class="guess">4.8</span> kW ac' in page
    assert "0.8 of the 6 kW dc of the modules" in page
    browser.post("/start", data=form_in(page, "/start"))
    card = sites.list_sites()[0]
    supply = browser.get(f"/sites/{card.id}/supply").text
    row = supply[supply.index('id="part-generator"') :].partition("</tr>")[0]
    assert 'class="guess"' not in row
    assert "<i>fuel and tank a guess</i>" in row
    sun = supply[supply.index('id="part-solar"') :].partition("</tr>")[0]
    assert 'class="guess"' in sun
    assert "modules of 6 kW dc" in sun
    assert "<i>inverter and breaker a guess</i>" in sun

    at = f"/sites/{card.id}/supply/generator"
    form = browser.get(at).text
    assert "Told already, and no guess: its size." in form
    browser.post(at, data=form_in(form, at) | {"cool_down_min": "6"})
    assert sites.get(card.id).site.generators[0].told == ("rated_kw",)
    form = browser.get(at).text
    browser.post(at, data=form_in(form, at) | {"rated_kw": "22"})
    assert sites.get(card.id).site.generators[0].told == ()


def test_a_set_is_known_when_its_size_fuel_and_tank_are(browser: TestClient, sites: SiteStore):
    for tank, source in (("", "guess"), ("250", "nameplate")):
        page = walked(
            browser, "whole-house", generator_kw="20", fuel="propane", tank_gal=tank,
            changeover="manual", climate="cold",
        )  # fmt: skip
        assert "by itself, within seconds" not in page
        fields = form_in(page, "/start") | {"name": f"House {source}"}
        browser.post("/start", data=fields)
        card = next(c for c in sites.list_sites() if c.name == f"House {source}")
        site = sites.get(card.id).site
        assert site.generators[0].figure_source == source
        assert "nobody told" not in site.note


@pytest.mark.parametrize("fuel", ["propane", ""])
def test_propane_in_cylinders_is_counted_in_gallons(
    browser: TestClient, sites: SiteStore, fuel: str
):
    asked = browser.get("/start?step=sources&way=portable").text
    assert "a 20 lb cylinder: 4.7 gal, 431,000 Btu" in asked
    assert "4.24 lb and 91,333 Btu a gallon" in asked
    page = walked(browser, "portable", generator_kw="5", fuel=fuel, tank_gal="lb-20-two")
    assert browser.post("/start", data=form_in(page, "/start")).status_code == 303
    (generator,) = sites.get(sites.list_sites()[0].id).site.generators
    assert generator.fuel == "propane"
    assert generator.tank is not None
    full_gal = generator.tank.capacity_gal * generator.tank.fill_share
    assert full_gal == pytest.approx(2 * 20 / 4.24, rel=0.001)


@pytest.mark.parametrize(
    ("way", "picked", "count"),
    [
        ("portable", "lb-100-two", 2),
        ("portable", "lb-100", 1),
        ("whole-house", "lb-420-two", 2),
        ("whole-house", "500", 1),
    ],
)
def test_two_cylinders_are_two_vessels_of_the_house_that_is_made(
    browser: TestClient, sites: SiteStore, way: str, picked: str, count: int
):
    page = walked(browser, way, generator_kw="10", fuel="propane", tank_gal=picked)
    assert browser.post("/start", data=form_in(page, "/start")).status_code == 303
    (generator,) = sites.get(sites.list_sites()[0].id).site.generators
    assert generator.tank is not None
    assert generator.tank.vessels == count


def test_a_set_that_stays_is_offered_cylinders_that_stay(browser: TestClient):
    page = browser.get("/start?step=sources&way=whole-house").text
    assert "two 420 lb cylinders" in page
    assert "20 lb cylinder:" not in page
    assert "two 420 lb cylinders" not in browser.get("/start?step=sources&way=portable").text


@pytest.mark.parametrize(
    ("way", "fuel", "tank", "said"),
    [
        ("whole-house", "natural_gas", "250", "Natural gas comes by pipe"),
        ("portable", "natural_gas", "lb-20", "Natural gas comes by pipe"),
        ("portable", "gasoline", "lb-30", "Cylinders hold propane, and the fuel is gasoline"),
    ],
)
def test_a_tank_that_does_not_fit_the_fuel_is_refused_beside_it_and_kept(
    browser: TestClient, way: str, fuel: str, tank: str, said: str
):
    asked = {"way": way, "fuel": fuel, "tank_gal": tank, "step": "things"}
    answer = browser.get(f"/start?{urlencode(asked)}")
    assert answer.status_code == 422
    assert said in problem_at(answer.text, "tank_gal")
    assert form_in(answer.text, "/start")["tank_gal"] == tank
    assert browser.get(f"/start?{urlencode(asked | {'tank_gal': ''})}").status_code == 200


def test_a_place_of_too_many_letters_is_told_beside_its_field(browser: TestClient):
    page = walked(browser, "portable")
    answer = browser.post("/start", data=form_in(page, "/start") | {"place_name": "N" * 81})
    assert answer.status_code == 422
    assert "80" in problem_at(answer.text, "place_name")
    assert "N" * 81 in answer.text


@pytest.mark.parametrize(
    ("place", "kept"),
    [("  Fern Hollow ", "Fern Hollow"), ("\u202e\u200b", PLACE_NOT_TOLD), ("", PLACE_NOT_TOLD)],
)
def test_a_place_is_kept_as_it_is_seen(
    browser: TestClient, sites: SiteStore, place: str, kept: str
):
    page = walked(browser, "portable")
    answer = browser.post("/start", data=form_in(page, "/start") | {"place_name": place})
    assert answer.status_code == 303
    assert sites.get(sites.list_sites()[0].id).site.place.name == kept
