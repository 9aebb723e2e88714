"""What the pages of a circuit say of an outage: its battery, and whether anything can feed it."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.circuit_table import Filter, groups, rows_on
from tests.builders import normal_only_site
from tests.web.conftest import form_in, problem_at


def test_a_battery_is_told_in_hours_and_kept_in_minutes(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    circuits = f"/sites/{stored.id}/circuits"
    here = f"{circuits}/{stored.site.circuits[0].id}"
    fields = form_in(browser.get(here).text, here)
    assert fields["own_battery_h"] == ""
    assert browser.post(here, data=fields | {"own_battery_h": "1.5"}).status_code == 303
    assert sites.get(stored.id).site.circuits[0].own_battery_min == 90
    again = form_in(browser.get(here).text, here)
    assert again["own_battery_h"] == "1.5"
    wrong = browser.post(here, data=again | {"own_battery_h": "some"})
    assert problem_at(wrong.text, "own_battery_h")
    browser.post(here, data=again | {"own_battery_h": ""})
    assert sites.get(stored.id).site.circuits[0].own_battery_min is None


def test_a_circuit_that_no_generator_can_feed_is_dark_in_an_outage(
    browser: TestClient, stored: StoredSite
):
    rows = {
        row.circuit.id: row.dark for group in groups(stored.site, Filter()) for row in group.rows
    }
    assert rows == {"a": True, "b": False, "c": False, "d": False, "e": False, "f": False}
    assert all(row.dark for row in rows_on(normal_only_site(), normal_only_site().circuits))
    page = browser.get(f"/sites/{stored.id}/circuits").text
    assert page.count('data-col="outage_role">dark</td>') == 1
    assert page.count('data-col="outage_role">on</td>') == 5
