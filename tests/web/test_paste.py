from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.paste_rows import as_row
from tests.builders import double_throw_site, with_parts
from tests.web.conftest import form_in, problem_at

GOOD = "Space\tCircuit\tFeeds\tBreaker\n9/11\tRange\trange\t2P50\n\tHall\tlights\t15 A\n"
WRONG = "10\tBath\tnonsense\t20\n9\tTwice\tlights\t20\n"


@pytest.fixture
def empty(sites: SiteStore) -> StoredSite:
    return sites.create(with_parts(double_throw_site(), circuits=()))


def path(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/paste-circuits"


def shown(browser: TestClient, stored: StoredSite, block: str) -> str:
    return browser.post(path(stored), data={"block": block, "act": "fresh"}).text


def accept(browser: TestClient, stored: StoredSite, page: str):
    return browser.post(path(stored), data=form_in(page, path(stored)) | {"act": "accept"})


def test_preview_shows_each_row_and_adds_nothing(
    browser: TestClient, sites: SiteStore, empty: StoredSite
):
    page = shown(browser, empty, GOOD)
    assert "2 of 2 rows can be read" in page
    assert "Panel main, 9, 11" in page
    assert sites.get(empty.id).revision == empty.revision


def test_accepted_block_is_one_step_that_undo_takes_back(
    browser: TestClient, sites: SiteStore, empty: StoredSite
):
    answer = accept(browser, empty, shown(browser, empty, GOOD))
    assert answer.headers["location"] == f"/sites/{empty.id}/circuits"
    site = sites.get(empty.id).site
    by_name = {c.name: c for c in site.circuits}
    assert (by_name["Range"].spaces, by_name["Range"].breaker_a) == ((9, 11), 50)
    assert (by_name["Hall"].breaker_a, by_name["Hall"].appliances[0].kind) == (15, "lighting")
    assert sites.undo(empty.id).site == empty.site


def test_wrong_rows_are_told_with_their_column_and_stay_for_mending(
    browser: TestClient, sites: SiteStore, empty: StoredSite
):
    page = shown(browser, empty, GOOD + WRONG)
    assert "2 of 4 rows can be read; 2 cannot yet" in page
    told = re.findall(r'<p class="problem">.*?<span>(.*?)</span>', page)
    assert told[0].startswith("Feeds: No kind of appliance here is called")
    assert told[1] == "Space: Twice and Range are both in space 9 of Panel main. Move one."
    answer = accept(browser, empty, page)
    assert answer.status_code == 200
    assert "Added 2 circuits in one step." in answer.text
    assert len(sites.get(empty.id).site.circuits) == 2
    left = form_in(answer.text, path(empty))
    assert left["block"].split("\n")[1:] == WRONG.strip().split("\n")
    mended = left["block"].replace("nonsense", "bath").replace("9\tTwice", "12\tTwice")
    answer = browser.post(path(empty), data=left | {"block": mended, "act": "accept"})
    assert answer.status_code == 303
    assert len(sites.get(empty.id).site.circuits) == 4


def test_columns_can_be_read_as_something_else(
    browser: TestClient, sites: SiteStore, empty: StoredSite
):
    page = shown(browser, empty, "Hall\tthe stair\nBath\tupstairs\n")
    assert "0 of 2 rows can be read" in page
    fields = form_in(page, path(empty)) | {"column.1": "note", "act": "read"}
    page = browser.post(path(empty), data=fields).text
    assert "2 of 2 rows can be read" in page
    accept(browser, empty, page)
    assert [c.note for c in sites.get(empty.id).site.circuits] == ["the stair", "upstairs"]


def test_file_is_read_like_a_pasted_block(browser: TestClient, empty: StoredSite):
    file = ("panel.csv", "Circuit;Watts\nCafé;1,5 kW\nKiln;2.5 kW\n".encode("cp1252"))
    page = browser.post(path(empty), data={"act": "fresh"}, files={"file": file}).text
    assert "1 of 2 rows can be read" in page
    assert "2,500" in page
    assert "Watts: Write the watts as a number" in page
    assert "Café" in form_in(page, path(empty))["block"]


def test_nothing_pasted_is_told(browser: TestClient, empty: StoredSite):
    answer = browser.post(path(empty), data={"block": " ", "act": "fresh"})
    assert answer.status_code == 422
    assert problem_at(answer.text, "block").startswith("Paste some rows")


def test_block_on_an_older_revision_is_refused_and_kept(
    browser: TestClient, sites: SiteStore, empty: StoredSite
):
    page = shown(browser, empty, GOOD)
    other = with_parts(empty.site, people=5)
    sites.save(empty.id, other, base_revision=empty.revision, label="Somebody else")
    answer = accept(browser, empty, page)
    assert answer.status_code == 409
    assert sites.get(empty.id).site == other
    answer = accept(browser, empty, answer.text)
    assert answer.status_code == 303
    assert len(sites.get(empty.id).site.circuits) == 2
    assert sites.get(empty.id).site.people == 5


def test_block_that_is_markup_is_shown_as_text(browser: TestClient, empty: StoredSite):
    page = shown(browser, empty, "<script>alert(1)</script>\tlights\nHall\t<b>x\n")
    assert "<script>alert" not in page
    assert "<b>x" not in page
    assert "&lt;b&gt;x" in page


@pytest.mark.parametrize(
    ("cells", "row"),
    [
        ({"breaker_a": "2P30"}, {"breaker_a": "30", "poles": "2"}),
        ({"breaker_a": "30/2"}, {"breaker_a": "30", "poles": "2"}),
        ({"breaker_a": "20 A"}, {"breaker_a": "20"}),
        ({"breaker_a": "20A-1P"}, {"breaker_a": "20", "poles": "1"}),
        ({"poles": "2-pole"}, {"poles": "2"}),
        ({"poles": "Double pole"}, {"poles": "2"}),
        ({"space": "5, 7"}, {"space": "5, 7", "poles": "2"}),
        ({"space": "#5"}, {"space": "5"}),
        ({"wire_size": "#12 Cu"}, {"wire_size": "12"}),
        ({"wire_size": "2/0 AL"}, {"wire_size": "2/0", "wire_metal": "aluminum"}),
        ({"load_w": "1.5 kW"}, {"load_w": "1500"}),
        ({"load_w": "900 VA"}, {"load_w": "900"}),
        ({"load_class": "Must serve"}, {"load_class": "must_serve"}),
        ({"outage_role": "by-hand"}, {"outage_role": "by_hand"}),
        ({"panel_id": "PANEL BACKED"}, {"panel_id": "backed"}),
    ],
)
def test_cell_is_read_as_people_write_it(cells: dict, row: dict):
    problems: list = []
    read = as_row({"panel_id": "main"} | cells, double_throw_site(), problems)
    assert {name: read[name] for name in row} == row
    assert problems == []


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("breaker_a", "big"),
        ("poles", "3"),
        ("wire_size", "13"),
        ("load_class", "vital"),
        ("outage_role", "perhaps"),
        ("panel_id", "Cellar"),
    ],
)
def test_cell_that_cannot_be_read_is_told_at_its_column(field: str, text: str):
    problems: list = []
    as_row({"panel_id": "main", field: text}, double_throw_site(), problems)
    assert [p.field for p in problems] == [field]
    assert text in problems[0].message
