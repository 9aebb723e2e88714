from __future__ import annotations

import html
import re

import pytest
from fastapi.testclient import TestClient
from starlette.requests import Request

from server.domain.cautions import CAUTIONS
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.pages import SAID_COOKIE, SHEETS, error_page, is_partial, redirect, static
from tests.browser.pages import SHEETS as PAGES
from tests.builders import normal_only_site, scenario, with_parts


def request(path: str = "/sites", **headers: str) -> Request:
    raw = [(name.replace("_", "-").lower().encode(), v.encode()) for name, v in headers.items()]
    scope = {"type": "http", "method": "GET", "path": path, "query_string": b"", "headers": raw}
    return Request(scope | {"scheme": "http", "server": ("127.0.0.1", 8400)})


def test_first_address_leads_to_the_sites(browser: TestClient):
    answer = browser.get("/")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sites")


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_chosen_paper_is_in_the_next_page_itself(browser: TestClient, theme: str):
    answer = browser.post("/theme", data={"theme": theme, "back": "/sites?x=1"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/sites?x=1")
    page = browser.get("/sites").text
    assert f'data-theme="{theme}"' in page
    browser.post("/theme", data={"theme": "system", "back": "/sites"})
    assert "data-theme" not in browser.get("/sites").text


def test_unknown_paper_is_not_kept(browser: TestClient):
    browser.post("/theme", data={"theme": '"><script>', "back": "/sites"})
    assert "data-theme" not in browser.get("/sites").text


@pytest.mark.parametrize(
    "back", ["//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere.example", "x", ""]
)
def test_going_back_never_leaves_this_server(browser: TestClient, back: str):
    answer = browser.post("/theme", data={"theme": "dark", "back": back})
    assert answer.headers["location"] == "/sites"


def test_sheets_stand_in_the_head_and_at_the_foot_with_the_current_one_marked(
    browser: TestClient, stored: StoredSite
):
    page = browser.get(f"/sites/{stored.id}/circuits").text
    for number, name in enumerate(SHEETS.values(), start=1):
        assert page.count(f"<i>{number}</i>{name}</a>") == 2
    assert page.count('aria-current="page"><i>2</i>Circuits') == 2
    assert "<title>Circuits. Switchable panel, Threebus</title>" in page


def test_one_status_region_and_one_main_on_every_page(browser: TestClient, stored: StoredSite):
    root = f"/sites/{stored.id}"
    for path in ("/sites", f"{root}/circuits", f"{root}/settings", f"{root}/supply"):
        page = browser.get(path).text
        assert page.count('role="status"') == 1
        assert page.count("<main") == 1
        assert page.count("<h1") == 1


def test_what_changed_is_said_once(browser: TestClient, stored: StoredSite):
    browser.post(f"/sites/{stored.id}/duplicate")
    assert "Copy of Switchable panel stands in the list." in browser.get("/sites").text
    assert "stands in the list" not in browser.get("/sites").text


def test_said_text_is_escaped():
    answer = redirect(request(), "/sites", said="<b>µ é</b>")
    cookie = answer.headers["set-cookie"]
    value = cookie.partition(f"{SAID_COOKIE}=")[2].partition(";")[0]
    page = error_page(request(cookie=f"{SAID_COOKIE}={value}"), 404, "Nothing", "<i>")
    assert "<i>" not in page.body.decode().partition("<main")[2].partition("</main>")[0]
    assert answer.headers["location"] == "/sites"


def test_a_sentence_that_this_program_did_not_write_is_not_said():
    for cookie in ("Call%20this%20number", f"{'0' * 64}.Call", "é.Call"):
        page = error_page(request(cookie=f"{SAID_COOKIE}={cookie}"), 404, "Nothing", "Gone")
        assert "Call" not in page.body.decode()


def test_what_a_page_is_shown_with_is_a_part_of_it(browser: TestClient, stored: StoredSite):
    """A name that is not there would keep the page back until its last byte."""
    early = 0
    for sheet in PAGES:
        page = browser.get(sheet.address(stored.id, stored.site)).text
        (named,) = re.findall(r'<link rel="expect" href="#([^"]+)"', page)
        assert page.count(f'id="{named}"') == 1, (sheet.name, named)
        early += named != "foot"
    assert early >= 8


def test_nor_is_a_page_of_a_bare_house_kept_back(browser: TestClient, sites: SiteStore):
    """One panel, nothing to run and nothing found: what such a page is shown with is there too."""
    bare = with_parts(normal_only_site(), scenarios=())
    day = scenario("day", span_h=1)
    dark = with_parts(bare, circuits=(), feeders=(), panels=(), scenarios=(day,))
    for site in (bare, dark):
        root = f"/sites/{sites.create(site).id}"
        parts = ("", "/spaces", "/findings", "/compare", "/demand", "/scenarios/day")
        for part in parts[: len(parts) - (site is bare)]:
            page = browser.get(root + part).text
            (named,) = re.findall(r'<link rel="expect" href="#([^"]+)"', page)
            assert page.count(f'id="{named}"') == 1, (part, named)


def test_htmx_is_sent_on_by_its_own_header():
    answer = redirect(request(hx_request="true"), "/sites/x/circuits")
    assert (answer.status_code, answer.headers["hx-redirect"]) == (200, "/sites/x/circuits")


def test_only_htmx_asking_for_a_part_gets_a_part():
    assert is_partial(request(hx_request="true", hx_request_type="partial"))
    assert not is_partial(request(hx_request="true", hx_request_type="full"))
    assert not is_partial(request())


def test_missing_site_is_a_plain_page_with_a_way_on(browser: TestClient):
    answer = browser.get("/sites/none/circuits")
    assert answer.status_code == 404
    assert "Nothing is here" in answer.text
    assert 'href="/sites"' in answer.text


def test_cautions_have_no_control_that_hides_them_and_print_keeps_them(
    browser: TestClient, stored: StoredSite
):
    page = browser.get(f"/sites/{stored.id}/supply").text
    for key in ("backfeed", "exhaust", "bond", "co-alarms"):
        assert str(CAUTIONS[key].text) in page
    parts = page.split('<section class="caution ')[1:]
    assert [part.partition('"')[0] for part in parts] == ["onpaper", "onscreen"]
    first, foot = (part.partition("</section>")[0].partition("Cautions")[2] for part in parts)
    assert first == foot
    assert not any(word in first for word in ("<button", "<details", "noprint", "hidden"))
    css = browser.get(static("css/paper.css")).text
    printed = css[css.index("@media print {") :]
    assert (
        "display: grid !important"
        in printed[printed.index(".caution.onpaper {") :].partition("}")[0]
    )


@pytest.mark.parametrize(
    "path",
    [
        "css/tokens.css",
        "fonts/ysabeau-office-300-700.woff2",
        "fonts/OFL-LICENSE.txt",
        "vendor/htmx-4.0.1.min.js",
        "vendor/htmx-4.0.1.LICENSE.txt",
        "vendor/uplot-1.6.32.iife.min.js",
        "vendor/uplot-1.6.32.LICENSE.txt",
    ],
)
def test_static_files_are_served_under_a_name_that_changes_with_them(
    browser: TestClient, path: str
):
    address = static(path)
    assert "?v=" in address
    assert browser.get(address).status_code == 200


def test_undo_and_redo_name_the_change_and_keep_to_the_revision_shown(
    browser: TestClient, stored: StoredSite
):
    root = f"/sites/{stored.id}"
    browser.post(f"{root}/circuits/a/delete", data={"revision": str(stored.revision)})
    assert 'title="Undo: Delete Circuit a"' in browser.get(f"{root}/circuits").text
    old = {"revision": str(stored.revision), "back": f"{root}/circuits"}
    browser.post(f"{root}/undo", data=old)
    page = browser.get(f"{root}/circuits").text
    assert "Somebody saved since this page was shown" in page
    assert f"{root}/circuits/a" not in page.partition("<main")[2]
    browser.post(f"{root}/undo", data=old | {"revision": str(stored.revision + 1)})
    page = browser.get(f"{root}/circuits").text
    assert "Undone: Delete Circuit a." in page
    assert f'href="{root}/circuits/a"' in page
    assert 'title="Redo: Delete Circuit a"' in page
    browser.post(f"{root}/redo", data=old | {"revision": str(stored.revision + 2)})
    assert f'href="{root}/circuits/a"' not in browser.get(f"{root}/circuits").text


def test_nothing_to_undo_is_said(browser: TestClient, stored: StoredSite):
    root = f"/sites/{stored.id}"
    browser.post(f"{root}/undo", data={"revision": str(stored.revision), "back": "/sites"})
    assert "There is nothing to undo." in browser.get("/sites").text


def test_a_page_that_is_not_there_leads_back_to_its_house(browser, stored):
    for path in ("no-such-page", "circuits/nope", "scenarios/nope"):
        page = html.unescape(browser.get(f"/sites/{stored.id}/{path}").text)
        assert f'<a href="/sites/{stored.id}">To {stored.site.name}</a>' in page
    assert '<a href="/sites">To the list of sites</a>' in browser.get("/sites/nope/circuits").text
