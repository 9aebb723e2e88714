"""What holds on every page: accessible, narrow enough, printed with its cautions, scriptless."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

import server.web
from server.domain.cautions import CAUTIONS
from server.domain.site import Site
from tests.browser.accessible import faults
from tests.browser.conftest import Planner
from tests.browser.pages import SHEETS, Sheet
from tests.browser.targets import too_small

Contexts = Callable[..., BrowserContext]
PRINTED_FOLDS = """[...document.querySelectorAll('.runfold > :not(summary, details)')]
  .every((part) => part.checkVisibility())"""
DOWNLOADS = ("plot.json", "plot.bin", "series.csv", "picture.svg")
FRAGMENTS = ("weather-curve", "verdict", "minute", "odds", "relief", "next-step")
NOT_PAGES = {
    "/static/joined/{}.{}",
    "/",
    "{}/site-file",
    "{}/buses/elsewhere",
    "{}/elsewhere",
    "{}/buses/likely",
    "{}/buses/preview",
    "{}/findings/tried",
    "{}/house",
    "{}/survey/photos/{}",
    "{}/spaces/preview",
} | {f"{{}}/scenarios/{{}}/{name}" for name in (*DOWNLOADS, *FRAGMENTS)}
each_page = pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)


@pytest.fixture(scope="module")
def shown_id(planner: Planner, farm: Site) -> str:
    """Id of a copy of the demo that no test edits."""
    return planner.store.create(farm, label="Copied to be looked at").id


@pytest.fixture
def show(shown_id: str, farm: Site) -> Callable[[Page, Sheet], Page]:
    def opened(page: Page, sheet: Sheet) -> Page:
        answer = page.goto(sheet.address(shown_id, farm))
        assert answer is not None
        assert answer.status == sheet.status
        return page

    return opened


def settled_width_px(page: Page, most_px: int) -> int:
    """Width of what there is to scroll, once charts were drawn anew to the window."""
    for _ in range(50):
        width_px = int(page.evaluate("document.documentElement.scrollWidth"))
        if width_px <= most_px:
            break
        page.wait_for_timeout(100)
    return width_px


def test_every_page_is_looked_at_here():
    modules = [
        importlib.import_module(f"server.web.{module.name}")
        for module in pkgutil.iter_modules(server.web.__path__)
    ]
    paths = {
        re.sub(r"\{\w+\}", "{}", route.path.replace("/sites/{site_id}", "{site}"))
        for module in modules
        for route in getattr(getattr(module, "router", None), "routes", ())
        if "GET" in getattr(route, "methods", ())
    }
    looked_at = {re.sub(r"\{\w+\}", "{}", sheet.path.partition("?")[0]) for sheet in SHEETS}
    looked_at = {path.replace("/new-part/feeder", "/new-part/{}") for path in looked_at}
    assert "{}/buses" in paths
    assert paths - looked_at == NOT_PAGES


@each_page
def test_page_holds_on_screen_narrow_dark_and_printed(page: Page, show, sheet: Sheet):
    page.emulate_media(reduced_motion="reduce")  # A colour half way between themes is none of ours.
    show(page, sheet)
    expect(page.locator("h1")).to_have_count(1)
    expect(page.locator("[role=status]")).to_have_count(1)
    assert page.title().endswith("Threebus")
    assert faults(page) == []
    assert too_small(page) == []
    page.emulate_media(color_scheme="dark")
    assert faults(page, colours_only=True) == []
    for width in (768, 390, 320):
        page.set_viewport_size({"width": width, "height": 844})
        assert settled_width_px(page, width) <= width
    assert too_small(page) == []
    page.emulate_media(media="print", color_scheme="light")
    for key in sheet.cautions:
        said = page.get_by_text(CAUTIONS[key].head, exact=False).filter(visible=True)
        expect(said.first).to_be_visible()
        expect(page.locator("body")).to_contain_text(CAUTIONS[key].text)
    assert page.evaluate(PRINTED_FOLDS)
    printed = page.locator(".caution.onpaper p")
    expect(printed).to_have_count(len(page.locator(".caution.onscreen p").all()))
    for shown in printed.all():
        expect(shown).to_be_visible()
    foot = printed.last.evaluate("p => p.getBoundingClientRect().bottom")
    assert foot < page.locator("h1").evaluate("h => h.getBoundingClientRect().top")


def test_axe_finds_a_fault_that_is_there(page: Page, show):
    show(page, SHEETS[0])
    page.evaluate("document.querySelector('main').append(document.createElement('textarea'))")
    assert any("label" in fault for fault in faults(page))


def test_axe_finds_a_colour_too_pale_in_the_dark(page: Page, show):
    show(page, SHEETS[0])
    page.emulate_media(color_scheme="dark")
    page.evaluate("document.querySelector('main h1').style.color = '#333'")
    assert any("color-contrast" in fault for fault in faults(page, colours_only=True))


def test_a_pale_text_among_many_that_look_alike_otherwise_is_found(page: Page, show):
    """Contrast is looked at once for each look; another colour anywhere above is another look."""
    show(page, SHEETS[0])
    page.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend',"
        " '<ul>' + '<li><b>one like the others</b></li>'.repeat(30) + '</ul>')"
    )
    assert faults(page, colours_only=True) == []
    page.evaluate("[...document.querySelectorAll('main li b')].at(-2).style.color = '#bbb'")
    assert len(faults(page, colours_only=True)) == 1
    page.evaluate(
        "const one = [...document.querySelectorAll('main li')].at(-7);"
        "one.style.background = '#222'; one.firstChild.style.color = '#111'"
    )
    assert len(faults(page, colours_only=True)) == 2


def test_two_small_targets_side_by_side_are_found(page: Page, show):
    show(page, SHEETS[0])
    page.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend',"
        ' \'<div><a href="#a">a</a> <a href="#b">b</a></div>\')'
    )
    assert len(too_small(page)) == 2


@each_page
def test_page_reads_without_script(open_context: Contexts, show, sheet: Sheet):
    page = show(open_context(java_script_enabled=False).new_page(), sheet)
    expect(page.locator("main h1").first).to_be_visible()
    for form in page.locator("form").all():
        assert form.get_attribute("action")
        assert form.locator("button").count()
