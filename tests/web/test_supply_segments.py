"""The lengths of a feeder on its form: what is asked of the wire, kept and refused."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in


def test_lengths_of_a_feeder_are_saved_and_taken_away(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fields = form_in(browser.get(path).text, path)
    typed = {"run_ft": "40", "size": "2/0", "metal": "aluminum", "sets": "1"}
    typed |= {"insulation": "XHHW-2", "ground_size": "4", "ground_metal": "aluminum"}
    row = {f"segments.0.{name}": text for name, text in typed.items()}
    assert browser.post(path, data=fields | row).status_code == 303
    (segment,) = sites.get(stored.id).site.feeder_into("backed").segments
    assert (segment.run_ft, segment.size, segment.metal) == (40, "2/0", "aluminum")
    assert (segment.ground_size, segment.neutral_size) == ("4", None)
    assert segment.ground_metal == "aluminum"
    fields = form_in(browser.get(path).text, path)
    cleared = {name: "" for name in fields if name.startswith("segments.0.")}
    assert browser.post(path, data=fields | cleared).status_code == 303
    assert sites.get(stored.id).site.feeder_into("backed").segments == ()


def test_the_place_and_terminals_of_a_length_are_asked_and_kept(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/ats-backed"
    told = {"run_ft": "40", "size": "2/0", "insulation": "XHHW", "wet": "on", "terminal_c": "75"}
    told |= {"ambient_f": "104", "current_carrying": "4"}
    fields = form_in(browser.get(path).text, path)
    row = {f"segments.0.{name}": text for name, text in told.items()}
    assert browser.post(path, data=fields | row).status_code == 303
    (segment,) = sites.get(stored.id).site.feeder_into("backed").segments
    assert (segment.wet, segment.terminal_c) == (True, 75)
    assert (segment.ambient_f, segment.current_carrying) == (104, 4)
    # Saved again as it stands, nothing of it is lost.
    fields = form_in(browser.get(path).text, path)
    assert browser.post(path, data=fields).status_code == 303
    assert sites.get(stored.id).site.feeder_into("backed").segments == (segment,)


def test_a_feeder_without_a_length_shows_where_it_is_told(browser: TestClient, stored: StoredSite):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fold = '<details class="part more"'
    page = browser.get(path).text
    assert page[page.index(fold) :].startswith(f"{fold} open>")
    row = {"segments.0.run_ft": "40", "segments.0.size": "2/0"}
    assert browser.post(path, data=form_in(page, path) | row).status_code == 303
    page = browser.get(path).text
    assert page[page.index(fold) :].startswith(f"{fold}>")


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"insulation": "rubber"}, "insulation", "Insulation &#39;rubber&#39; is not here"),
        (
            {"raceway": "PVC", "raceway_trade_size": "9"},
            "raceway_trade_size",
            "has no trade size &#39;9&#39; here",
        ),
        (
            {"raceway": "plastic pipe", "raceway_trade_size": "1"},
            "raceway",
            "Its fill is worked out",
        ),
        ({"ambient_f": "200"}, "ambient_f", "lies in air from"),
    ],
)
def test_wire_that_is_in_no_table_is_told_beside_its_field(
    browser: TestClient, stored: StoredSite, typed: dict[str, str], field: str, words: str
):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fields = form_in(browser.get(path).text, path)
    row = {f"segments.0.{n}": t for n, t in ({"run_ft": "40", "size": "2/0"} | typed).items()}
    answer = browser.post(path, data=fields | row)
    assert answer.status_code == 422
    said = answer.text[answer.text.index(f'id="p-segments.0.{field}"') :]
    assert words in said[: said.index("</p>")]


def test_a_feeder_without_a_neutral_is_told_kept_and_shown(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/ats-backed"
    page = browser.get(path).text
    assert "No neutral: two hots and a ground" in page
    assert "none, as above" not in page
    fields = form_in(page, path) | {"segments.0.run_ft": "40", "segments.0.size": "2/0"}
    bare = fields | {"no_neutral": "on", "neutral_ampacity_a": ""}
    assert browser.post(path, data=bare).status_code == 303
    assert sites.get(stored.id).site.feeder_into("backed").no_neutral
    assert "no neutral" in browser.get(f"/sites/{stored.id}/supply").text
    sheet = browser.get(f"/sites/{stored.id}/wiring").text
    row = sheet[sheet.index('id="w-ats-backed"') :]
    row = row[: row.index("</tbody>")]
    assert '<td data-head="Neutral">none</td>' in row
    assert "two hots and a ground, for 240 V loads alone" in row
    # Saved again as it stands, and taken back.
    page = browser.get(path).text
    assert "none, as above" in page
    fields = form_in(page, path)
    assert browser.post(path, data=fields).status_code == 303
    assert sites.get(stored.id).site.feeder_into("backed").no_neutral
    fields["no_neutral"] = "off"
    assert browser.post(path, data=fields).status_code == 303
    assert not sites.get(stored.id).site.feeder_into("backed").no_neutral


def test_a_neutral_told_of_a_feeder_without_one_is_refused(browser: TestClient, stored: StoredSite):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fields = form_in(browser.get(path).text, path)
    row = {"segments.0.run_ft": "40", "segments.0.size": "2/0", "segments.0.neutral_size": "1"}
    answer = browser.post(path, data=fields | row | {"no_neutral": "on"})
    assert answer.status_code == 422
    assert "is entered without a neutral and with one" in answer.text
