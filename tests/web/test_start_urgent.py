from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from server.advise.begin.choices import Thing
from server.domain.circuit import Circuit
from server.store.sites import SiteStore
from server.web.start_view import ANSWERED_BY
from tests.web.conftest import form_in, problem_at
from tests.web.start_walk import on

LAST = "/start?step=forgotten&way=backed-up-panel&seen=1"


def on_circuit(sites: SiteStore, kind_id: str) -> Circuit:
    site = sites.get(sites.list_sites()[0].id).site
    return next(c for c in site.circuits if any(a.kind == kind_id for a in c.appliances))


def test_what_must_not_go_dark_is_asked_and_begins_with_what_harms_at_once(browser: TestClient):
    page = browser.get(f"{LAST}&have.sump-pump=on&have.freezer=on&have.range-oven=on").text
    listed = page[page.index('id="must-h"') : page.index('id="made-h"')]
    assert re.search(r'name="must.sump-pump" value="on" checked', listed)
    assert re.search(r'name="must.freezer" value="on">', listed)
    assert "1 other thing that can wait" in listed
    assert listed.index("must.sump-pump") < listed.index("must.freezer")
    assert listed.index("<details>") < listed.index("must.range-oven")
    fields = form_in(page, "/start")
    assert (fields["must.sump-pump"], fields["must.freezer"]) == ("on", "off")


def test_what_health_needs_is_ticked_beforehand_and_is_made_so(browser: TestClient):
    page = browser.get(f"{LAST}&have.hospital-bed=on&have.medicine-refrigerator=on").text
    for kind in ("hospital-bed", "medicine-refrigerator"):
        assert re.search(rf'name="must.{kind}" value="on" checked', page)
    bed = Thing(kind_id="hospital-bed")
    assert (bed.load_class, bed.gap_min) == ("must_serve", 60.0)
    assert Thing(kind_id="hospital-bed", must=False).load_class == "important"


def test_what_is_said_of_it_is_kept_on_the_way_back_and_arrives(
    browser: TestClient, sites: SiteStore
):
    page = browser.get(f"{LAST}&have.sump-pump=on&have.freezer=on").text
    page = on(browser, page, "things", **{"must.sump-pump": "off", "must.freezer": "on"})
    page = on(browser, page, "forgotten")
    fields = form_in(page, "/start")
    assert (fields["must.sump-pump"], fields["must.freezer"]) == ("off", "on")
    browser.post("/start", data=fields)
    assert on_circuit(sites, "sump-pump").load_class == "important"
    freezer = on_circuit(sites, "freezer")
    assert (freezer.load_class, freezer.allowed_gap_min) == ("must_serve", 1440)


def test_a_medical_device_is_chosen_with_the_hours_of_its_battery(
    browser: TestClient, sites: SiteStore
):
    page = browser.get(LAST).text
    asked = page[page.index("Does anyone rely on a medical device?") :]
    for kind_id in ("oxygen-concentrator", *ANSWERED_BY["oxygen-concentrator"]):
        assert f'name="have.{kind_id}"' in asked
        assert f'name="battery.{kind_id}"' in asked
        assert f'for="f-battery.{kind_id}"' in asked
        assert f'id="h-battery.{kind_id}"' in asked
    assert "counted without one: more than 2 min in the dark" in asked
    answer = {"have.sleep-apnea-machine": "on", "battery.sleep-apnea-machine": "7.5"}
    browser.post("/start", data=form_in(page, "/start") | answer)
    circuit = on_circuit(sites, "sleep-apnea-machine")
    assert (circuit.own_battery_min, circuit.gap_min) == (450, 300)


@pytest.mark.parametrize("hours", ["many", "-1", "400", "nan"])
def test_hours_that_cannot_be_are_told_beside_them_and_kept(
    browser: TestClient, sites: SiteStore, hours: str
):
    fields = form_in(browser.get(LAST).text, "/start")
    fields |= {"have.ventilator": "on", "battery.ventilator": hours}
    answer = browser.post("/start", data=fields)
    assert answer.status_code == 422
    told = problem_at(answer.text, "battery.ventilator")
    assert told == "Write hours, from 0 to 336, or leave it empty."
    again = form_in(answer.text, "/start")
    assert (again["battery.ventilator"], again["have.ventilator"]) == (hours, "on")
    assert sites.list_sites() == ()


def test_hours_that_cannot_be_lead_to_no_dead_end_on_the_way_back_and_on_again(
    browser: TestClient,
):
    page = browser.get(f"{LAST}&have.ventilator=on").text
    page = on(browser, page, "things", **{"battery.ventilator": "four", "must.freezer": "on"})
    fields = form_in(page, "/start") | {"step": "forgotten"}
    again = browser.get("/start", params=fields)
    assert again.status_code == 422
    assert problem_at(again.text, "battery.ventilator").startswith("Write hours")
    kept = form_in(again.text, "/start")
    assert (kept["battery.ventilator"], kept["must.ventilator"]) == ("four", "on")


def test_a_battery_nobody_told_is_listed_as_none_to_rely_on(browser: TestClient):
    page = browser.get(f"{LAST}&have.ventilator=on").text
    assert "Own battery of the home ventilator" in page
    assert "none to rely on" in page
    assert (
        "none to rely on" not in browser.get(f"{LAST}&have.ventilator=on&battery.ventilator=4").text
    )
