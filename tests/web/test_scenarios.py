from __future__ import annotations

import csv
import io
import re
import xml.etree.ElementTree as ET

import pytest
from fastapi.testclient import TestClient

from server.domain.behaviour import Cycle
from server.domain.catalogue import KINDS
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.drawing.gauge import gauges
from server.web.minute import inspect, status_at
from server.web.run_page import hourly, positions_held, stretches, went_dark
from tests.builders import (
    EVERY_SITE,
    backed_up_site,
    circuit,
    double_throw_site,
    scenario,
    with_parts,
)


def over_run() -> object:
    base = backed_up_site()
    heavy = circuit("e", "backed", 9, 11, load_w=30_000, breaker_a=150)
    site = with_parts(base, circuits=(*base.circuits, heavy))
    return cached_run(site, site.scenario("out"))


@pytest.mark.parametrize("name", EVERY_SITE)
def test_every_way_of_feeding_a_house_has_a_run_page(
    name: str, browser: TestClient, sites: SiteStore
) -> None:
    stored = sites.create(EVERY_SITE[name]())
    for own in stored.site.scenarios:
        root = f"/sites/{stored.id}/scenarios/{own.id}"
        answer = browser.get(root)
        assert answer.status_code == 200
        assert "Minute inspector" in answer.text
        assert "Working CO alarms" in answer.text
        assert "Simulated peaks do not replace" in answer.text
        assert browser.get(f"{root}/plot.json").json()["charts"]


def test_a_minute_typed_without_script_is_taken_apart(
    browser: TestClient, stored: StoredSite
) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    page = browser.get(root, params={"at": "2026-11-26T15:00", "point": "generator:set"}).text
    assert "Generator set at Thu 26 Nov 2026 15:00" in page
    assert '<option value="generator:set" selected>' in page
    fragment = browser.get(f"{root}/minute", params={"at": "2026-11-26T15:00"}).text
    assert fragment.lstrip().startswith("<aside")
    assert "<html" not in fragment


def test_a_time_that_cannot_be_read_says_how_to_write_it(
    browser: TestClient, stored: StoredSite
) -> None:
    page = browser.get(f"/sites/{stored.id}/scenarios/out", params={"at": "tea time"}).text
    assert "Write a date and time, such as 2026-11-26T17:30." in page


@pytest.mark.parametrize("name", EVERY_SITE)
def test_the_parts_of_a_minute_sum_to_the_limit_point(name: str) -> None:
    site = EVERY_SITE[name]()
    run = cached_run(site, site.scenarios[-1])
    for point in run.points:
        if point.kind == "feeder_neutral":
            continue
        row = run.points.index(point)
        made = inspect(run, 200, point.id)
        for leg, total in enumerate(made.total):
            assert float(total) == pytest.approx(float(run.amps[row, leg, 200]), abs=0.06)
        for leg in ("l1", "l2"):
            summed = sum(float(getattr(part, leg)) for part in made.parts)
            shown = float(made.total[0 if leg == "l1" else 1])
            assert summed == pytest.approx(shown, abs=0.05 * len(made.parts) + 0.06)


def test_an_unknown_point_falls_back_to_the_one_that_decides() -> None:
    site = double_throw_site()
    run = cached_run(site, site.scenario("out"))
    step = run.step_of(run.verdict.worst.worst.at)
    assert inspect(run, step, "no:such").point_id == run.verdict.worst.point.id


def test_close_begins_above_eighty_per_cent_and_over_above_the_limit() -> None:
    assert [status_at(a, 100) for a in (80, 80.1, 100, 100.1)] == [
        "within",
        "close",
        "close",
        "over",
    ]


def test_stretches_over_a_limit_add_up_to_its_minutes_over() -> None:
    run = over_run()
    found, count = stretches(run)
    assert count == len(found)
    top = run.verdict.over[0]
    minutes = sum(float(s.minutes) for s in found if s.point_id == top.point.id)
    assert minutes == pytest.approx(max(leg.minutes_over_100 for leg in top.legs), abs=1.5)
    assert "e-load" in found[0].heaviest


def test_hourly_peaks_hold_the_peak_of_the_run() -> None:
    run = over_run()
    found = gauges(run)
    rows = hourly(run, found)
    assert len(rows) == 6
    backed = next(i for i, g in enumerate(found) if g.id == "ats")
    cells = [row.cells[2 * backed] for row in rows]
    peak = float(found[backed].legs[0].max())
    assert f"{peak:.1f}" in {text for text, _ in cells}
    assert any(over for _, over in cells)
    normal = next(i for i, g in enumerate(found) if g.kind == "normal")
    assert rows[3].cells[2 * normal] == ("dead", False)


def test_what_went_without_lists_the_circuits_of_a_dead_bus() -> None:
    site = backed_up_site()
    rows = went_dark(cached_run(site, site.scenario("out")))
    assert rows[0].name == "Circuit a"
    assert (rows[0].asked, rows[0].gap, rows[0].dark) == ("3 h", "3 h", "3 h")


def test_both_positions_of_a_double_throw_are_tried() -> None:
    site = double_throw_site()
    rows = positions_held(cached_run(site, site.scenario("out")))
    assert [r.name for r in rows] == ["Double-throw on NORMAL", "Double-throw on BACKED-UP"]
    assert not positions_held(over_run())


def test_the_series_is_a_table_of_every_step(browser: TestClient, stored: StoredSite) -> None:
    answer = browser.get(f"/sites/{stored.id}/scenarios/out/series.csv")
    assert answer.headers["content-type"].startswith("text/csv")
    assert f"{stored.id}-out.csv" in answer.headers["content-disposition"]
    rows = list(csv.reader(io.StringIO(answer.text)))
    assert len(rows) == 1 + stored.site.scenario("out").steps


def test_a_run_of_days_has_a_strip_of_days(browser: TestClient, sites: SiteStore) -> None:
    base = backed_up_site()
    stored = sites.create(with_parts(base, scenarios=(scenario(span_h=72),)))
    page = browser.get(f"/sites/{stored.id}/scenarios/day").text
    assert len(re.findall(r'class="day"', page)) == 4
    assert page.count('aria-current="true"') == 1


def test_a_stretch_of_the_run_has_an_address_and_ways_to_more_and_less(
    browser: TestClient, stored: StoredSite
) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    asked = {"from": "2026-11-26T13:00", "to": "2026-11-26T15:00", "at": "2026-11-26T14:30"}
    page = browser.get(root, params=asked).text
    assert "Thu 26 Nov 2026 13:00 to Thu 26 Nov 15:00" in page
    zoomed = re.search(r'data-zoom="in" href="([^"]+)"', page)[1].replace("&amp;", "&")
    closer = browser.get(zoomed.partition("#")[0]).text
    assert "Thu 26 Nov 2026 14:00 to Thu 26 Nov 15:00" in closer
    assert 'aria-disabled="true">Whole run' not in page


@pytest.mark.parametrize("words", ["soon", "2026-11-26T15:00+99:00", ""])
def test_a_stretch_that_cannot_be_read_shows_the_run(
    browser: TestClient, stored: StoredSite, words: str
) -> None:
    asked = {"from": words, "to": "2026-11-26T15:00"}
    answer = browser.get(f"/sites/{stored.id}/scenarios/out", params=asked)
    assert answer.status_code == 200
    assert "Thu 26 Nov 2026 12:00 to Thu 26 Nov 18:00" in answer.text


def test_picture_of_a_run_stands_alone(browser: TestClient, stored: StoredSite) -> None:
    answer = browser.get(f"/sites/{stored.id}/scenarios/out/picture.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert "attachment" in answer.headers["content-disposition"]
    drawn = ET.fromstring(answer.text)
    words = " ".join(drawn.itertext())
    for said in ("Scenario out", "26 Nov 2026", "Normal", "Planning aid only"):
        assert said in words
    assert "var(--" not in answer.text


def test_an_unknown_scenario_is_not_found(browser: TestClient, stored: StoredSite) -> None:
    for tail in ("", "/minute", "/plot.json", "/plot.bin", "/series.csv", "/picture.svg"):
        assert browser.get(f"/sites/{stored.id}/scenarios/no{tail}").status_code == 404


def test_run_page_counts_hours_until_harm(browser: TestClient, sites: SiteStore) -> None:
    cycle = Cycle(on_min=20, off_min=35)
    box = KINDS["refrigerator"].appliance("box", "Cold box", behaviour=cycle)
    router = KINDS["internet-gear"].appliance("router", "Router")
    base = backed_up_site(scenarios=(scenario("out", span_h=9, outage_h=(1, 8)),))
    added = (
        circuit("k", "main", 9, appliances=(box,)),
        circuit("r", "backed", 9, appliances=(router,)),
    )
    stored = sites.create(with_parts(base, circuits=(*base.circuits, *added)))
    page = browser.get(f"/sites/{stored.id}/scenarios/out").text
    part = page[page.index('id="harms"') :]
    part = part[: part.index("</section>")]
    assert "Cold box: food unsafe" in part
    assert "Circuit k dead since Thu 26 Nov 13:00" in part
    assert "?at=2026-11-26T17:00#run" in part
    assert "not reached in this run" in part
    assert "Router out" in part
    assert "USDA FSIS" in part
    assert "Do not taste." in part


def test_run_page_without_an_outage_counts_none(browser: TestClient, stored: StoredSite) -> None:
    assert 'id="harms"' not in browser.get(f"/sites/{stored.id}/scenarios/day").text


def test_parts_of_a_run_without_trouble_are_folded(
    browser: TestClient, sites: SiteStore, stored: StoredSite
) -> None:
    page = browser.get(f"/sites/{stored.id}/scenarios/out").text
    folds = re.findall(r'<details class="sec runfold" id="([\w-]+)"( open)?>', page)
    assert ("supply", "") in folds
    run = cached_run(stored.site, stored.site.scenario("out"))
    too_long = any(row.too_long for row in went_dark(run))
    assert ("dark", " open" if too_long else "") in folds
    # What is to be done comes before the odds.
    assert page.index("To do before, during and after") < page.index('id="odds"')
