"""What makes a page readable on a phone and on paper: tables in their own box, heads kept along."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from server.domain.site import Site
from tests.browser.conftest import Planner
from tests.grown import grown

Contexts = Callable[..., BrowserContext]

FIRST_CELL = """(box) => {
  box.scrollLeft = box.scrollWidth;
  const first = box.querySelector("tbody tr:not(.grp) > th").getBoundingClientRect();
  const edge = box.getBoundingClientRect();
  const inside = first.left >= edge.left - 1 && first.right <= edge.right;
  return { moved: box.scrollLeft, inside };
}"""


@pytest.fixture(scope="module")
def shown_id(planner: Planner, farm: Site) -> str:
    return planner.store.create(farm, label="Copied to be read").id


@pytest.fixture(scope="module")
def large_id(planner: Planner, farm: Site) -> str:
    return planner.store.create(grown(farm, circuits=70), label="Many circuits").id


def test_a_wide_table_moves_in_its_box_and_keeps_its_names_in_sight(
    open_context: Contexts, shown_id: str
):
    page = open_context(viewport={"width": 390, "height": 844}).new_page()
    page.goto(f"/sites/{shown_id}/demand")
    box = page.locator("details.sheet[open] .scroll").first
    found = box.evaluate(FIRST_CELL)
    assert found["moved"] > 20
    assert found["inside"]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert "gradient" in box.evaluate("(box) => getComputedStyle(box).backgroundImage")


@pytest.mark.parametrize("sheet", ["demand", "wiring"])
def test_a_summary_on_a_phone_shows_every_figure_with_the_head_of_its_column(
    open_context: Contexts, shown_id: str, sheet: str
):
    page = open_context(viewport={"width": 390, "height": 844}).new_page()
    page.goto(f"/sites/{shown_id}/{sheet}")
    cells = page.locator("table.cards tr:has(th[scope=row])").first.locator("td:visible")
    assert cells.count() >= 7
    for cell in cells.all():
        head = cell.evaluate("(cell) => getComputedStyle(cell, '::before').content")
        assert head.strip('"') == cell.get_attribute("data-head")
        box = cell.bounding_box()
        assert box is not None
        assert 0 <= box["x"] < box["x"] + box["width"] <= 390


def test_no_head_of_a_printed_sheet_may_end_a_page(page: Page, shown_id: str):
    for sheet in ("", "/demand", "/wiring", "/findings", "/buses", "/circuits"):
        page.goto(f"/sites/{shown_id}{sheet}")
        page.emulate_media(media="print")
        loose = page.evaluate(
            """() => [...document.querySelectorAll("main :is(h1, h2, h3, caption, tr)")]
              .filter((it) => it.checkVisibility())
              .filter((it) => {
                const style = getComputedStyle(it);
                return it.localName === "tr"
                  ? style.breakInside !== "avoid"
                  : style.breakAfter !== "avoid";
              }).map((it) => it.outerHTML.slice(0, 80))"""
        )
        assert loose == []


def test_notes_of_the_findings_are_folded_open_by_their_address_and_printed(
    page: Page, shown_id: str
):
    page.goto(f"/sites/{shown_id}/findings")
    first = page.locator(".findings li:has(.fold:not([open]))").first
    mend = first.locator(".mend")
    expect(mend).not_to_be_visible()
    anchor = first.get_attribute("id")
    page.goto("about:blank")
    page.goto(f"/sites/{shown_id}/findings#{anchor}")
    expect(mend).to_be_visible()
    page.goto("about:blank")
    page.goto(f"/sites/{shown_id}/findings")
    page.emulate_media(media="print")
    expect(mend).to_be_visible()


def test_figures_of_both_legs_stand_apart_at_a_minute_with_little_on(page: Page, shown_id: str):
    page.goto(f"/sites/{shown_id}/scenarios/holiday-peak?at=2026-11-26T20:00")
    page.locator(".plotring.above").first.wait_for()
    apart = page.evaluate(
        """() => [...document.querySelectorAll(".u-over")].map((over) => {
          const [above, below] = [".above", ".below"].map((leg) => over.querySelector(leg));
          if (above.hidden || below.hidden) return 99;
          const top = (ring) => parseFloat(ring.style.top)
            + parseFloat(getComputedStyle(ring, "::after").top);
          const high = parseFloat(getComputedStyle(above, "::after").height);
          return top(below) - top(above) - high;
        })"""
    )
    assert len(apart) >= 3
    assert min(apart) >= -2


FOLDED = {"circuits": "tbody tr[id]:not(.grp) th", "buses": ".place .ckt", "spaces": ".spaces .brk"}


@pytest.mark.parametrize("sheet", sorted(FOLDED))
def test_a_house_of_very_many_circuits_folds_by_panel_on_a_phone_only(
    open_context: Contexts, large_id: str, sheet: str
):
    page = open_context(
        viewport={"width": 390, "height": 844}, java_script_enabled=False
    ).new_page()
    page.goto(f"/sites/{large_id}/{sheet}")
    first = page.locator(FOLDED[sheet]).first
    expect(first).not_to_be_visible()
    page.locator(".foldknob summary").first.click()
    expect(first).to_be_visible()
    page.reload()
    expect(first).not_to_be_visible()
    page.emulate_media(media="print")
    expect(first).to_be_visible()
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 768, "height": 844})
    expect(first).to_be_visible()
    expect(page.locator(".foldknob").first).not_to_be_visible()


def test_a_circuit_asked_for_by_its_address_is_not_folded_away(
    open_context: Contexts, large_id: str
):
    page = open_context(viewport={"width": 390, "height": 844}).new_page()
    page.goto(f"/sites/{large_id}/circuits")
    anchor = page.locator("tbody:has(.foldknob) tr[id]:not(.grp)").first.get_attribute("id")
    page.goto("about:blank")
    page.goto(f"/sites/{large_id}/circuits#{anchor}")
    expect(page.locator(f"#{anchor}")).to_be_visible()


def test_a_panel_stays_open_on_a_phone_when_a_row_of_it_is_saved(
    open_context: Contexts, large_id: str
):
    page = open_context(viewport={"width": 390, "height": 844}).new_page()
    page.goto(f"/sites/{large_id}/circuits", wait_until="networkidle")
    page.locator(".foldknob summary").first.click()
    name = page.locator("tbody tr[id]:not(.grp) [data-col=name]").first
    name.focus()
    page.keyboard.press("F2")
    page.keyboard.type(" again")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("again")
    expect(page.locator("tbody tr[id]:not(.grp) [data-col=name]").first).to_be_visible()
    expect(page.locator(".foldknob").first).to_have_attribute("open", "")


def test_the_feeder_schedule_begins_on_the_first_printed_page(page: Page, shown_id: str):
    page.goto(f"/sites/{shown_id}/wiring")
    page.emulate_media(media="print")
    kept = page.locator(".schedule tbody:not(:first-of-type) > tr:first-child").evaluate_all(
        "rows => rows.map((row) => getComputedStyle(row).breakBefore)"
    )
    assert kept
    assert set(kept) == {"auto"}


@pytest.mark.parametrize("way", ["portable", "backed-up-panel", "whole-house"])
def test_the_house_to_be_drawn_fits_a_phone(open_context: Contexts, way: str):
    page = open_context(viewport={"width": 390, "height": 844}).new_page()
    page.goto(f"/start?step=forgotten&way={way}&seen=1")
    drawn = page.locator(".made svg.sketch:visible")
    expect(drawn).to_have_count(1)
    box = drawn.bounding_box()
    assert box is not None
    assert 0 <= box["x"] < box["x"] + box["width"] <= 390
    expect(page.locator(".drawnsmall .note")).to_be_visible()


@pytest.mark.parametrize("color_scheme", ["light", "dark"])
def test_a_link_to_a_field_shows_its_label_and_its_help(
    open_context: Contexts, site_id: str, color_scheme: str
):
    page = open_context(
        viewport={"width": 390, "height": 844}, color_scheme=color_scheme
    ).new_page()
    page.goto(f"/sites/{site_id}/circuits/range#f-own_battery_h")
    entry = page.locator(".entry", has=page.locator("#f-own_battery_h"))
    expect(page.locator("#f-own_battery_h")).to_be_focused()
    expect(entry.locator("label")).to_be_in_viewport(ratio=1)
    expect(entry.locator(".hint")).to_be_in_viewport(ratio=1)
