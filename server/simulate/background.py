"""Draws made in the background, with progress, and kept for another look.

Work is filed under what it was made from, so a site that is edited has none, and asking for more
draws goes on from those there are.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import Literal

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.ensemble import Draws, run_draws
from server.simulate.odds import Odds, odds_of

State = Literal["waiting", "running", "done", "cancelled", "failed"]

MOST_DRAWS = 2_000
KEPT = 40
_PART = 16
"""Draws made between two looks at whether to go on."""


@dataclass(frozen=True)
class Progress:
    """How far a set of draws is. ``odds`` sums up those there are when it is not going on."""

    state: State
    made: int
    asked: int
    odds: Odds | None = None

    @property
    def going_on(self) -> bool:
        """Whether more draws are still to come by themselves."""
        return self.state in {"waiting", "running"}


class _Work:
    def __init__(self) -> None:
        self.draws: Draws | None = None
        self.odds: Odds | None = None
        self.asked = 0
        self.state: State = "waiting"
        self.stop = threading.Event()
        self.thread: threading.Thread | None = None


class Background:
    """Sets of draws by site and scenario. One is made at a time; safe from several threads."""

    def __init__(self, *, kept: int = KEPT, part: int = _PART) -> None:
        self._kept, self._part = kept, part
        self._work: OrderedDict[tuple[Site, Scenario], _Work] = OrderedDict()
        self._lock = threading.Lock()
        self._turn = threading.Lock()

    def start(self, site: Site, scenario: Scenario, draws: int) -> None:
        """See that at least so many draws are made, going on from those there are."""
        key = (site, scenario)
        with self._lock:
            work = self._work.setdefault(key, _Work())
            self._work.move_to_end(key)
            work.asked = max(work.asked, min(draws, MOST_DRAWS))
            if work.thread is None and (work.draws is None or len(work.draws) < work.asked):
                work.state, work.odds = "waiting", None
                work.stop.clear()
                work.thread = threading.Thread(target=self._run, args=(key, work), daemon=True)
                work.thread.start()
            self._forget()

    def look(self, site: Site, scenario: Scenario) -> Progress | None:
        """How far it is; None where none was asked for or it was forgotten."""
        with self._lock:
            work = self._work.get((site, scenario))
            if work is None:
                return None
            made = 0 if work.draws is None else len(work.draws)
            return Progress(work.state, made, work.asked, work.odds)

    def cancel(self, site: Site, scenario: Scenario) -> None:
        """Stop after the draws in hand; those that were made stay."""
        with self._lock:
            work = self._work.get((site, scenario))
            if work is not None:
                work.stop.set()

    def wait(self, site: Site, scenario: Scenario) -> None:
        """Come back when no more draws are to come."""
        with self._lock:
            work = self._work.get((site, scenario))
            thread = work.thread if work else None
        if thread is not None:
            thread.join()

    def _forget(self) -> None:
        over = len(self._work) - self._kept
        for key in [k for k, w in self._work.items() if w.thread is None][: max(over, 0)]:
            del self._work[key]

    def _run(self, key: tuple[Site, Scenario], work: _Work) -> None:
        end: State = "failed"
        try:
            with self._turn:
                end = self._make(key, work)
        finally:
            odds = None if work.draws is None else odds_of(*key, work.draws)
            with self._lock:
                work.odds, work.state, work.thread = odds, end, None
                if end == "cancelled":
                    work.asked = 0 if work.draws is None else len(work.draws)

    def _make(self, key: tuple[Site, Scenario], work: _Work) -> State:
        while not work.stop.is_set():
            with self._lock:
                work.state = "running"
                made = 0 if work.draws is None else len(work.draws)
                last = min(made + self._part, work.asked)
            if made >= last:
                return "done"
            part = run_draws(*key, draws=range(made, last))
            with self._lock:
                work.draws = part if work.draws is None else work.draws.merge(part)
        return "cancelled"


background = Background()
"""The one of this process."""


def kept_odds(site: Site, scenario: Scenario) -> Odds | None:
    """What draws were made of this scenario on this site, summed up, where they are kept."""
    found = background.look(site, scenario)
    return found.odds if found else None
