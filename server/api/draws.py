"""Draws for a program that waits for them: in parts, one request's part at a time."""

from __future__ import annotations

import threading

from anyio import from_thread
from starlette.requests import Request

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.ensemble import Draws, run_draws

_PART = 16
"""Draws made between two looks at whether the client is still there."""
_turn = threading.Lock()


def draws_while_there(
    request: Request, site: Site, scenario: Scenario, *, count: int, seed: int | None
) -> Draws:
    """So many draws, or those there are when the client has gone.

    Called from the thread of a route: requests take turns, so that many of them at once do not
    take memory and processors from the pages.
    """

    def made(first: int) -> Draws:
        with _turn:
            numbers = range(first, min(first + _PART, count))
            return run_draws(site, scenario, draws=numbers, seed=seed)

    kept = made(0)
    for first in range(_PART, count, _PART):
        if from_thread.run(request.is_disconnected):
            break
        kept = kept.merge(made(first))
    return kept
