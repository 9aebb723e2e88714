"""What a page says while the kernels are being compiled, once after an installation."""

from __future__ import annotations

import re
import threading
from threading import Event
from time import monotonic

import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from server.web import ready
from tests.web.conftest import ADDRESS

SAID = "begins with one service and one panel"

WAITING = ("", "/buses", "/scenarios", "/demand", "/findings")


@pytest.fixture
def reader(browser):
    """A browser that asks for a page to look at."""
    browser.headers["Accept"] = "text/html,application/xhtml+xml,*/*;q=0.8"
    return browser


@pytest.fixture
def unready(planner, monkeypatch):
    monkeypatch.setattr(ready, "PATIENCE_S", 0.01)
    planner.state.kernels_ready.clear()
    return planner


@pytest.mark.parametrize("path", WAITING)
def test_a_page_that_needs_a_run_says_why_it_waits_and_asks_again(unready, reader, stored, path):
    answer = reader.get(f"/sites/{stored.id}{path}")
    assert answer.status_code == 503
    assert answer.headers["Retry-After"] == str(ready.AGAIN_S)
    assert f'<meta http-equiv="refresh" content="{ready.AGAIN_S}">' in answer.text
    assert "<h1>Getting ready</h1>" in answer.text
    assert "Planning aid only." in answer.text


def test_it_says_how_long_it_has_taken_so_far(unready, reader, stored):
    unready.state.preparing_since_s = monotonic() - 180.0
    assert "; 3 min so far." in reader.get(f"/sites/{stored.id}").text


def test_the_pages_it_names_meanwhile_can_be_read(unready, reader, stored):
    text = reader.get(f"/sites/{stored.id}").text
    lead = text[text.index("Meanwhile") :]
    links = re.findall(r'href="([^"]+)"', lead[: lead.index("</p>")])
    assert len(links) == 4
    for link in links:
        assert reader.get(link).status_code == 200


def test_what_was_said_is_kept_for_the_page_that_was_asked_for(unready, reader, sites):
    made = reader.post("/sites", data={"name": "New house"})
    page = f"/sites/{made.headers['location'].split('/')[2]}"
    waiting = reader.get(page)
    assert waiting.status_code == 503
    assert SAID not in waiting.text
    unready.state.kernels_ready.set()
    assert SAID in reader.get(page).text


def test_a_fragment_waits_and_the_page_comes_when_it_is_ready(unready, reader, stored):
    fragment = reader.get(f"/sites/{stored.id}/findings", headers={"HX-Request": "true"})
    assert fragment.status_code == 200
    unready.state.kernels_ready.set()
    assert reader.get(f"/sites/{stored.id}").status_code == 200


def test_a_file_waits_for_as_long_as_it_takes(unready, reader, stored):
    for name in ("series.csv", "picture.svg", "plot.json"):
        answer = reader.get(f"/sites/{stored.id}/scenarios/{stored.site.scenarios[0].id}/{name}")
        assert answer.status_code == 200
        assert not answer.headers["Content-Type"].startswith("text/html")


def test_the_kernels_are_ready_when_the_warm_up_is_over_however_it_ends(tmp_path, monkeypatch):
    begun, leave = Event(), Event()

    def warm_up():
        begun.set()
        leave.wait(30)
        raise RuntimeError

    monkeypatch.setattr("server.app.warm_up", warm_up)
    monkeypatch.setattr(threading, "excepthook", lambda _: None)
    planner = create_app(Settings(f"sqlite:///{tmp_path / 'a.db'}", load_demos=False))
    with TestClient(planner, base_url=ADDRESS):
        assert begun.wait(30)
        assert not planner.state.kernels_ready.is_set()
        leave.set()
        assert planner.state.kernels_ready.wait(30)


def test_a_site_that_is_not_there_is_still_not_there(unready, reader):
    assert reader.get("/sites/nothing").status_code == 404
