"""A scenario form tells beside the field what its run does not hold, and asks once."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in, problem_at


def outage_of(sites: SiteStore, stored: StoredSite, scenario_id: str):
    return sites.get(stored.id).site.scenario(scenario_id).outages


def test_an_outage_after_the_run_is_told_at_its_field_and_kept_on_a_second_save(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    before = outage_of(sites, stored, "out")
    path = f"/sites/{stored.id}/scenarios/out/edit"
    late = {"outages.0.start": "2030-01-01T09:00", "outages.0.end": "2030-01-02T09:00"}
    first = browser.post(path, data=form_in(browser.get(path).text, path) | late)
    assert first.status_code == 422
    told = problem_at(first.text, "outages.0.start")
    assert told.startswith("This outage is no part of the run, which lasts from ")
    assert outage_of(sites, stored, "out") == before
    second = browser.post(path, data=form_in(first.text, path))
    assert second.status_code == 303
    (kept,) = outage_of(sites, stored, "out")
    assert kept.start.year == 2030
    for page in ("", "/scenarios", "/buses", "/scenarios/out", "/findings"):
        asked = "?scenario=out" if page in {"", "/buses"} else ""
        assert browser.get(f"/sites/{stored.id}{page}{asked}").status_code == 200
    shown = browser.get(f"/sites/{stored.id}?scenario=out").text
    assert "Not run: no minute of the outage" in shown


def test_what_was_asked_of_one_row_is_asked_again_of_another(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/scenarios/out/edit"
    late = {"outages.0.start": "2030-01-01T09:00", "outages.0.end": "2030-01-02T09:00"}
    first = browser.post(path, data=form_in(browser.get(path).text, path) | late)
    more = {"deliveries.0.at": "2030-01-01T12:00", "deliveries.0.gallons": "5"}
    second = browser.post(path, data=form_in(first.text, path) | more)
    assert second.status_code == 422
    assert problem_at(second.text, "deliveries.0.at").startswith("This delivery is no part of")


def test_an_outage_moved_back_into_the_run_is_saved_at_once(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/scenarios/out/edit"
    assert browser.post(path, data=form_in(browser.get(path).text, path)).status_code == 303
