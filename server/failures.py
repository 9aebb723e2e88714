"""Plain answers when something fails: a page for browsers, a problem object for programs."""

from __future__ import annotations

import html
import logging
from collections.abc import Callable, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.domain.errors import (
    InputError,
    NotFoundError,
    Problem,
    SiteFileError,
    StaleEditError,
    StorageError,
    ThreebusError,
)
from server.domain.problems import message_for

logger = logging.getLogger("threebus")

API_PREFIX = "/api/"
PROBLEM_TYPE = "application/problem+json"
ErrorPage = Callable[[Request, int, str, str], Response]

_TITLES = {
    400: "The request cannot be read",
    403: "Refused",
    404: "Nothing is here",
    405: "This cannot be done here",
    409: "Somebody saved first",
    413: "Too large",
    422: "Something needs mending",
    500: "Something went wrong inside Threebus",
    503: "Not possible just now",
}
_TEXTS = {
    404: "There is no page at this address.",
    405: "This address does not take that kind of request.",
    500: "Nothing was saved by this step. The reason is in the window where Threebus runs.",
}
_SHELL = """<!doctype html>
<html lang="en-US"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title} · Threebus</title></head>
<body><main><h1>{title}</h1><p>{text}</p><p><a href="/sites">Go to the sites</a></p></main>
</body></html>
"""


def title_of(status: int) -> str:
    """The heading of a failure.

    >>> title_of(404)
    'Nothing is here'
    """
    return _TITLES.get(status) or HTTPStatus(status).phrase


def sendable(text: str) -> str:
    """Text without what cannot be written as UTF-8."""
    return text.encode("utf-8", "replace").decode("utf-8")


def problem_response(
    status: int, detail: str, *, problems: Sequence[Problem] = (), **more: Any
) -> JSONResponse:
    """A problem object (RFC 9457) with the fields to mend."""
    content: dict[str, Any] = {
        "type": "about:blank",
        "title": title_of(status),
        "status": status,
        "detail": sendable(detail),
    }
    if problems:
        content["problems"] = [
            {"field": sendable(p.field), "message": sendable(p.message)} for p in problems
        ]
    return JSONResponse(content | more, status, media_type=PROBLEM_TYPE)


def plain_page(status: int, text: str) -> HTMLResponse:
    """A page that needs no template."""
    page = _SHELL.format(title=html.escape(title_of(status)), text=html.escape(sendable(text)))
    return HTMLResponse(page, status)


def failure_response(scope: Scope, status: int, text: str) -> Response:
    """What a guard answers before the application is reached."""
    if scope["path"].startswith(API_PREFIX):
        return problem_response(status, text)
    return plain_page(status, text)


def request_problems(error: RequestValidationError) -> tuple[Problem, ...]:
    """What is wrong in a request, with the dotted path inside its body or the parameter's name."""
    found: list[Problem] = []
    for item in error.errors():
        context = item.get("ctx", {})
        if item["type"] == "site":
            found.extend(context["problems"])
            continue
        if item["type"] == "json_invalid":
            found.append(Problem("", f"This is not readable JSON: {context.get('error', '')}."))
            continue
        field = ".".join(str(step) for step in item["loc"][1:])
        found.append(Problem(field[:120], message_for(item["type"], context, item["msg"])[:400]))
    return tuple(found[:50])


def install(app: FastAPI, *, error_page: ErrorPage | None = None) -> None:
    """Give the application its answers to failures; ``error_page`` draws the browser's."""

    def answer(request: Request, status: int, text: str, **more: Any) -> Response:
        if request.url.path.startswith(API_PREFIX):
            return problem_response(status, text, **more)
        shown = "; ".join(map(str, more.get("problems", ()))) or text
        if error_page is None:
            return plain_page(status, shown)
        return error_page(request, status, title_of(status), sendable(shown))

    def on_threebus(request: Request, error: Exception) -> Response:
        text = str(error)
        match error:
            case NotFoundError():
                return answer(request, 404, text)
            case StaleEditError():
                return answer(request, 409, text, revision=error.revision)
            case SiteFileError():
                return answer(request, 422, text, problems=error.problems)
            case StorageError():
                logger.error("%s %s: %s", request.method, request.url.path, text)
                return answer(request, 503, f"{text} Nothing was saved by this step.")
            case InputError():
                return answer(request, 422, text, problems=(Problem(error.field, text),))
        return answer(request, 400, text)

    def on_http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)  # noqa: S101  registered for it alone
        text = str(error.detail)
        if text == HTTPStatus(error.status_code).phrase:
            text = _TEXTS.get(error.status_code, text)
        response = answer(request, error.status_code, text)
        response.headers.update(error.headers or {})
        return response

    def on_request(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)  # noqa: S101  registered for it alone
        problems = request_problems(error)
        return answer(request, 422, "; ".join(map(str, problems)), problems=problems)

    app.add_exception_handler(ThreebusError, on_threebus)
    app.add_exception_handler(HTTPException, on_http)
    app.add_exception_handler(RequestValidationError, on_request)


class NoTraceback:
    """Answers an unexpected error with a plain page; the traceback goes to the log alone."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except Exception:
            if started or scope["type"] != "http":
                raise
            logger.exception("%s %s failed", scope["method"], scope["path"])
            await failure_response(scope, 500, _TEXTS[500])(scope, receive, send)
