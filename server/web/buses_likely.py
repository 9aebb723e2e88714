"""Draws beside the board: started once it stands there, looked at until they end, or stopped."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from server.domain.errors import NotFoundError
from server.simulate.background import Want, background
from server.store.cards import StoredSite
from server.web.board_likely import DRAWS, likely_of
from server.web.board_look import Look, board_of, board_path, look_at
from server.web.deps import StoredSiteDep
from server.web.pages import is_partial, page_for, redirect, render_text

router = APIRouter(prefix="/sites/{site_id}/buses/likely")


def _look(stored: StoredSite, query: Mapping[str, str]) -> Look:
    look = look_at(stored, query)
    if look.run is None:
        raise NotFoundError("This site has no panel or no scenario yet, so nothing can be run.")
    return look


def _answer(request: Request, stored: StoredSite, query: Mapping[str, str], look: Look) -> Response:
    """How far it is, with every bar of the board once it is known; the board for a browser."""
    if request.method == "POST" and not is_partial(request):
        return redirect(request, board_path(stored, query) + "#likely")
    likely = likely_of(look, stored, query)
    page = page_for(request, "How likely", stored=stored, scenario=look.chosen, said="")
    context: dict[str, Any] = {"likely": likely, "oob": True}
    parts = [render_text(page, "buses/_likely.html", **context)]
    if likely is not None and likely.known:
        board = board_of(look)
        parts.append(render_text(page, "buses/_likely-bars.html", board=board, **context))
    headers = {"Cache-Control": "no-store", "Vary": "HX-Request"}
    return HTMLResponse("".join(parts), headers=headers)


@router.get("")
def likely(request: Request, stored: StoredSiteDep) -> Response:
    """How far the draws are, as a fragment."""
    query = dict(request.query_params)
    return _answer(request, stored, query, _look(stored, query))


@router.post("")
def start(request: Request, stored: StoredSiteDep) -> Response:
    """Start the draws of the board as it stands; what it wanted before is left."""
    query = dict(request.query_params)
    look = _look(stored, query)
    if look.chosen is not None:
        background.start(look.site, look.chosen, DRAWS, want=Want(stored.id, "board"))
    return _answer(request, stored, query, look)


@router.post("/cancel")
def cancel(request: Request, stored: StoredSiteDep) -> Response:
    """Stop; the draws that were made stay."""
    query = dict(request.query_params)
    look = _look(stored, query)
    if look.chosen is not None:
        background.cancel(look.site, look.chosen)
    return _answer(request, stored, query, look)
