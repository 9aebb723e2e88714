"""The demand page, the terminal's table and the finding hold one figure against a rating."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from server.cli import app
from server.domain.supply import EnergyGroup, Feeder
from server.exchange.sitefile import write_site_file
from server.rules.check import check_site
from server.rules.demand.left_off import left_off
from server.rules.wiring.feeder import governing
from server.store.sites import SiteStore
from tests import builders
from tests.rules.check_sites import garage, of_kind, plain

SUB = "main-sub"


def site(breaker_a: float, **feeder: bool):
    """A 48 A car, 60 A with 25 % more for three hours or longer, alone on a subpanel."""
    panels = (
        builders.panel("main", main_a=200, neutral_bonded=True),
        builders.panel("sub", rating_a=125),
    )
    feeders: tuple[Feeder, ...] = (
        builders.feeder("grid", "main"),
        builders.feeder("main", "sub", breaker_a=breaker_a, **feeder),
    )
    car = of_kind("car", "sub", (1, 3), "car-charger-48", breaker_a=60)
    old = builders.circuit("old", "main", 1, load_w=1200)
    return plain(car, old, panels=panels, feeders=feeders)


def row_of(page: str, element_id: str) -> str:
    row = page[page.index(f'href="#el-{element_id}"') :]
    return row[: row.index("</tr>")]


@pytest.mark.parametrize(
    ("built", "held", "word"),
    [
        (site(50), "60.0", "over"),
        (site(60), "60.0", "within"),
        (site(50, full_rated=True), "48.0", "within"),
    ],
)
def test_the_figure_with_25_percent_is_the_one_judged(
    browser: TestClient, sites: SiteStore, tmp_path, built, held, word
):
    report = check_site(built)
    element = next(d for d in report.demand if d.element_id == SUB)
    sheet = governing(element)
    assert (round(sheet.leg_a, 1), round(sheet.needed_a, 1)) == (48.0, 60.0)
    found = [f for f in report.findings if f.code == "demand-above-rating" and f.element_id == SUB]
    assert bool(found) == (word == "over")
    page = browser.get(f"/sites/{sites.create(built).id}/demand").text
    row = row_of(page, SUB)
    lead = page[page.index('<p class="lead">') :].partition("</p>")[0]
    assert ("nothing more may be connected so" in lead) == ("past the rating" in lead)
    assert ("A run that holds is no permit." in lead) == ("past the rating" in lead)
    over = [row for row in page.split("<tr")[1:] if "#m-over" in row.partition("</tr>")[0]]
    assert ("past the rating." in lead) == bool(over)
    assert (f"{element.name}, {held} A of " in lead) == (word == "over" or not over)
    verdict = row[row.index('data-head="Verdict"') :]
    assert word in verdict
    assert f"{held} against {sheet.existing_a:.0f} A" in verdict
    assert "close" not in verdict
    path = tmp_path / "site.json"
    path.write_bytes(write_site_file(built))
    lines = CliRunner().invoke(app, ["check", str(path)]).output.splitlines()
    line = next(one for one in lines if one.startswith(f"Feeder {SUB}") and "standard" in one)
    assert line.split()[-4:] == ["48.0", held, "60", f"{sheet.existing_a:.0f}"]


def test_a_set_is_judged_by_what_it_puts_out(browser: TestClient, sites: SiteStore):
    built = builders.backed_up_site(scenarios=(), floor_area_ft2=1200)
    element = next(d for d in check_site(built).demand if d.kind == "generator")
    sheet = governing(element)
    row = row_of(browser.get(f"/sites/{sites.create(built).id}/demand").text, element.element_id)
    assert f"{sheet.leg_a:.1f} against" in row


def test_a_breaker_ahead_is_not_called_the_rating_of_a_switch(
    browser: TestClient, sites: SiteStore
):
    built = builders.double_throw_site()
    feeders = tuple(
        f.model_copy(update={"breaker_a": 60}) if f.to_id == "throw" else f for f in built.feeders
    )
    throws = tuple(t.model_copy(update={"rating_a": 100}) for t in built.double_throws)
    site = builders.with_parts(built, feeders=feeders, double_throws=throws)
    stored = sites.create(site, label="test")
    page = browser.get(f"/sites/{stored.id}/demand").text
    assert "60<small>of the device ahead; its own is 100 A</small>" in row_of(page, "throw")
    assert "of the device ahead" not in row_of(page, "grid")
    assert "the 60 A of the device ahead, its own is 100 A, have room" in page


def test_what_is_not_told_may_make_a_sheet_too_high_as_well(browser: TestClient, sites: SiteStore):
    """A panel whose area is not told counts the whole floor area: at most, not at least."""
    stored = sites.create(builders.backed_up_site(scenarios=(), floor_area_ft2=1200), label="test")
    page = browser.get(f"/sites/{stored.id}/demand").text
    assert "or too high where the whole floor area stands for what a panel serves" in page


def test_demand_findings_and_overview_say_alike_what_is_left_off_a_set(
    browser: TestClient, sites: SiteStore
):
    base = builders.interlock_site()
    heavy = of_kind("kiln", "main", (9, 11), "kiln", load_w=9_000, breaker_a=60)
    built = base.model_copy(update={"circuits": (*base.circuits, heavy)})
    (one,) = left_off(built)
    root = f"/sites/{sites.create(built).id}"
    for address in (root, f"{root}/demand", f"{root}/findings", f"{root}/scenarios/out"):
        assert one.way in browser.get(address).text, address
    assert one.words in browser.get(root).text
    assert one.words in browser.get(f"{root}/demand").text


def test_the_overview_says_which_parts_the_code_finds_past_their_rating(
    browser: TestClient, sites: SiteStore
):
    for breaker_a, told in ((50, True), (60, False)):
        built = site(breaker_a).model_copy(update={"scenarios": (builders.scenario("day"),)})
        page = browser.get(f"/sites/{sites.create(built).id}").text
        assert ("By the code 1 part carries more than the rating" in page) == told
        assert ("whatever this run says: Feeder main-sub." in page) == told
        last = page[page.index('id="findings-h"') :]
        assert ("carries more than the rating: not in this list" in last) == told
        assert "Nothing found" not in last


def test_a_load_past_the_rating_tells_of_the_setting_that_may_stand_for_it(
    browser: TestClient, sites: SiteStore
):
    """72 A x 1.25 = 90 A on a feeder of 100 A."""
    group = EnergyGroup(id="m", name="Car manager", setting_a=72, watch_id="gf")
    stored = sites.create(garage(2, plugs_w=1000, group=group))
    page = browser.get(f"/sites/{stored.id}/demand").text
    assert "90.0 by Car manager: ask the authority" in row_of(page, "gf")
    lead = page[page.index('<p class="lead">') :].partition("</p>")[0]
    assert "Where the authority accepts the setting of Car manager" in lead
    assert "nothing more may be connected so" not in lead
    assert "A run that holds is no permit." in lead
    wiring = browser.get(f"/sites/{stored.id}/wiring").text
    assert "Car manager holds it to 90.0 A, for which wire and drop are here" in wiring
    high = group.model_copy(update={"setting_a": 90})
    stored = sites.create(garage(2, plugs_w=1000, group=high))
    page = browser.get(f"/sites/{stored.id}/demand").text
    assert "by Car manager" not in row_of(page, "gf")
    lead = page[page.index('<p class="lead">') :].partition("</p>")[0]
    assert "accepts the setting" not in lead
    assert "nothing more may be connected so" in lead
