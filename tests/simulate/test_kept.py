"""Runs kept within their room."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from server.simulate.kept import KeptRuns, size_of
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import normal_only_site, scenario

RUN = simulate(normal_only_site(), scenario())


def test_a_kept_run_is_not_made_again() -> None:
    kept = KeptRuns()
    assert kept.get("a", lambda: RUN) is RUN
    other = simulate(normal_only_site(), scenario())
    assert kept.get("a", lambda: other) is RUN


def test_the_run_not_looked_at_longest_goes_first() -> None:
    kept = KeptRuns(room_bytes=3 * size_of(RUN))
    for key in "abc":
        kept.get(key, lambda: RUN)
    kept.get("a", lambda: RUN)
    kept.get("d", lambda: RUN)
    other = simulate(normal_only_site(), scenario())
    assert len(kept) == 3
    assert kept.get("a", lambda: other) is RUN
    assert kept.get("b", lambda: other) is other


def test_one_run_larger_than_the_room_is_still_kept() -> None:
    kept = KeptRuns(room_bytes=1)
    kept.get("a", lambda: RUN)
    kept.get("b", lambda: RUN)
    assert len(kept) == 1


def test_a_run_under_way_is_waited_for_and_not_made_twice() -> None:
    kept = KeptRuns()
    begun, go_on = threading.Event(), threading.Event()
    made = []

    def slow() -> Run:
        made.append(1)
        begun.set()
        assert go_on.wait(30)
        return RUN

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(kept.get, "a", slow)
        assert begun.wait(30)
        second = pool.submit(kept.get, "a", slow)
        go_on.set()
        assert first.result() is second.result() is RUN
    assert len(made) == 1


def test_a_run_that_fails_is_made_anew_the_next_time() -> None:
    kept = KeptRuns()

    def fails() -> Run:
        raise ValueError("no panel")

    for _ in range(2):
        with pytest.raises(ValueError, match="no panel"):
            kept.get("a", fails)
    assert kept.get("a", lambda: RUN) is RUN


def test_two_that_ask_at_once_get_one_run() -> None:
    kept = KeptRuns()
    with ThreadPoolExecutor(4) as pool:
        runs = list(
            pool.map(
                lambda _: kept.get("a", lambda: simulate(normal_only_site(), scenario())), range(8)
            )
        )
    assert len({id(r) for r in runs}) == 1
