from __future__ import annotations

import json

import pytest
from fastapi.testclient import TestClient

from server.domain.cautions import PLANNING_AID
from server.exchange.sitefile import read_site_file, write_site_file
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import double_throw_site, with_parts
from tests.web.conftest import form_in, problem_at


def upload(browser: TestClient, data: bytes, name: str = "farm.json"):
    return browser.post("/sites/open", files={"file": (name, data, "application/json")})


def test_first_use_teaches_and_warns(browser: TestClient):
    page = browser.get("/sites").text
    assert PLANNING_AID.text in page
    assert "No site yet." in page


def test_list_shows_name_place_and_circuits(browser: TestClient, stored: StoredSite):
    page = browser.get("/sites").text
    assert f'<a href="/sites/{stored.id}">Switchable panel</a>' in page
    assert f'<td class="num">{len(stored.site.circuits)}</td>' in page


def test_downloaded_site_file_opens_again_as_the_same_site(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    answer = browser.get(f"/sites/{stored.id}/site-file")
    assert f'filename="{stored.id}.json"' in answer.headers["content-disposition"]
    assert read_site_file(answer.content) == stored.site
    opened = upload(browser, answer.content)
    assert opened.status_code == 303
    new_id = opened.headers["location"].removeprefix("/sites/")
    assert new_id != stored.id
    assert sites.get(new_id).site == with_parts(stored.site, name="Switchable panel 2")
    browser.post(f"/sites/{stored.id}/delete")
    browser.post(f"/sites/{new_id}/delete")
    alone = upload(browser, answer.content).headers["location"].removeprefix("/sites/")
    assert sites.get(alone).site == stored.site


def test_unreadable_file_is_refused_by_name_with_every_field_and_mend(
    browser: TestClient, sites: SiteStore
):
    document = json.loads(write_site_file(double_throw_site()))
    document["site"]["circuits"][0]["breaker_a"] = -5
    document["site"]["panels"][0]["spaces"] = 12.5
    answer = upload(browser, json.dumps(document).encode(), "my <farm>.json")
    assert answer.status_code == 422
    assert "my &lt;farm&gt;.json could not be opened." in answer.text
    assert "<b>circuits.0.breaker_a</b>" in answer.text
    assert "<b>panels.0.spaces</b>" in answer.text
    assert sites.list_sites() == ()


@pytest.mark.parametrize("data", [b"", b"not json", b"[" * 5000, b"\xff\xfe", b"{}"])
def test_any_bytes_get_a_page_that_says_what_is_wrong(browser: TestClient, data: bytes):
    answer = upload(browser, data)
    assert answer.status_code == 422
    assert "farm.json could not be opened." in answer.text


def test_no_file_chosen_is_said(browser: TestClient):
    answer = browser.post("/sites/open", data={"file": "text"})
    assert answer.status_code == 422
    assert "Choose a site file first" in answer.text


def test_empty_house_begins_with_one_service_and_one_panel(browser: TestClient, sites: SiteStore):
    answer = browser.post("/sites", data={"name": "Fern Cottage", "place": "Low Moor"})
    assert answer.status_code == 303
    (card,) = sites.list_sites()
    site = sites.get(card.id).site
    assert answer.headers["location"] == f"/sites/{card.id}/circuits"
    assert (site.name, site.place.name) == ("Fern Cottage", "Low Moor")
    assert (len(site.services), len(site.panels), len(site.circuits)) == (1, 1, 0)
    assert "No circuit in this panel yet." in browser.get(answer.headers["location"]).text


def test_empty_house_without_a_name_keeps_the_place_typed(browser: TestClient):
    answer = browser.post("/sites", data={"name": " ", "place": "Low Moor"})
    assert answer.status_code == 422
    assert problem_at(answer.text, "name") == "This cannot be empty."
    assert 'value="Low Moor"' in answer.text


def test_place_too_long_is_said_at_the_place(browser: TestClient):
    answer = browser.post("/sites", data={"name": "Fern Cottage", "place": "x" * 81})
    assert answer.status_code == 422
    assert "80" in problem_at(answer.text, "place")


def test_sites_of_one_name_are_numbered(browser: TestClient, sites: SiteStore, stored: StoredSite):
    for _ in range(2):
        browser.post("/sites", data={"name": "Fern Cottage"})
        browser.post(f"/sites/{stored.id}/duplicate")
    names = {card.name for card in sites.list_sites()} - {stored.site.name}
    assert names == {
        "Fern Cottage",
        "Fern Cottage 2",
        "Copy of Switchable panel",
        "Copy of Switchable panel 2",
    }


def test_why_solar_goes_dark_is_told_first_put_away_and_kept_in_help(browser: TestClient):
    told = "The sun is shining. Why am I dark?"
    assert told in browser.get("/sites").text
    assert browser.post("/notes/solar/read").status_code == 303
    assert "stays in Help" in browser.get("/sites").text
    assert told not in browser.get("/sites").text
    assert told in browser.get("/help").text


def test_deleted_site_can_be_brought_back(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    browser.post(f"/sites/{stored.id}/delete")
    page = browser.get("/sites").text
    assert "Deleted Switchable panel. It can be brought back" in page
    assert f'action="/sites/{stored.id}/restore"' in page
    assert browser.get(f"/sites/{stored.id}/circuits").status_code == 404
    browser.post(f"/sites/{stored.id}/restore")
    assert sites.get(stored.id).site == stored.site


def test_a_deleted_site_can_be_removed_for_good(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here = f"/sites/{stored.id}/forget"
    browser.post(here)
    assert "Delete the site first" in browser.get("/sites").text
    assert sites.get(stored.id) == stored
    browser.post(f"/sites/{stored.id}/delete")
    shown = form_in(browser.get("/sites").text, here)
    browser.post(f"/sites/{stored.id}/restore")
    browser.post(f"/sites/{stored.id}/delete")
    for old in (shown, {}, {"deleted_at": "soon"}):
        browser.post(here, data=old)
        assert "brought back and deleted again" in browser.get("/sites").text
    browser.post(here, data=form_in(browser.get("/sites").text, here))
    page = browser.get("/sites").text
    assert "Switchable panel is gone for good" in page
    assert f'action="{here}"' not in page
    assert browser.post(f"/sites/{stored.id}/restore").status_code == 404


def test_names_are_escaped(browser: TestClient, sites: SiteStore):
    made = sites.create(double_throw_site(name="<script>alert(1)</script>"))
    for path in ("/sites", f"/sites/{made.id}/circuits", f"/sites/{made.id}/settings"):
        assert "<script>alert" not in browser.get(path).text


def test_settings_saved_unchanged_change_nothing(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/settings"
    fields = form_in(browser.get(path).text, path)
    assert browser.post(path, data=fields).status_code == 303
    assert sites.get(stored.id).site == stored.site


def test_settings_are_saved(browser: TestClient, sites: SiteStore, stored: StoredSite):
    path = f"/sites/{stored.id}/settings"
    fields = form_in(browser.get(path).text, path)
    fields |= {"name": "Hill House", "people": "6", "place.altitude_ft": "1,480"}
    fields |= {"code_edition": "2026", "place.longitude_deg": "−79.5", "floor_area_ft2": ""}
    assert browser.post(path, data=fields).status_code == 303
    site = sites.get(stored.id).site
    assert (site.name, site.people, site.code_edition) == ("Hill House", 6, "2026")
    assert (site.place.altitude_ft, site.place.longitude_deg) == (1480, -79.5)
    assert site.floor_area_ft2 is None


def test_wrong_settings_are_told_at_their_fields_and_kept(browser: TestClient, stored: StoredSite):
    path = f"/sites/{stored.id}/settings"
    fields = form_in(browser.get(path).text, path)
    fields |= {"people": "many", "place.time_zone": "Mars/Base", "note": "line, one"}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert problem_at(answer.text, "people") == "Write a whole number, such as 3."
    assert "time zone is not known" in problem_at(answer.text, "place.time_zone")
    assert 'value="many"' in answer.text
    assert ">line, one</textarea>" in answer.text


def test_settings_saved_by_somebody_else_first_are_kept_and_can_be_saved_again(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/settings"
    mine = form_in(browser.get(path).text, path) | {"people": "7"}
    theirs = form_in(browser.get(path).text, path) | {"note": "seen"}
    assert browser.post(path, data=theirs).status_code == 303
    answer = browser.post(path, data=mine)
    assert answer.status_code == 409
    assert "Somebody saved first" in answer.text
    assert "Last saved: Change the site settings." in answer.text
    assert '<a href="#f-note">Note</a>: left alone here' in answer.text
    again = form_in(answer.text, path)
    assert (again["people"], again["note"]) == ("7", "seen")
    assert browser.post(path, data=again).status_code == 303
    saved = sites.get(stored.id).site
    assert (saved.people, saved.note) == (7, "seen")
