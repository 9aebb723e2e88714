"""What makes a page readable on a phone and on paper: tables in their own box, heads kept along."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from server.domain.site import Site
from tests.browser.conftest import Planner

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


@pytest.mark.parametrize("sheet", ["demand", "wiring"])
def test_a_wide_table_moves_in_its_box_and_keeps_its_names_in_sight(
    open_context: Contexts, shown_id: str, sheet: str
):
    page = open_context(viewport={"width": 390, "height": 844}).new_page()
    page.goto(f"/sites/{shown_id}/{sheet}")
    box = page.locator(".scroll").first
    found = box.evaluate(FIRST_CELL)
    assert found["moved"] > 20
    assert found["inside"]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert "gradient" in box.evaluate("(box) => getComputedStyle(box).backgroundImage")


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
