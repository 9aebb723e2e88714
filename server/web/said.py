"""What just changed, carried over a redirect in a cookie that only this program can have written.

Cookies know no port: another program on this machine could set one of the same name.
"""

from __future__ import annotations

import hmac
import secrets
from urllib.parse import quote, unquote

_KEY = secrets.token_bytes(32)
MOST = 300


def sealed(said: str) -> str:
    """A sentence as the cookie holds it, its seal before it.

    >>> opened(sealed("Moved the well pump.")), opened("Moved the well pump.")
    ('Moved the well pump.', '')
    """
    kept = quote(said[:MOST])
    return f"{_seal(kept)}.{kept}"


def opened(cookie: str) -> str:
    """The sentence of a cookie; nothing where this run of the program did not write it."""
    seal, _, kept = cookie.partition(".")
    same = hmac.compare_digest(seal.encode(), _seal(kept).encode())
    return unquote(kept) if same else ""


def _seal(kept: str) -> str:
    return hmac.digest(_KEY, kept.encode(), "sha256").hex()
