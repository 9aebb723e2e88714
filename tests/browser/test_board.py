"""The board by mouse and by keyboard: previewed, announced, made, and tried without saving."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from server.domain.site import Site
from tests.browser.conftest import Planner

SCENARIO = "three-day-shutoff"
DRAWN_MS = 120_000
"""Draws take a few seconds, but share their processors with other tests."""


@pytest.fixture
def site_id(planner: Planner, farm: Site) -> str:
    return planner.store.create(farm, label="Copied for the board").id


def opened(page: Page, site_id: str, more: str = "") -> None:
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto(f"/sites/{site_id}/buses?scenario={SCENARIO}{more}")


def test_arrow_keys_preview_and_announce_before_enter_moves(
    page: Page, planner: Planner, site_id: str
):
    opened(page, site_id)
    page.locator("#c-range summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#status")).to_contain_text("Not done yet.")
    expect(page.locator("#c-range #preview [data-limit]").first).to_be_visible()
    expect(page.locator(".lim.ghosted").first).to_be_attached()
    assert planner.store.get(site_id).site.circuit("range").panel_id == "swing"
    page.keyboard.press("Enter")
    expect(page.locator("#status")).to_contain_text("Kitchen range moved to Main panel")
    assert planner.store.get(site_id).site.circuit("range").panel_id == "main"
    expect(page.locator("#c-range summary")).to_be_focused()


def test_a_move_renews_the_revision_in_the_title_block(page: Page, planner: Planner, site_id: str):
    opened(page, site_id)
    kept = page.locator("#saved-revision")
    expect(kept).to_contain_text("saved, revision 1")
    page.locator("#c-range summary").click()
    page.locator('#c-range button.go[value="panel:main"]').click()
    expect(page.locator("#status")).to_contain_text("Kitchen range moved to Main panel")
    expect(kept).to_contain_text("saved, revision 2")
    expect(kept).to_have_count(1)
    assert planner.store.get(site_id).revision == 2


def test_what_a_role_would_do_stands_under_its_choice_and_covers_nothing(page: Page, site_id: str):
    opened(page, site_id)
    page.set_viewport_size({"width": 390, "height": 844})
    page.locator("#c-range summary").click()
    page.locator("#c-range select[name=role]").select_option("off")
    expect(page.locator("#c-range .moverbody > #preview")).to_contain_text("Not done yet.")
    expect(page.locator("#preview")).to_have_css("position", "static")
    expect(page.locator("#c-range form:has(select[name=role]) button")).to_be_visible()


def test_escape_leaves_everything_and_takes_the_ghosts_away(page: Page, site_id: str):
    opened(page, site_id)
    page.locator("#c-range summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowDown")
    expect(page.locator(".lim.ghosted").first).to_be_attached()
    page.keyboard.press("Escape")
    expect(page.locator(".lim.ghosted")).to_have_count(0)
    expect(page.locator("#preview")).to_be_hidden()


def test_a_drag_previews_over_a_panel_and_a_drop_moves(page: Page, planner: Planner, site_id: str):
    opened(page, site_id)
    row = page.locator("#c-range .nm").first
    row.scroll_into_view_if_needed()
    start = row.bounding_box()
    place = page.locator('.place[data-to="panel:main"]').bounding_box()
    assert start is not None
    assert place is not None
    page.mouse.move(start["x"] + 20, start["y"] + 8)
    page.mouse.down()
    page.mouse.move(start["x"] + 10, start["y"] + 14, steps=4)
    page.mouse.move(place["x"] + 100, place["y"] + 60, steps=6)
    page.mouse.move(place["x"] + 104, place["y"] + 62, steps=2)
    expect(page.locator("#status")).to_contain_text("Not done yet. Kitchen range on Main panel")
    expect(page.locator(".lim.ghosted").first).to_be_attached()
    page.mouse.up()
    expect(page.locator("#status")).to_contain_text("Kitchen range moved to Main panel")
    assert planner.store.get(site_id).site.circuit("range").panel_id == "main"


def test_a_try_is_kept_only_when_asked(page: Page, planner: Planner, site_id: str):
    opened(page, site_id)
    page.get_by_role("link", name="Try without saving").click()
    expect(page.get_by_text("Trying, nothing is saved.")).to_be_visible()
    page.locator("#c-range summary").click()
    page.locator('#c-range button.go[value="panel:main"]').click()
    expect(page.locator("#status")).to_contain_text("Tried, not saved")
    expect(page).to_have_url(re.compile("try=on%2Crange~panel%3Amain"))
    assert planner.store.get(site_id).site.circuit("range").panel_id == "swing"
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#status")).to_contain_text("Kept 1 tried change")
    assert planner.store.get(site_id).site.circuit("range").panel_id == "main"


def test_a_tried_move_leaves_the_page_where_it_is_with_keep_and_drop_in_view(
    page: Page, site_id: str
):
    opened(page, site_id, "&try=on")
    page.locator("#c-range summary").click()
    page.locator('#c-range button.go[value="panel:main"]').click()
    expect(page.get_by_role("button", name="Keep")).to_be_attached()
    page.locator("#c-range").wait_for()
    row = page.locator(".bus .ckt:not(.moved)", has=page.get_by_text("Move", exact=True)).last
    row.locator("summary").click()
    before = page.evaluate("scrollY")
    assert before > 0
    row.locator("button.go:enabled").first.click()
    expect(page.locator(".ckt.moved")).to_have_count(2)
    expect(page.get_by_role("button", name="Keep")).to_be_in_viewport()
    expect(page.get_by_role("button", name="Drop")).to_be_in_viewport()
    assert abs(page.evaluate("scrollY") - before) < 300


def test_the_band_of_many_draws_arrives_by_itself_and_follows_a_move(
    page: Page, planner: Planner, farm: Site
):
    fresh = farm.model_copy(update={"name": "Not drawn before"})
    opened(page, planner.store.create(fresh).id)
    likely = page.locator("#likely")
    expect(page.locator("#lims-transfer-switch .lb-band").first).to_be_attached(timeout=DRAWN_MS)
    expect(likely).to_contain_text("out of 200 draws")
    expect(likely).to_contain_text("The run shown peaks at")
    expect(page.locator("#likely-said")).to_contain_text("200 draws made.")
    expect(page.locator("#lims-transfer-switch")).to_contain_text("of 200 draws")
    page.locator("#c-range summary").click()
    page.locator('#c-range button.go[value="panel:main"]').click()
    expect(page.locator("#status")).to_contain_text("Kitchen range moved to Main panel")
    expect(page.locator("#lims-transfer-switch .lb-band")).to_have_count(0)
    expect(likely).to_contain_text("Before the change:", timeout=DRAWN_MS)
    expect(page.locator("#lims-transfer-switch .lb-band").first).to_be_attached()


def test_a_move_being_looked_at_stays_when_the_band_arrives(page: Page, site_id: str):
    opened(page, site_id)
    page.locator("#c-range summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowDown")
    expect(page.locator(".lim.ghosted").first).to_be_attached()
    expect(page.locator("#likely")).to_contain_text("out of 200 draws", timeout=DRAWN_MS)
    expect(page.locator(".lim.ghosted").first).to_be_attached()
    page.keyboard.press("Escape")
    expect(page.locator(".lim.ghosted")).to_have_count(0)
    expect(page.locator("#lims-transfer-switch .lb-band").first).to_be_attached()


def test_a_role_that_the_network_drops_is_shown_as_it_is_saved(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/buses")
    form = page.locator("#board form:has(select[name=role])").first
    form.evaluate("(form) => { const box = form.closest('details'); if (box) box.open = true; }")
    choice = form.locator("select[name=role]")
    saved = choice.input_value()
    choice.select_option("off" if saved != "off" else "on")
    page.context.set_offline(True)
    form.get_by_role("button").first.click()
    expect(form.locator(".notsent")).to_contain_text("Not saved: nothing answers")
    expect(choice).to_have_value(saved)
    word = choice.evaluate("(list) => list.selectedOptions[0].text")
    expect(form.locator(".notsent")).to_contain_text(f"Set back to “{word}”, as it is saved.")
    expect(form.locator(".notsent")).not_to_contain_text("Press again")
    wide = form.locator(".notsent").evaluate("(p) => p.clientWidth / p.closest('li').clientWidth")
    assert wide > 0.6
    page.context.set_offline(False)
