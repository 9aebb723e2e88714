"""What stands before every request: trusted names, same-site callers, bounded bodies, headers.

Each guard is a plain ASGI wrapper, so nothing is buffered and nothing can be skipped by a route.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.failures import failure_response

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
CONTENT_POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data: blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    )
)
HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
_HOST = re.compile(r"(?P<name>\[[0-9a-f:.]+\]|[a-z0-9.-]+)(:[0-9]{1,5})?")
STATIC_VERSIONED = "public, max-age=31536000, immutable"


def host_name(host: str) -> str:
    """The name in a Host header, without its port, in small letters; empty when malformed.

    >>> host_name("LocalHost:8400"), host_name("[::1]:8400"), host_name("a@b")
    ('localhost', '[::1]', '')
    """
    match = _HOST.fullmatch(host.lower())
    return match["name"] if match else ""


class TrustedHosts:
    """Refuses a request that addresses the server by a name not its own (DNS rebinding)."""

    def __init__(self, app: ASGIApp, *, names: Iterable[str]) -> None:
        self.app = app
        self.names = frozenset(name.lower() for name in names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1003})
            return
        hosts = Headers(scope=scope).getlist("host")
        if len(hosts) != 1 or host_name(hosts[0]) not in self.names:
            text = "Open Threebus by the address it printed when it started."
            await failure_response(scope, 400, text)(scope, receive, send)
            return
        await self.app(scope, receive, send)


class SameSite:
    """Refuses what another site's page sends.

    Browsers say where a request comes from in ``Sec-Fetch-Site``; older ones in ``Origin``.
    A request with neither comes from no web page. Plain links from elsewhere are let through.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] == "http" and not self._allowed(scope):
            text = "This request came from another site, so nothing was done."
            await failure_response(scope, 403, text)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    @staticmethod
    def _allowed(scope: Scope) -> bool:
        headers = Headers(scope=scope)
        safe = scope["method"] in SAFE_METHODS
        site = headers.get("sec-fetch-site")
        if site is not None:
            if site in {"same-origin", "none"}:
                return True
            followed_link = (
                headers.get("sec-fetch-mode") == "navigate"
                and headers.get("sec-fetch-dest") == "document"
            )
            return safe and followed_link
        origin = headers.get("origin")
        if safe or origin is None:
            return True
        return origin.lower() == f"{scope['scheme']}://{headers.get('host', '').lower()}"


class _TooLargeError(Exception):
    """The body went past the limit while it was read."""


class BodyLimit:
    """Refuses a body above ``max_bytes``, declared or found while it streams in."""

    def __init__(self, app: ASGIApp, *, max_bytes: int) -> None:
        self.app = app
        self.max_bytes = max_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        declared = Headers(scope=scope).get("content-length", "0")
        if not (declared.isascii() and declared.isdecimal()):
            text = "The length of the request is not a number."
            await failure_response(scope, 400, text)(scope, receive, send)
            return
        refusal = failure_response(
            scope, 413, f"What was sent is larger than {self.max_bytes / 1e6:g} MB."
        )
        if len(declared) > 18 or int(declared) > self.max_bytes:
            await refusal(scope, receive, send)
            return
        seen = 0
        answered = False

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > self.max_bytes:
                raise _TooLargeError
            return message

        async def watched(message: Message) -> None:
            nonlocal answered
            if seen > self.max_bytes and not answered:
                raise _TooLargeError  # a route turned the refusal into an answer of its own
            answered = True
            await send(message)

        try:
            await self.app(scope, counted, watched)
        except Exception:
            if seen <= self.max_bytes or answered:
                raise
            await refusal(scope, receive, send)


class HeadAsGet:
    """Answers HEAD as it would GET, without the body, at every address that can be read."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def without_body(message: Message) -> None:
            if message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"}, receive, without_body)


class SafeHeaders:
    """Adds the security headers, and says how long an answer may be kept.

    A route may set a stricter header of its own, as the one of photos does.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers["Cache-Control"] = kept_for(scope, message["status"])
            await send(message)

        await self.app(scope, receive, with_headers)


def kept_for(scope: Scope, status: int) -> str:
    """The Cache-Control of an answer: static files with a version for long, pages never."""
    if not scope["path"].startswith("/static/") or status not in {200, 206, 304}:
        return "no-store"
    versioned = "v" in parse_qs(scope["query_string"].decode("latin-1"))
    return STATIC_VERSIONED if versioned else "no-cache"
