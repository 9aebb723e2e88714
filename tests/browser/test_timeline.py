"""The timeline editor by mouse and by keyboard: what it moves is what the form saves."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from playwright.sync_api import Page, expect

from server.domain.site import Site
from tests.browser.conftest import Planner

SCENARIO = "three-day-shutoff"


@pytest.fixture
def site_id(planner: Planner, farm: Site) -> str:
    return planner.store.create(farm, label="Copied for the timeline").id


def opened(page: Page, site_id: str) -> None:
    page.set_viewport_size({"width": 1280, "height": 1000})
    page.goto(f"/sites/{site_id}/scenarios/{SCENARIO}/edit")


def typed(page: Page, name: str) -> datetime:
    return datetime.fromisoformat(page.locator(f"[name='{name}']").input_value())


def test_arrows_move_an_end_and_it_is_saved(page: Page, planner: Planner, site_id: str, farm: Site):
    opened(page, site_id)
    before = farm.scenario(SCENARIO).outages[0]
    knob = page.locator("[data-item='outages.0.start']")
    knob.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("#status")).to_contain_text("Utility out from Tue 10:15")
    expect(page.locator("[data-item='outages.0.start']")).to_be_focused()
    page.get_by_role("button", name="Save and run").click()
    page.wait_for_url(f"**/scenarios/{SCENARIO}")
    saved = planner.store.get(site_id).site.scenario(SCENARIO).outages[0]
    assert saved.start == before.start + timedelta(hours=1, minutes=15)
    assert saved.end == before.end


def test_a_drag_moves_the_whole_stretch_and_keeps_its_length(page: Page, site_id: str, farm: Site):
    opened(page, site_id)
    before = farm.scenario(SCENARIO).outages[0]
    box = page.locator("[data-item='outages.0.whole']").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 200, box["y"] + 16)
    page.mouse.down()
    page.mouse.move(box["x"] + 230, box["y"] + 16, steps=4)
    page.mouse.up()
    start, end = typed(page, "outages.0.start"), typed(page, "outages.0.end")
    assert start > before.start
    assert end - start == before.end - before.start


def test_an_end_never_passes_its_beginning_nor_the_run(page: Page, site_id: str, farm: Site):
    opened(page, site_id)
    box = page.locator("[data-item='outages.0.end']").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 12, box["y"] + 16)
    page.mouse.down()
    page.mouse.move(box["x"] - 900, box["y"] + 16, steps=5)
    page.mouse.up()
    assert typed(page, "outages.0.end") == typed(page, "outages.0.start") + timedelta(minutes=15)
    page.locator("[data-item='outages.0.start']").focus()
    for _ in range(8):
        page.keyboard.press("Shift+ArrowLeft")
    assert typed(page, "outages.0.start") == farm.scenario(SCENARIO).start


def test_add_fills_empty_rows_and_delete_empties_them(page: Page, site_id: str):
    opened(page, site_id)
    lane = page.locator(".tl-lane[data-list='generator_stops']")
    rows = lane.locator(".tl-start").count()
    lane.get_by_role("button", name="Add").click()
    lane.get_by_role("button", name="Add").click()
    expect(lane.locator(".tl-start")).to_have_count(rows + 2)
    page.keyboard.press("Delete")
    expect(lane.locator(".tl-start")).to_have_count(rows + 1)
    expect(page.locator("#status")).to_contain_text("taken away")


def test_a_new_move_of_the_double_throw_goes_to_the_other_side(page: Page, site_id: str):
    opened(page, site_id)
    lane = page.locator(".tl-lane[data-list='switch_moves']")
    track = lane.locator(".tl-track").bounding_box()
    assert track is not None
    page.mouse.click(track["x"] + track["width"] * 0.97, track["y"] + 38)
    new = lane.locator(".tl-point").last
    row = new.get_attribute("data-row") or ""
    expect(page.locator(f"[name='{row}.position']")).to_have_value("backed_up")
    expect(page.locator(f"[name='{row}.switch_id']")).not_to_have_value("")
