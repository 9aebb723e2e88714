"""Beside the board: what the other scenarios say of the assignment that stands there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from server.simulate.results import Run
from server.store.cards import StoredSite
from server.web.board_look import Look, board_path, look_at
from server.web.deps import StoredSiteDep
from server.web.overview import verdict_status
from server.web.pages import page_for, render_text
from server.web.some_runs import some_runs
from server.web.without import answer_words

router = APIRouter(prefix="/sites/{site_id}/buses/elsewhere")

MOST = 8
"""More scenarios than this are counted and not named."""


@dataclass(frozen=True)
class Other:
    """One other scenario and its answer, empty until it was run."""

    name: str
    href: str
    status: str
    answer: str


@dataclass(frozen=True)
class Elsewhere:
    """The other scenarios of a board; ``address`` runs them, ``more`` are not named."""

    others: tuple[Other, ...]
    more: int
    known: bool
    address: str


def elsewhere_of(
    look: Look, stored: StoredSite, query: Mapping[str, str], runs: Mapping[str, Run] | None = None
) -> Elsewhere | None:
    """The other scenarios of what is looked at, with their answers where ``runs`` has them."""
    others = [s for s in look.site.scenarios if look.chosen and s.id != look.chosen.id]
    if not others or look.run is None:
        return None
    asked = {name: query.get(name, "") for name in ("scenario", "try")}
    return Elsewhere(
        others=tuple(
            Other(
                name=one.name,
                href=board_path(stored, asked | {"scenario": one.id}),
                status=verdict_status(runs[one.id]) if runs and one.id in runs else "",
                answer=answer_words(runs[one.id]) if runs and one.id in runs else "",
            )
            for one in others[:MOST]
        ),
        more=len(others) - len(others[:MOST]),
        known=runs is not None,
        address=board_path(stored, asked, part="/elsewhere"),
    )


@router.get("")
def elsewhere(request: Request, stored: StoredSiteDep) -> Response:
    """The other scenarios with their answers, as a fragment."""
    query = dict(request.query_params)
    look = look_at(stored, query)
    page = page_for(request, "Other scenarios", stored=stored, scenario=look.chosen, said="")
    found = elsewhere_of(look, stored, query, some_runs(look.site))
    text = render_text(page, "buses/_elsewhere.html", elsewhere=found) if found else ""
    return HTMLResponse(text, headers={"Cache-Control": "no-store", "Vary": "HX-Request"})
