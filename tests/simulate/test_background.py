"""Draws in the background: progress, cancel, going on, and what is kept."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from server.domain.scenario import Scenario
from server.simulate import background as module
from server.simulate.background import Background, Want
from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from tests.builders import backed_up_site, scenario

SITE = backed_up_site()
DAY = SITE.scenario("out")


def test_it_ends_with_the_odds_of_all_draws() -> None:
    work = Background(part=3)
    assert work.look(SITE, DAY) is None
    work.start(SITE, DAY, 8)
    work.wait(SITE, DAY)
    found = work.look(SITE, DAY)
    assert found is not None
    assert (found.state, found.made, found.asked) == ("done", 8, 8)
    assert found.odds == odds_of(SITE, DAY, run_draws(SITE, DAY, draws=range(8)))


def test_more_draws_go_on_from_those_there_are(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[range] = []

    def counted(*args, draws: range, **more):
        asked.append(draws)
        return run_draws(*args, draws=draws, **more)

    monkeypatch.setattr(module, "run_draws", counted)
    work = Background(part=4)
    work.start(SITE, DAY, 4)
    work.wait(SITE, DAY)
    work.start(SITE, DAY, 6)
    work.wait(SITE, DAY)
    assert asked == [range(4), range(4, 6)]
    work.start(SITE, DAY, 2)
    work.wait(SITE, DAY)
    assert len(asked) == 2
    found = work.look(SITE, DAY)
    assert found is not None
    assert found.odds is not None
    assert found.odds.draws == 6


def test_cancel_keeps_the_draws_that_were_made(monkeypatch: pytest.MonkeyPatch) -> None:
    first, go = threading.Event(), threading.Event()

    def slow(*args, **more):
        first.set()
        assert go.wait(30)
        return run_draws(*args, **more)

    monkeypatch.setattr(module, "run_draws", slow)
    work = Background(part=2)
    work.start(SITE, DAY, 100)
    assert first.wait(30)
    found = work.look(SITE, DAY)
    assert found is not None
    assert found.going_on
    work.cancel(SITE, DAY)
    go.set()
    work.wait(SITE, DAY)
    found = work.look(SITE, DAY)
    assert found is not None
    assert (found.state, found.made, found.asked) == ("cancelled", 2, 2)
    assert found.odds is not None
    assert found.odds.draws == 2


def test_a_fault_is_told_and_can_be_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    work = Background()
    with monkeypatch.context() as patch:
        patch.setattr(module, "run_draws", lambda *a, **k: np.empty(-1))
        patch.setattr(threading, "excepthook", lambda args: None)
        work.start(SITE, DAY, 2)
        work.wait(SITE, DAY)
    found = work.look(SITE, DAY)
    assert found is not None
    assert (found.state, found.odds) == ("failed", None)
    work.start(SITE, DAY, 2)
    work.wait(SITE, DAY)
    found = work.look(SITE, DAY)
    assert found is not None
    assert found.state == "done"


def test_a_fault_in_the_summing_up_does_not_leave_it_running(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    work = Background()

    def no_room(*_):
        raise MemoryError

    with monkeypatch.context() as patch:
        patch.setattr(module, "odds_of", no_room)
        patch.setattr(threading, "excepthook", lambda args: None)
        work.start(SITE, DAY, 2)
        work.wait(SITE, DAY)
    found = work.look(SITE, DAY)
    assert found is not None
    assert (found.state, found.odds) == ("failed", None)


def test_an_edited_site_has_none_and_the_oldest_are_forgotten() -> None:
    work = Background(kept=2)
    days = [scenario("out", span_h=h, outage_h=(1, 2)) for h in (3, 4, 5)]
    for day in days:
        work.start(SITE, day, 1)
        work.wait(SITE, day)
    work.start(SITE, days[2], 1)
    assert work.look(SITE, days[0]) is None
    assert work.look(SITE, days[2]) is not None
    assert work.look(backed_up_site(name="Another"), days[2]) is None


class Held:
    """Draws that wait until they are let go; ``asked`` are the spans of the scenarios drawn."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.began, self.go = threading.Event(), threading.Event()
        self.asked: list[float] = []
        monkeypatch.setattr(module, "run_draws", self)

    def __call__(self, site, day, **more):
        self.asked.append(day.span_h)
        self.began.set()
        assert self.go.wait(30)
        return run_draws(site, day, **more)


def state_of(work: Background, day: Scenario) -> tuple[str, int]:
    work.wait(SITE, day)
    found = work.look(SITE, day)
    assert found is not None
    return found.state, found.made


LATER = scenario("out", span_h=5, outage_h=(1, 2))
BOARD, RUN = Want("farm", "board"), Want("farm", "run")


def test_a_page_that_wants_other_draws_stops_those_it_wanted(monkeypatch):
    held = Held(monkeypatch)
    work = Background(part=2)
    work.start(SITE, DAY, 100, want=BOARD)
    assert held.began.wait(30)
    work.start(SITE, LATER, 4, want=BOARD)
    held.go.set()
    assert state_of(work, DAY) == ("left", 2)
    assert state_of(work, LATER) == ("done", 4)


def test_draws_that_another_page_wants_too_go_on(monkeypatch):
    held = Held(monkeypatch)
    work = Background(part=2)
    work.start(SITE, DAY, 6, want=BOARD)
    work.start(SITE, DAY, 6, want=RUN)
    assert held.began.wait(30)
    work.start(SITE, LATER, 2, want=BOARD)
    held.go.set()
    assert state_of(work, DAY) == ("done", 6)


def test_a_stored_site_that_changed_is_left_and_another_is_not(monkeypatch):
    held = Held(monkeypatch)
    work = Background(part=2)
    work.start(SITE, DAY, 100, want=RUN)
    assert held.began.wait(30)
    work.start(SITE, LATER, 4, want=Want("bungalow", "run"))
    work.leave("farm")
    held.go.set()
    assert state_of(work, DAY) == ("left", 2)
    assert state_of(work, LATER) == ("done", 4)


def test_only_the_page_named_leaves(monkeypatch):
    held = Held(monkeypatch)
    work = Background(part=2)
    work.start(SITE, DAY, 4, want=RUN)
    assert held.began.wait(30)
    work.leave("farm", "board")
    held.go.set()
    assert state_of(work, DAY) == ("done", 4)


def test_work_that_is_wanted_again_while_it_stops_goes_on(monkeypatch):
    held = Held(monkeypatch)
    work = Background(part=2)
    work.start(SITE, DAY, 6, want=BOARD)
    assert held.began.wait(30)
    work.leave("farm")
    work.start(SITE, DAY, 6, want=BOARD)
    held.go.set()
    assert state_of(work, DAY) == ("done", 6)


def test_work_that_no_page_wants_yet_when_it_waits_makes_no_draw(monkeypatch):
    held = Held(monkeypatch)
    work = Background(part=2)
    work.start(SITE, DAY, 2)
    assert held.began.wait(30)
    work.start(SITE, LATER, 4, want=BOARD)
    work.leave("farm", "board")
    held.go.set()
    assert state_of(work, LATER) == ("left", 0)
    assert LATER.span_h not in held.asked
