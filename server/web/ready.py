"""While the kernels are being compiled, a page that needs them says so and asks again."""

from __future__ import annotations

from time import monotonic

from fastapi import Request
from starlette.responses import Response

from server.domain.lengths import span_words
from server.web.pages import is_partial, page_for, render

PATIENCE_S = 3.0
"""How long a page waits before it says why; kernels compiled once load in less. [s]"""
AGAIN_S = 2
"""When the page asks again. [s]"""


class NotReadyError(Exception):
    """The kernels are still being compiled for this computer."""


def kernels_ready(request: Request) -> None:
    """Wait a little for the kernels. A dependency of the pages that run a scenario.

    Fragments, edits, data and files are not turned away: they wait for as long as it takes.

    Raises
    ------
    NotReadyError   When a whole page is asked for and the kernels take longer.
    """
    is_file = "." in request.url.path.rpartition("/")[2]
    shown = "text/html" in request.headers.get("Accept", "") and not is_file
    whole = request.method == "GET" and not is_partial(request)
    if whole and shown and not request.app.state.kernels_ready.wait(PATIENCE_S):
        raise NotReadyError


def not_ready_page(request: Request, _error: Exception) -> Response:
    """The page in place of the one asked for, which it asks for again."""
    store, since_s = request.app.state.store, request.app.state.preparing_since_s
    so_far = "" if since_s is None else span_words((monotonic() - since_s) / 60.0)
    page = page_for(
        request, "Getting ready", stored=store.get(request.path_params["site_id"]), said=""
    )
    return render(
        page,
        "ready.html",
        status_code=503,
        headers={"Retry-After": str(AGAIN_S)},
        again_s=AGAIN_S,
        so_far=so_far,
    )
