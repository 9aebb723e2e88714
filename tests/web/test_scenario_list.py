from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from server.domain.edits import put_scenario
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.scenario_form import form_of, scenario_from
from tests.builders import double_throw_site, scenario
from tests.web.conftest import form_in, problem_at

DEMO_FILES = sorted(DEMOS.glob("*.json"))


@pytest.fixture
def stored(sites: SiteStore) -> StoredSite:
    """A house without a scenario."""
    return sites.create(double_throw_site(scenarios=()))


@pytest.fixture
def with_day(sites: SiteStore, stored: StoredSite) -> StoredSite:
    """The house with one scenario named ``day``."""
    site = put_scenario(stored.site, scenario(id="day", name="Cold day"))
    return sites.save(stored.id, site, base_revision=stored.revision, label="Add a day")


def root_of(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/scenarios"


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda p: p.stem)
def test_every_demo_scenario_passes_through_its_form_unchanged(path):
    site = read_site_file(path.read_bytes())
    assert site.scenarios
    for one in site.scenarios:
        assert scenario_from(form_of(one).values, one) == one


def test_list_without_scenarios_teaches_and_leads_to_the_kinds_of_day(
    browser: TestClient, stored: StoredSite
):
    page = browser.get(root_of(stored)).text
    assert "A scenario is a day to try the house on" in page
    assert f'href="{root_of(stored)}/new"' in page


def test_verdict_cell_says_whether_the_house_holds(browser: TestClient, with_day: StoredSite):
    cell = browser.get(f"{root_of(with_day)}/day/verdict").text
    assert 'id="verdict-day"' in cell
    assert "Holds" in cell or "Does not" in cell


def test_outage_is_added_in_the_spare_row(
    browser: TestClient, sites: SiteStore, with_day: StoredSite
):
    action = f"{root_of(with_day)}/day/edit"
    fields = form_in(browser.get(action).text, action)
    row = len(with_day.site.scenario("day").outages)
    fields |= {f"outages.{row}.start": "2026-11-26T17:00", f"outages.{row}.end": "2026-11-26T20:00"}
    answer = browser.post(action, data=fields)
    assert answer.status_code == 303
    added = sites.get(with_day.id).site.scenario("day").outages[-1]
    assert added.start.isoformat() == "2026-11-26T17:00:00"


def test_end_before_start_is_told_beside_the_row_and_keeps_what_was_typed(
    browser: TestClient, with_day: StoredSite
):
    action = f"{root_of(with_day)}/day/edit"
    fields = form_in(browser.get(action).text, action)
    row = len(with_day.site.scenario("day").outages)
    fields |= {f"outages.{row}.start": "2026-01-20T20:00", f"outages.{row}.end": "2026-01-20T17:00"}
    answer = browser.post(action, data=fields)
    assert answer.status_code == 422
    assert "The end must be later than the start." in answer.text
    assert 'value="2026-01-20T20:00"' in answer.text
    field = re.search(rf'<input[^>]*name="outages.{row}.end"[^>]*>', answer.text)
    assert field
    assert 'aria-invalid="true"' in field[0]


def test_span_out_of_range_is_told_beside_its_field(browser: TestClient, with_day: StoredSite):
    action = f"{root_of(with_day)}/day/edit"
    fields = form_in(browser.get(action).text, action) | {"span_h": "9000"}
    answer = browser.post(action, data=fields)
    assert answer.status_code == 422
    assert (
        problem_at(answer.text, "span_h")
        == "This must be 336 or less; above 0 to 336 is permitted."
    )


def test_stale_form_keeps_what_was_typed_and_saves_on_a_second_try(
    browser: TestClient, sites: SiteStore, with_day: StoredSite
):
    action = f"{root_of(with_day)}/day/edit"
    fields = form_in(browser.get(action).text, action) | {"name": "Colder day"}
    other = with_day.site.model_copy(update={"name": "Renamed meanwhile"})
    sites.save(with_day.id, other, base_revision=with_day.revision, label="Rename")
    answer = browser.post(action, data=fields)
    assert answer.status_code == 409
    assert 'value="Colder day"' in answer.text
    again = form_in(answer.text, action)
    assert browser.post(action, data=again).status_code == 303
    assert sites.get(with_day.id).site.scenario("day").name == "Colder day"


def test_more_empty_rows_saves_nothing(browser: TestClient, sites: SiteStore, with_day: StoredSite):
    action = f"{root_of(with_day)}/day/edit"
    page = browser.get(action).text
    answer = browser.post(action, data=form_in(page, action) | {"act": "rows", "name": "Typed"})
    assert answer.text.count("outages.") > page.count("outages.")
    assert 'value="Typed"' in answer.text
    assert sites.get(with_day.id).revision == with_day.revision


def test_duplicate_and_delete_leave_the_other_scenario_alone(
    browser: TestClient, sites: SiteStore, with_day: StoredSite
):
    browser.post(f"{root_of(with_day)}/day/duplicate", data={"revision": with_day.revision})
    twice = sites.get(with_day.id)
    assert [s.name for s in twice.site.scenarios] == ["Cold day", "Cold day, copy"]
    browser.post(f"{root_of(with_day)}/day/delete", data={"revision": twice.revision})
    assert [s.name for s in sites.get(with_day.id).site.scenarios] == ["Cold day, copy"]
    back = sites.undo(with_day.id)
    assert len(back.site.scenarios) == 2


def test_fuel_that_comes_and_circuits_kept_off_are_typed_in_rows(
    browser: TestClient, sites: SiteStore, with_day: StoredSite
):
    action = f"{root_of(with_day)}/day/edit"
    fields = form_in(browser.get(action).text, action)
    assert fields["kept_off.0.circuit_id"] == ""
    fields |= {
        "deliveries.0.at": "2026-11-26T15:00",
        "deliveries.0.gallons": "25",
        "kept_off.0.circuit_id": "d",
        "fuel_at_start_share": "50",
    }
    assert browser.post(action, data=fields).status_code == 303
    day = sites.get(with_day.id).site.scenario("day")
    assert [(d.at.hour, d.gallons) for d in day.deliveries] == [(15, 25.0)]
    assert [k.circuit_id for k in day.kept_off] == ["d"]
    assert day.fuel_at_start_share == 0.5
    assert form_in(browser.get(action).text, action)["fuel_at_start_share"] == "50"
    over = browser.post(action, data=fields | {"fuel_at_start_share": "130"})
    assert over.status_code == 422
    assert "0 to 100 % is permitted." in over.text
    fields = form_in(browser.get(action).text, action) | {"deliveries.0.gallons": "-3"}
    answer = browser.post(action, data=fields)
    assert answer.status_code == 422
    assert 'value="-3"' in answer.text


SHUT, OPEN = (
    re.compile(rf'<details class="fold" id="fold-[a-z_]+"{word}>') for word in ("", " open")
)


def test_lists_of_rows_are_folded_until_a_row_is_asked_for_or_wrong(
    browser: TestClient, with_day: StoredSite
):
    action = f"{root_of(with_day)}/day/edit"
    shown = browser.get(action).text
    assert SHUT.search(shown)
    assert not OPEN.search(shown)
    # No fold hides the caution of a switch moved by hand.
    before = shown.partition("<summary>Double-throw moved by hand")[0]
    assert "Open the load breakers" in before.rpartition("</details>")[2]
    fields = form_in(shown, action)
    asked = browser.post(action, data=fields | {"act": "rows"}).text
    assert OPEN.search(asked)
    assert not SHUT.search(asked)
    refused = browser.post(action, data=fields | {"span_h": "0"}).text
    assert '<a href="#f-span_h">Lasts</a>' in refused
    assert not OPEN.search(refused)
    window = {"generator_stops.0.start": "2026-01-20T20:00", "generator_stops.0.end": "soon"}
    refused = browser.post(action, data=fields | window).text
    (fold,) = OPEN.finditer(refused)
    opened = refused[fold.end() :]
    assert "<summary>Stopped for service" in opened.partition("</summary>")[0]
    assert refused.index('href="#f-generator_stops.0.end"') < refused.index('<form class="daylist"')
