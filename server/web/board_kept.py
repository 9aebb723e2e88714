"""A trial of the board outlives a look at another page: its moves are kept on this device."""

from __future__ import annotations

from urllib.parse import quote, unquote

from starlette.requests import Request
from starlette.responses import Response

from server.store.cards import StoredSite
from server.web.board_try import Tried, tried

TRIED_COOKIE = "threebus-tried"
KEPT_S = 30 * 24 * 3600
_MOST_BYTES = 3_500
"""A browser drops a cookie above 4,096 bytes with its name and attributes (RFC 6265, 6.1)."""


def trial_left(request: Request, stored: StoredSite) -> Tried | None:
    """The moves tried on this site and neither kept nor dropped; None where there are none."""
    left = tried(stored.site, unquote(request.cookies.get(TRIED_COOKIE, "")))
    return left if left and left.moves else None


def keep_trial(response: Response, stored: StoredSite, trying: Tried) -> None:
    """Keep a trial until it is kept or dropped; one without a move is forgotten."""
    text = quote(trying.text, safe="")
    if not trying.moves or len(text) > _MOST_BYTES:
        forget_trial(response, stored)
        return
    response.set_cookie(
        TRIED_COOKIE, text, max_age=KEPT_S, path=_path(stored), httponly=True, samesite="lax"
    )


def forget_trial(response: Response, stored: StoredSite) -> None:
    """Nothing is tried on this site any more."""
    response.delete_cookie(TRIED_COOKIE, path=_path(stored), httponly=True, samesite="lax")


def _path(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/buses"
