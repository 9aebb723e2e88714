"""Nothing moves while a page comes in, and no page is heavy. Nothing here is timed."""

from __future__ import annotations

import asyncio
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser, Page
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.domain.site import Site
from server.paths import STATIC
from server.web.pages import static
from tests.bench.page_probe import visit, watched
from tests.browser.conftest import Planner, serving
from tests.browser.pages import SHEETS, Sheet

MOST_SHIFT = 0.05
MOST_BYTES = 150_000
PAUSE_S = 0.5
each_page = pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)


@pytest.fixture(scope="module")
def large_id(planner: Planner, farm: Site) -> str:
    return planner.store.create(farm, label="Copied to be watched").id


@pytest.fixture
def cold(browser: Browser, planner: Planner) -> Callable[[int], Page]:
    """Opens a page that watches itself, in a context whose cache is empty."""
    opened = []

    def open_one(width: int) -> Page:
        context = browser.new_context(
            base_url=planner.address, viewport={"width": width, "height": 844}
        )
        opened.append(context)
        return watched(context, slower=4.0)

    yield open_one
    for context in opened:
        context.close()


@each_page
@pytest.mark.parametrize("width", [390, pytest.param(1280, marks=pytest.mark.long)])
def test_nothing_moves_while_a_page_comes_in_and_its_styles_scripts_and_fonts_are_light(
    cold: Callable[[int], Page], farm: Site, large_id: str, sheet: Sheet, width: int
):
    seen = visit(cold(width), sheet.address(large_id, farm), press=False, rest_ms=250)
    assert seen.shift <= MOST_SHIFT, "\n".join(seen.moved)
    assert 0 < seen.asset_bytes <= MOST_BYTES


def in_pieces(app: FastAPI) -> ASGIApp:
    """The planner over a slow line: every page arrives in three pieces, half a second apart."""

    async def slow(scope: Scope, receive: Receive, send: Send) -> None:
        page = False

        async def pass_on(message: Message) -> None:
            nonlocal page
            if message["type"] == "http.response.start":
                page = b"text/html" in dict(message["headers"]).get(b"content-type", b"")
            body = message.get("body", b"")
            if page and len(body) > 3:
                third = len(body) // 3
                for piece in (body[:third], body[third : 2 * third]):
                    await send({**message, "body": piece, "more_body": True})
                    await asyncio.sleep(PAUSE_S)
                message = {**message, "body": body[2 * third :]}
            await send(message)

        await app(scope, receive, pass_on)

    return slow


def test_a_page_on_a_slow_line_is_painted_when_it_is_whole(
    browser: Browser, migrated_file: Path, tmp_path: Path
):
    """Half a page would be laid out, and what follows would push it about."""
    database = shutil.copyfile(migrated_file, tmp_path / "threebus.db")
    with serving(database, load_demos=False, around=in_pieces) as planner:
        context = browser.new_context(
            base_url=planner.address, viewport={"width": 1280, "height": 844}
        )
        page = watched(context)
        page.goto("/start?step=forgotten&way=whole-house&solar=unknown", wait_until="load")
        page.wait_for_function("performance.getEntriesByName('first-contentful-paint').length")
        waited_ms = page.evaluate(
            "performance.getEntriesByName('first-contentful-paint')[0].startTime"
            " - performance.getEntriesByType('navigation')[0].responseStart"
        )
        shift = page.evaluate("window.probe.cls")
        context.close()
    assert waited_ms >= 2 * PAUSE_S * 1000
    assert shift <= MOST_SHIFT


def test_a_shift_that_happens_is_counted(cold: Callable[[int], Page]):
    page = cold(1280)
    page.goto("/sites")
    page.wait_for_timeout(300)
    page.evaluate(
        "document.querySelector('main').prepend(Object.assign(document.createElement('div'),"
        " {innerHTML: '<p>late</p>'.repeat(12)}))"
    )
    page.wait_for_timeout(300)
    assert page.evaluate("window.probe.cls") > MOST_SHIFT


def test_every_font_is_asked_for_by_the_address_that_changes_with_it():
    styles = (STATIC / "css/tokens.css").read_text(encoding="utf-8")
    asked = re.findall(r"url\(\.\./(fonts/[^)]+)\)", styles)
    assert len(asked) == 3
    for address in asked:
        assert static(address.partition("?")[0]) == f"/static/{address}"
