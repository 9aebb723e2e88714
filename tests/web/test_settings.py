"""Load managers: entered with the site, chosen by circuits. Amendments no sum can take."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.domain.site import LocalAmendment
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import with_parts
from tests.web.conftest import form_in, problem_at


def test_energy_management_is_entered_then_chosen_and_let_go(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table = f"/sites/{stored.id}/circuits"
    path = f"/sites/{stored.id}/settings"
    row = {"energy_groups.0.name": "Car and range", "energy_groups.0.setting_a": "60"}
    browser.post(path, data=form_in(browser.get(path).text, path) | row)
    (group,) = sites.get(stored.id).site.energy_groups
    assert (group.name, group.setting_a) == ("Car and range", 60)
    fields = form_in(browser.get(f"{table}/b").text, f"{table}/b")
    browser.post(f"{table}/b", data=fields | {"energy_group_id": group.id})
    assert sites.get(stored.id).site.circuit("b").energy_group_id == group.id
    fields = form_in(browser.get(path).text, path)
    browser.post(path, data=fields | dict.fromkeys(row, ""))
    site = sites.get(stored.id).site
    assert site.energy_groups == ()
    assert site.circuit("b").energy_group_id is None


def test_every_figure_of_a_manager_is_entered_and_stays(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/settings"
    row = {
        "name": "Car charger",
        "way": "turns",
        "setting_a": "60",
        "watch_id": stored.site.panels[0].id,
        "off_on_generator": "on",
        "planned": "on",
        "shed_after_s": "30",
        "least_off_min": "15",
        "return_every_min": "2.5",
        "note": "in the garage",
    }
    sent = {f"energy_groups.0.{name}": value for name, value in row.items()}
    browser.post(path, data=form_in(browser.get(path).text, path) | sent)
    (group,) = sites.get(stored.id).site.energy_groups
    assert group.model_dump(exclude={"id"}) == {
        **row,
        "setting_a": 60.0,
        "off_on_generator": True,
        "planned": True,
        "shed_after_s": 30.0,
        "least_off_min": 15.0,
        "return_every_min": 2.5,
    }
    browser.post(path, data=form_in(browser.get(path).text, path))
    assert sites.get(stored.id).site.energy_groups == (group,)


def test_a_manager_with_nothing_to_do_is_refused_beside_its_row(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/settings"
    sent = {"energy_groups.0.name": "Nothing"}
    page = browser.post(path, data=form_in(browser.get(path).text, path) | sent)
    assert page.status_code == 422
    assert "needs a setting in amperes" in page.text
    assert 'value="Nothing"' in page.text
    assert sites.get(stored.id).site.energy_groups == ()


def test_a_manager_whose_hidden_id_is_refused_is_told_at_its_name(
    browser: TestClient, stored: StoredSite
):
    path = f"/sites/{stored.id}/settings"
    sent = {
        "energy_groups.0.id": "no id",
        "energy_groups.0.name": "Car",
        "energy_groups.0.way": "turns",
    }
    page = browser.post(path, data=form_in(browser.get(path).text, path) | sent).text
    assert '<a href="#f-energy_groups.0.name">Load manager 1: Name</a>' in page
    assert 'href="#f-energy_groups.0.id"' not in page


def test_a_form_full_of_problems_shows_eight_and_folds_the_rest(
    browser: TestClient, stored: StoredSite
):
    path = f"/sites/{stored.id}/settings"
    sent = {key: "no number" for key in form_in(browser.get(path).text, path) if key != "revision"}
    page = browser.post(path, data=form_in(browser.get(path).text, path) | sent).text
    told = page.split('class="problems"')[1].split("</div>")[0]
    first, rest = told.split("<details>")
    count = rest.count("<li>")
    assert first.count("<li>") == 8
    assert count
    assert f"<summary>{count} more</summary>" in rest


def test_amendment_out_of_range_is_refused_beside_its_field_and_nothing_typed_is_lost(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    action = f"/sites/{stored.id}/settings"
    fields = form_in(browser.get(action).text, action) | {
        "amendments.0.figure": "terminal_low_c",
        "amendments.0.value": "0",
        "amendments.0.reason": "Ordinance 12",
    }
    refused = browser.post(action, data=fields)
    assert refused.status_code == 422
    message = "The local figure for terminal_low_c is 60, 75 or 90; 0 was given."
    field = refused.text.index('name="amendments.0.value"')
    assert field < refused.text.index(message, field) < refused.text.index("amendments.0.reason")
    assert 'value="Ordinance 12"' in refused.text
    assert not sites.get(stored.id).site.amendments


def test_amendment_that_came_by_a_file_keeps_no_page_and_no_form_back(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    bad = LocalAmendment(figure="busbar_opposite_share", value=0, reason="Ordinance 12")
    amended = sites.create(with_parts(stored.site, amendments=(bad,)))
    for sheet in ("findings", "demand", "wiring"):
        assert browser.get(f"/sites/{amended.id}/{sheet}").status_code == 200
    assert "busbar_opposite_share was left out" in browser.get(f"/sites/{amended.id}/findings").text
    action = f"/sites/{amended.id}/settings"
    same = form_in(browser.get(action).text, action)
    assert browser.post(action, data=same | {"people": "3"}).status_code == 303


@pytest.mark.parametrize("people", ["x", "3"])
def test_a_coldest_above_the_hottest_is_refused_with_all_else_that_is_wrong(
    browser, stored, people
):
    path = f"/sites/{stored.id}/settings"
    fields = form_in(browser.get(path).text, path)
    crossed = {"design_low_f": "99", "design_high_f": "10", "people": people}
    answer = browser.post(path, data=fields | crossed)
    assert answer.status_code == 422
    told = problem_at(answer.text, "design_low_f")
    assert told == "The coldest to plan for cannot be above the hottest."
    assert bool(problem_at(answer.text, "people")) == (people == "x")
