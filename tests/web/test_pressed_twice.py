"""A button that is pressed twice: the second press is no other person."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in


def test_a_form_sent_twice_is_saved_once_and_said_to_be_saved(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/circuits/b"
    fields = form_in(browser.get(path).text, path) | {"name": "Workshop"}
    first, second = (browser.post(path, data=fields) for _ in range(2))
    assert first.status_code == second.status_code == 303
    assert second.headers["location"] == first.headers["location"]
    now = sites.get(stored.id)
    assert now.site.circuit("b").name == "Workshop"
    assert now.revision == stored.revision + 1


def test_a_form_that_says_something_else_is_still_told_that_another_was_first(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/circuits/b"
    fields = form_in(browser.get(path).text, path)
    browser.post(path, data=fields | {"name": "Workshop"})
    answer = browser.post(path, data=fields | {"name": "Garage"})
    assert answer.status_code == 409
    assert "Somebody saved first" in answer.text
    assert sites.get(stored.id).site.circuit("b").name == "Workshop"


def test_what_is_added_by_a_second_press_is_not_added_twice(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    root = f"/sites/{stored.id}/scenarios"
    path = f"{root}/{stored.site.scenarios[0].id}/duplicate"
    fields = {"revision": str(stored.revision)}
    assert browser.post(path, data=fields).status_code == 303
    again = browser.post(path, data=fields)
    assert again.status_code == 409
    assert "saved already, by a first press" in again.text
    assert "Somebody saved first" not in again.text
    assert len(sites.get(stored.id).site.scenarios) == len(stored.site.scenarios) + 1
