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
_COOKIES = (TRIED_COOKIE, f"{TRIED_COOKIE}-2")
"""As many as the longest trial fills, one after the other."""


def trial_left(request: Request, stored: StoredSite) -> Tried | None:
    """The moves tried on this site and neither kept nor dropped; None where there are none."""
    text = "".join(request.cookies.get(name, "") for name in _COOKIES)
    left = tried(stored.site, unquote(text))
    return left if left and left.moves else None


def keep_trial(response: Response, stored: StoredSite, trying: Tried) -> None:
    """Keep a trial until it is kept or dropped; one without a move is forgotten."""
    text = quote(trying.text, safe="")
    if not trying.moves:
        forget_trial(response, stored)
        return
    for at, name in enumerate(_COOKIES):
        part = text[at * _MOST_BYTES : (at + 1) * _MOST_BYTES]
        response.set_cookie(
            name,
            part,
            max_age=KEPT_S if part else 0,
            path=_path(stored),
            httponly=True,
            samesite="lax",
        )


def forget_trial(response: Response, stored: StoredSite) -> None:
    """Nothing is tried on this site any more."""
    for name in _COOKIES:
        response.delete_cookie(name, path=_path(stored), httponly=True, samesite="lax")


def _path(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/buses"
