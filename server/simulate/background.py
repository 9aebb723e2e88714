"""Draws made in the background, with progress, and kept for another look.

Work is filed under what it was made from, so a site that is edited has none, and asking for more
draws goes on from those there are. Beside that, work knows the pages that want it: it stops once
they have all left, as they do when the stored site changes.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.ensemble import Draws, run_draws
from server.simulate.odds import Odds, odds_of

State = Literal["waiting", "running", "done", "cancelled", "left", "failed"]
"""``cancelled`` by a person; ``left`` by every page that wanted it."""

MOST_DRAWS = 2_000
KEPT = 40
_PART = 16
"""Draws made between two looks at whether to go on."""


class Want(NamedTuple):
    """Who wants a set of draws: a page of a stored site."""

    site_id: str
    page: str


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
        self.wants: set[Want] = set()
        self.left = False


class Background:
    """Sets of draws by site and scenario. One is made at a time; safe from several threads."""

    def __init__(self, *, kept: int = KEPT, part: int = _PART) -> None:
        self._kept, self._part = kept, part
        self._work: OrderedDict[tuple[Site, Scenario], _Work] = OrderedDict()
        self._lock = threading.Lock()
        self._turn = threading.Lock()

    def start(
        self, site: Site, scenario: Scenario, draws: int, *, want: Want | None = None
    ) -> None:
        """See that at least so many draws are made, going on from those there are.

        A page wants one set of draws at a time: what ``want`` asked for before, it leaves.
        """
        key = (site, scenario)
        with self._lock:
            work = self._work.setdefault(key, _Work())
            self._work.move_to_end(key)
            if want is not None:
                self._leave(lambda one: one == want, but=work)
                work.wants.add(want)
            work.asked = max(work.asked, min(draws, MOST_DRAWS))
            work.stop.clear()
            work.left = False
            if work.thread is None and (work.draws is None or len(work.draws) < work.asked):
                self._go(key, work)
            self._forget()

    def leave(self, site_id: str, page: str | None = None) -> None:
        """Stop what only this page of a stored site wants, or any of its pages where none is named.

        For a stored site that changed: what is under way is of a site that is no more.
        """
        with self._lock:
            self._leave(lambda one: one.site_id == site_id and page in (None, one.page))

    def _leave(self, gone: Callable[[Want], bool], *, but: _Work | None = None) -> None:
        for work in self._work.values():
            left = {one for one in work.wants if gone(one)}
            if not left or work is but:
                continue
            work.wants -= left
            if not work.wants and not work.stop.is_set():
                work.left = True
                work.stop.set()

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
        while True:
            with self._lock:
                work = self._work.get((site, scenario))
                thread = work.thread if work else None
            if thread is None:
                return
            thread.join()

    def _forget(self) -> None:
        over = len(self._work) - self._kept
        for key in [k for k, w in self._work.items() if w.thread is None][: max(over, 0)]:
            del self._work[key]

    def _go(self, key: tuple[Site, Scenario], work: _Work) -> None:
        work.state, work.odds = "waiting", None
        work.thread = threading.Thread(target=self._run, args=(key, work), daemon=True)
        work.thread.start()

    def _run(self, key: tuple[Site, Scenario], work: _Work) -> None:
        end: State = "failed"
        try:
            with self._turn:
                end = self._make(key, work)
        finally:
            self._end(key, work, end)

    def _end(self, key: tuple[Site, Scenario], work: _Work, end: State) -> None:
        odds, state = None, end
        made = 0 if work.draws is None else len(work.draws)
        try:
            odds = None if work.draws is None else odds_of(*key, work.draws)
        except BaseException:
            state = "failed"
            raise
        finally:
            with self._lock:
                work.odds, work.state, work.thread = odds, state, None
                if state != "failed" and made < work.asked and not work.stop.is_set():
                    self._go(key, work)  # asked again, or for more, while it was ending
                elif state == "cancelled":
                    work.asked = made
                    work.state = "left" if work.left else "cancelled"

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
