"""Many draws beside the board: they follow a change by themselves and mark its bars."""

from __future__ import annotations

import re
import threading

import pytest
from fastapi.testclient import TestClient

from server.simulate import background as module
from server.simulate.background import Background
from server.simulate.ensemble import run_draws
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import (
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    with_parts,
)
from tests.web.conftest import form_in

HTMX = {"HX-Request": "true", "HX-Request-Type": "partial"}


@pytest.fixture(autouse=True)
def work(monkeypatch: pytest.MonkeyPatch) -> Background:
    """Work of this test alone."""
    made = Background(part=50)
    for name in (
        "server.app",
        "server.web.board_likely",
        "server.web.buses_likely",
        "server.web.odds",
        "server.simulate.background",
    ):
        monkeypatch.setattr(f"{name}.background", made)
    return made


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> tuple[threading.Event, threading.Event]:
    """Draws that say when they began and wait until they may go."""
    began, go = threading.Event(), threading.Event()

    def slow(*args, **more):
        began.set()
        assert go.wait(30)
        return run_draws(*args, **more)

    monkeypatch.setattr(module, "run_draws", slow)
    return began, go


def board(stored: StoredSite, part: str = "", more: str = "") -> str:
    return f"/sites/{stored.id}/buses{part}?scenario=out{more}"


def drawn(browser: TestClient, stored: StoredSite, work: Background, more: str = "") -> str:
    """The fragment that arrives once the draws are made."""
    address = board(stored, "/likely", more)
    browser.post(address, headers=HTMX)
    for site, day in list(work._work):
        work.wait(site, day)
    return browser.get(address, headers=HTMX).text


def test_a_board_asks_for_its_draws_once_it_stands_there(browser, stored, work):
    page = browser.get(board(stored)).text
    section = re.search(r'<section[^>]*id="likely"[^>]*>', page)
    assert section is not None
    assert f'hx-post="{board(stored, "/likely")}"' in section[0]
    assert 'hx-trigger="load' in section[0]
    assert work.look(stored.site, stored.site.scenario("out")) is None


def test_without_script_a_button_starts_them_and_the_board_shows_them(browser, stored, work):
    page = browser.get(board(stored)).text
    action = board(stored, "/likely")
    answer = browser.post(action, data=form_in(page, action))
    assert answer.status_code == 303
    assert answer.headers["location"] == board(stored) + "#likely"
    work.wait(stored.site, stored.site.scenario("out"))
    page = browser.get(board(stored)).text
    assert "A limit is passed in none out of 200 draws" in page
    assert "The run shown peaks at" in page
    assert f'href="/sites/{stored.id}/scenarios/out#odds"' in page
    assert 'class="lb-band"' in page
    part = page[page.index('id="likely"') :]
    assert "hx-trigger" not in part[: part.index("</section>")]


def test_the_bands_arrive_for_every_bus_and_are_spoken(browser, stored, work):
    page = browser.get(board(stored)).text
    assert "of many draws" not in page[: page.index('<p class="key">')]
    arrived = drawn(browser, stored, work)
    assert arrived.startswith("<section")
    ids = set(re.findall(r'<div class="lims" id="([^"]+)"', page))
    sent = set(re.findall(r'<div class="lims" id="([^"]+)" hx-swap-oob="true"', arrived))
    assert ids
    assert ids <= sent
    assert arrived.count('class="lb-band"') > len(ids)
    said = re.search(r'id="likely-said" aria-live="polite"[^>]*>([^<]*)<', arrived)
    assert said is not None
    assert said[1].startswith("200 draws made. A limit is passed in none out of 200 draws")


def test_a_limit_that_draws_pass_says_in_how_many(browser, sites: SiteStore, work):
    """A set that every draw overloads by a load that never stops."""
    base = backed_up_site()
    heater = circuit("heater", "backed", 9, load_w=3000)
    site = with_parts(base, circuits=(*base.circuits, heater), generators=(generator(rated_kw=2),))
    arrived = drawn(browser, sites.create(site), work)
    assert "A limit is passed in 200 out of 200 draws" in arrived
    bar = arrived[arrived.index('data-limit="generator:') :]
    bar = bar[: bar.index("</div>\n  </div>") if "</div>\n  </div>" in bar else 4000]
    assert "passed in 200 of 200 draws" in bar
    assert "95th L1" in bar


def test_progress_can_be_stopped_and_the_draws_there_are_stay(browser, stored, work, held):
    began, go = held
    started = browser.post(board(stored, "/likely"), headers=HTMX).text
    assert '<progress max="200" value="0"' in started
    assert began.wait(30)
    assert "hx-get" in browser.get(board(stored, "/likely"), headers=HTMX).text
    browser.post(board(stored, "/likely/cancel"), headers=HTMX)
    go.set()
    work.wait(stored.site, stored.site.scenario("out"))
    page = browser.get(board(stored, "/likely"), headers=HTMX).text
    assert "out of 50 draws" in page
    assert "Stopped before the end." in page
    assert "Go on" in page
    assert "hx-trigger" not in page


@pytest.mark.parametrize("edit", ["move", "undo", "rename"])
def test_draws_under_way_stop_when_the_site_changes(
    edit: str, browser, sites: SiteStore, stored, work, held
):
    began, go = held
    browser.post(
        f"/sites/{stored.id}/buses/move",
        data={"revision": "1", "scenario": "out", "circuit": "c", "to": "panel:main"},
    )
    stored = sites.get(stored.id)
    browser.post(board(stored, "/likely"), headers=HTMX)
    assert began.wait(30)
    if edit == "move":
        data = {"revision": "2", "scenario": "out", "circuit": "d", "to": "panel:main"}
        browser.post(f"/sites/{stored.id}/buses/move", data=data)
    elif edit == "undo":
        browser.post(f"/sites/{stored.id}/undo", data={"revision": "2", "back": "/sites"})
    else:
        sites.save(stored.id, with_parts(stored.site, name="Else"), base_revision=2, label="Named")
    assert sites.get(stored.id).revision == 3
    go.set()
    work.wait(stored.site, stored.site.scenario("out"))
    found = work.look(stored.site, stored.site.scenario("out"))
    assert found is not None
    assert (found.state, found.made) == ("left", 50)


def test_a_change_tells_how_it_was_before(browser, stored, work):
    drawn(browser, stored, work)
    data = {"revision": "1", "scenario": "out", "circuit": "d", "to": "panel:main"}
    answer = browser.post(f"/sites/{stored.id}/buses/move", data=data, headers=HTMX)
    asked = re.search(r'hx-post="([^"]*/likely[^"]*)"', answer.text)
    assert asked is not None
    address = asked[1].replace("&amp;", "&")
    assert "moved=d" in address
    browser.post(address, headers=HTMX)
    for site, day in list(work._work):
        work.wait(site, day)
    arrived = browser.get(address, headers=HTMX).text
    assert "Before the change: in none out of 200 draws" in arrived


def test_draws_that_were_left_go_on_when_the_board_is_opened_again_but_not_by_a_look(
    browser, sites: SiteStore, stored, work, held
):
    began, go = held
    browser.post(board(stored, "/likely"), headers=HTMX)
    assert began.wait(30)
    work.leave(stored.id)
    go.set()
    work.wait(stored.site, stored.site.scenario("out"))
    looked = browser.get(board(stored, "/likely"), headers=HTMX).text
    assert "Stopped before the end." in looked
    assert "hx-trigger" not in looked
    page = browser.get(board(stored)).text
    section = re.search(r'<section[^>]*id="likely"[^>]*>', page)
    assert section is not None
    assert "hx-post" in section[0]
    arrived = drawn(browser, stored, work)
    assert "out of 200 draws" in arrived


def test_a_tried_move_is_drawn_and_nothing_is_saved(browser, sites: SiteStore, stored, work):
    arrived = drawn(browser, stored, work, "&try=on%2Cd~panel%3Amain")
    assert "out of 200 draws" in arrived
    assert "Everything the draws say" not in arrived
    assert sites.get(stored.id).revision == 1
    assert work.look(stored.site, stored.site.scenario("out")) is None


def test_nothing_to_run_is_not_found(browser, sites: SiteStore):
    bare = sites.create(with_parts(double_throw_site(), scenarios=()))
    for path in ("", "/cancel"):
        assert browser.post(f"/sites/{bare.id}/buses/likely{path}").status_code == 404
    assert "How likely" not in browser.get(f"/sites/{bare.id}/buses").text
