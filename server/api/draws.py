"""Draws for a program that waits for them: in parts, one request's part at a time."""

from __future__ import annotations

import threading

from anyio import from_thread
from starlette.exceptions import HTTPException
from starlette.requests import Request

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.ensemble import Draws, run_draws

_PART = 16
"""Draws made between two looks at whether the client is still there."""
_MOST = 5
"""Requests for draws at a time, one at work and the others waiting: each holds one of the threads
that the pages need too (40 of them, the web framework's own number)."""
_RETRY_S = 20
_turn = threading.Lock()
_places = threading.Semaphore(_MOST)


def draws_while_there(
    request: Request, site: Site, scenario: Scenario, *, count: int, seed: int | None
) -> Draws:
    """So many draws, or those there are when the client has gone.

    Called from the thread of a route: requests take turns, so that many of them at once do not
    take memory and processors from the pages.

    Raises
    ------
    HTTPException   503 with ``Retry-After`` when too many wait already, or the client has gone
                    before the first part.
    """
    if not _places.acquire(blocking=False):
        raise HTTPException(
            503,
            f"{_MOST} other requests for draws are under way. Ask again in {_RETRY_S} seconds.",
            {"Retry-After": str(_RETRY_S)},
        )
    try:
        kept = None
        for first in range(0, count, _PART):
            with _turn:
                if from_thread.run(request.is_disconnected):
                    break
                numbers = range(first, min(first + _PART, count))
                part = run_draws(site, scenario, draws=numbers, seed=seed)
            kept = part if kept is None else kept.merge(part)
    finally:
        _places.release()
    if kept is None:
        raise HTTPException(503, "Nobody waits for these draws.")
    return kept
