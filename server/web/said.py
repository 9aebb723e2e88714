"""What just changed, kept in this process over a redirect; a cookie holds only where to find it.

Cookies know no port: another program on this machine could set one of the same name. With this it
cannot put words of its own on a page, nor have a sentence shown twice, or later than a minute
after the edit. It does not keep out a program that makes edits here itself, as any on this machine
can while there is no sign-in: it gets the token of the sentence of its own edit, and may hand that
to a browser, which then shows that sentence once.
"""

from __future__ import annotations

import secrets
import threading
import time

MOST = 300
LASTS_S = 60
MOST_KEPT = 1_000
"""Sentences waiting at a time; the oldest give way."""

_lock = threading.Lock()
_waiting: dict[str, tuple[float, str]] = {}


def token_for(said: str) -> str:
    """A token that stands for a sentence once, for a minute.

    >>> token = token_for("Moved the well pump.")
    >>> said_for(token), said_for(token), said_for("Moved the well pump.")
    ('Moved the well pump.', '', '')
    """
    token = secrets.token_urlsafe(16)
    now = time.monotonic()
    with _lock:
        _waiting[token] = now + LASTS_S, said[:MOST]
        for old in [t for t, (until, _) in _waiting.items() if until < now]:
            del _waiting[old]
        while len(_waiting) > MOST_KEPT:
            del _waiting[next(iter(_waiting))]
    return token


def said_for(token: str) -> str:
    """The sentence of a token; nothing where it was shown already, is late or was never given."""
    with _lock:
        until, said = _waiting.pop(token, (0.0, ""))
    return said if time.monotonic() <= until else ""
