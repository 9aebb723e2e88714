"""Beside the board: what the other scenarios say of the assignment that stands there."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from server.simulate.results import Run
from server.store.cards import StoredSite
from server.web.board_look import Look, board_path, look_at
from server.web.deps import StoredSiteDep
from server.web.elsewhere import Elsewhere, elsewhere_beside
from server.web.pages import page_for, render_text
from server.web.some_runs import some_runs

router = APIRouter(prefix="/sites/{site_id}/buses/elsewhere")


def elsewhere_of(
    look: Look, stored: StoredSite, query: Mapping[str, str], runs: Mapping[str, Run] | None = None
) -> Elsewhere | None:
    """The other scenarios of what is looked at, with their answers where ``runs`` has them."""
    if look.run is None:
        return None
    asked = {name: query.get(name, "") for name in ("scenario", "try")}
    return elsewhere_beside(
        look.site,
        look.chosen,
        runs or {},
        address=board_path(stored, asked, part="/elsewhere"),
        page_of=lambda scenario_id: board_path(stored, asked | {"scenario": scenario_id}),
        asked=runs is not None,
    )


@router.get("")
def elsewhere(request: Request, stored: StoredSiteDep) -> Response:
    """The other scenarios with their answers, as a fragment."""
    query = dict(request.query_params)
    look = look_at(stored, query)
    page = page_for(request, "Other scenarios", stored=stored, scenario=look.chosen, said="")
    found = elsewhere_of(look, stored, query, some_runs(look.site))
    text = render_text(page, "_elsewhere.html", elsewhere=found) if found else ""
    return HTMLResponse(text, headers={"Cache-Control": "no-store", "Vary": "HX-Request"})
