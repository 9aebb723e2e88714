"""Style sheets and scripts of a page in one file each."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from server import guard
from server.paths import STATIC
from server.web.joined import scripts, styles
from server.web.pages import static


def address(link: str) -> str:
    (found,) = re.findall(r'(?:href|src)="([^"]+)"', link)
    return found


@pytest.mark.parametrize(
    ("link", "folder", "names", "media"),
    [
        (styles("tokens", "base"), "css", ("tokens", "base"), "text/css"),
        (scripts("keys", "base"), "js", ("keys", "base"), "text/javascript"),
    ],
)
def test_parts_come_in_their_order_and_are_kept_for_long(
    browser: TestClient, link: str, folder: str, names: tuple[str, ...], media: str
):
    whole = "\n".join((STATIC / folder / f"{n}.{folder}").read_text("utf-8") for n in names)
    for coding in ("identity", "gzip"):
        answer = browser.get(address(link), headers={"Accept-Encoding": coding})
        assert answer.status_code == 200
        assert answer.text == whole
        assert answer.headers.get("content-encoding", "identity") == coding
        assert answer.headers["content-type"].startswith(media)
        assert answer.headers["cache-control"] == guard.STATIC_VERSIONED
        assert "Accept-Encoding" in answer.headers["vary"]


def test_the_address_changes_with_what_is_joined():
    assert address(styles("tokens", "base")) != address(styles("base", "tokens"))
    assert address(styles("tokens")).partition("?v=")[2] in static("css/tokens.css")


@pytest.mark.parametrize(
    "names",
    [
        "none.css",
        "tokens+none.css",
        "tokens+tokens.css",
        "..tokens.css",
        "+.css",
        "tokens.js",
        "tokens.txt",
        "+".join(["tokens", *(f"t{n}" for n in range(12))]) + ".css",
    ],
)
def test_nothing_but_known_parts_is_joined(browser: TestClient, names: str):
    assert browser.get(f"/static/joined/{names}").status_code == 404


def test_a_page_asks_for_two_sheets_and_its_own_scripts_once(browser: TestClient):
    page = browser.get("/sites").text
    assert len(re.findall(r'rel="stylesheet"', page)) == 2
    assert len(re.findall(r"<script ", page)) == 2
