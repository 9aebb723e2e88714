"""The panel that says how likely each limit is to be passed."""

from __future__ import annotations

import re
import threading

import pytest
from fastapi.testclient import TestClient

from server.domain.supply import FuelTank
from server.simulate import background as module
from server.simulate.background import Background
from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from server.simulate.placing import placing_words
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.odds_view import nearest_limit
from tests.builders import circuit, double_throw_site, generator, with_parts
from tests.web.conftest import form_in

HTMX = {"HX-Request": "true", "HX-Request-Type": "partial"}


@pytest.fixture(autouse=True)
def work(monkeypatch: pytest.MonkeyPatch) -> Background:
    """Work of this test alone."""
    made = Background(part=50)
    for name in ("server.web.odds", "server.web.odds_view", "server.simulate.background"):
        monkeypatch.setattr(f"{name}.background", made)
    return made


def root(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/scenarios/out"


def made(browser: TestClient, stored: StoredSite, work: Background, draws: int = 100) -> str:
    """The run page once so many draws were made."""
    browser.post(f"{root(stored)}/odds", data={"draws": draws})
    work.wait(stored.site, stored.site.scenario("out"))
    return browser.get(root(stored)).text


def test_a_plain_form_starts_it_and_leads_back(browser, stored, work):
    page = browser.get(root(stored)).text
    fields = form_in(page, f"{root(stored)}/odds")
    assert fields == {"draws": "200"}
    answer = browser.post(f"{root(stored)}/odds", data=fields)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{root(stored)}#odds"
    work.wait(stored.site, stored.site.scenario("out"))
    found = work.look(stored.site, stored.site.scenario("out"))
    assert found is not None
    assert found.made == 200


def test_the_panel_gives_median_95th_and_how_many_draws_pass(browser, stored, work):
    page = made(browser, stored, work)
    day = stored.site.scenario("out")
    odds = odds_of(stored.site, day, run_draws(stored.site, day, draws=range(100)))
    assert "A limit is passed in none out of 100 draws" in page
    one = odds.limit("double_throw:throw")
    panel = page[page.index('id="odds"') :]
    row = panel[panel.index('<th scope="row">Double-throw</th>') :]
    row = row[: row.index("</tr>")]
    assert f'<td class="num hit" data-head="95th A">{one.worst.p95:.1f}</td>' in row
    assert 'class="lb-band"' in row
    assert "of many draws, L1 median" in row


def test_a_fragment_shows_progress_until_it_ends_and_can_be_stopped(
    browser, stored, work, monkeypatch
):
    began, go = threading.Event(), threading.Event()

    def slow(*args, **more):
        began.set()
        assert go.wait(30)
        return run_draws(*args, **more)

    monkeypatch.setattr(module, "run_draws", slow)
    started = browser.post(f"{root(stored)}/odds", data={"draws": "200"}, headers=HTMX)
    assert started.status_code == 200
    assert began.wait(30)
    page = browser.get(f"{root(stored)}/odds", headers=HTMX).text
    assert page.startswith("<section")
    assert 'hx-trigger="load' in page
    assert "0 of 200 draws" in page
    assert '<progress max="200" value="0"' in page
    browser.post(f"{root(stored)}/odds/cancel", headers=HTMX)
    go.set()
    work.wait(stored.site, stored.site.scenario("out"))
    page = browser.get(f"{root(stored)}/odds", headers=HTMX).text
    assert "out of 50 draws" in page
    assert "Stopped before the end." in page
    assert "hx-trigger" not in page
    assert "Go on" in page


def test_more_draws_are_offered_once_some_are_made(browser, stored, work):
    page = made(browser, stored, work, 200)
    assert '<option value="200"' not in page
    assert '<option value="500"' in page


def test_a_count_that_is_not_offered_is_the_usual_one(browser, stored, work):
    browser.post(f"{root(stored)}/odds", data={"draws": "999999"})
    work.wait(stored.site, stored.site.scenario("out"))
    found = work.look(stored.site, stored.site.scenario("out"))
    assert found is not None
    assert found.asked == 200


def test_an_edit_of_the_site_sets_it_aside(browser, sites: SiteStore, stored, work):
    made(browser, stored, work)
    changed = with_parts(stored.site, note="Another")
    sites.save(stored.id, changed, base_revision=1, label="Edited")
    page = browser.get(root(stored)).text
    assert "See how likely" in page
    assert "out of 100 draws" not in page


def test_the_overview_has_the_band_on_its_bars(browser, stored, work):
    address = f"/sites/{stored.id}?scenario=out"
    assert 'class="lb-band"' not in browser.get(address).text
    made(browser, stored, work)
    assert 'class="lb-band"' in browser.get(address).text


def test_fuel_and_circuits_that_must_be_served_are_told(browser, sites: SiteStore, work):
    base = double_throw_site()
    medical = circuit("cpap", "backed", 9, load_w=60, load_class="must_serve", own_battery_min=30)
    alarm = circuit("alarm", "backed", 10, load_w=10, load_class="must_serve", allowed_gap_min=0.1)
    small = generator(tank=FuelTank(capacity_gal=5))
    site = with_parts(base, circuits=(*base.circuits, medical, alarm), generators=(small,))
    page = made(browser, sites.create(site), work)
    assert "Generator set runs out of fuel in every draw" in page
    assert "Circuit cpap asks for power and gets none in every draw" in page
    assert "it is without longer than it can wait in every draw" in page
    plenty = with_parts(site, generators=(generator(tank=FuelTank(capacity_gal=500)),))
    page = made(browser, sites.create(plenty), work)
    assert "runs out of fuel in no draw" in page
    assert "or less in 95 of 100, which it can wait." in page


def test_a_fault_is_said_beside_the_button(browser, stored, work, monkeypatch):
    def broken(*_, **__):
        raise RuntimeError("no more")

    monkeypatch.setattr(module, "run_draws", broken)
    monkeypatch.setattr(threading, "excepthook", lambda args: None)
    page = made(browser, stored, work)
    assert "The draws could not be made." in page
    assert "See how likely" in page


def test_an_unknown_scenario_is_not_found(browser, stored):
    for path in ("odds", "odds/cancel"):
        address = f"/sites/{stored.id}/scenarios/none/{path}"
        assert browser.post(address, data={"draws": "200"}).status_code == 404
    assert browser.get(f"/sites/{stored.id}/scenarios/none/odds").status_code == 404


def test_the_panel_starts_by_itself_when_it_comes_in_sight_and_places_the_run_shown(
    browser, stored, work
):
    page = browser.get(root(stored)).text
    section = re.search(r'<section[^>]*id="odds"[^>]*>', page)
    assert section is not None
    assert 'hx-trigger="intersect once"' in section[0]
    assert f'hx-post="{root(stored)}/odds"' in section[0]
    page = made(browser, stored, work)
    assert "intersect" not in page
    day = stored.site.scenario("out")
    nearest = nearest_limit(
        odds_of(stored.site, day, run_draws(stored.site, day, draws=range(100)))
    )
    assert nearest is not None
    assert nearest.placing is not None
    assert placing_words(nearest.placing, nearest.point.name) in page
