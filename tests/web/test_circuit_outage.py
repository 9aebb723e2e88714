"""What the pages of a circuit say of an outage: its battery, and whether anything can feed it."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.domain.scenario import KeptOff
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.circuit_table import Filter, groups, rows_on
from tests.builders import double_throw_site, normal_only_site, scenario, with_parts
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
    assert page.count('data-col="outage_role">on</td>') == 3
    assert page.count('data-col="outage_role">thrown by hand</td>') == 2


def test_a_circuit_behind_a_switch_thrown_by_hand_says_so():
    site = double_throw_site()
    by_kind = {c.panel_id for c in site.circuits}
    rows = {row.circuit.id: row for row in rows_on(site, site.circuits)}
    thrown = {row.circuit.panel_id for row in rows.values() if row.thrown}
    assert thrown
    assert thrown < by_kind
    for row in rows.values():
        said = "thrown by hand" if row.thrown else "dark" if row.dark else "on"
        assert row.in_outage == said
    (first, *_) = (row.circuit for row in rows.values() if row.thrown)
    by_hand = first.model_copy(update={"outage_role": "by_hand"})
    assert rows_on(site, (by_hand,))[0].in_outage == "by hand, thrown by hand"
    off = first.model_copy(update={"outage_role": "off"})
    assert rows_on(site, (off,))[0].in_outage == "off"


def test_a_circuit_that_a_scenario_keeps_off_names_it(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    kept = (KeptOff(circuit_id="b"),)
    shutoff = scenario("shutoff", name="Long shutoff", kept_off=kept)
    site = with_parts(stored.site, scenarios=(shutoff,))
    assert [r.exceptions for r in rows_on(site, site.circuits) if r.exceptions] == [
        "kept off in Long shutoff"
    ]
    twice = with_parts(site, scenarios=(shutoff, shutoff.model_copy(update={"id": "two"})))
    assert "kept off in 2 scenarios" in {r.exceptions for r in rows_on(twice, twice.circuits)}
    made = sites.create(site, label="test")
    page = browser.get(f"/sites/{made.id}/circuits").text
    assert ">kept off in Long shutoff</small>" in page
    assert "; in an outage on, kept off in Long shutoff</small>" in page
