"""The likely panel of the run page: start many draws, see how far they are, stop them."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from server.domain.errors import NotFoundError
from server.domain.scenario import Scenario
from server.simulate.background import Want, background
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web.deps import FormDep, StoredSiteDep
from server.web.forms import typed
from server.web.odds_view import COUNTS, USUAL, odds_view
from server.web.overview import verdict_of_run
from server.web.pages import is_partial, page_for, redirect, render, render_text

router = APIRouter(prefix="/sites/{site_id}/scenarios/{scenario_id}/odds")


def _scenario(stored: StoredSite, scenario_id: str) -> Scenario:
    scenario = stored.site.scenario(scenario_id)
    if not stored.site.panels:
        raise NotFoundError("This site has no panel yet, so there is nothing to run.")
    return scenario


def _panel(request: Request, stored: StoredSite, scenario: Scenario) -> Response:
    page = page_for(
        request,
        "How likely",
        stored=stored,
        scenario=scenario,
        back=f"/sites/{stored.id}/scenarios/{scenario.id}",
        said="",
    )
    odds = odds_view(stored.site, scenario)
    shown: dict[str, Any] = {
        "scenario": scenario,
        "view": {"odds": odds},
        "opened": False,
        "fmt": fmt,
    }
    if not odds.rows:
        return render(page, "scenarios/_odds.html", **shown)
    head = {"verdict": verdict_of_run(cached_run(stored.site, scenario))}
    text = render_text(page, "scenarios/_odds.html", **shown)
    text += render_text(page, "scenarios/_runword.html", view=head, oob=True)
    return HTMLResponse(text, headers={"Cache-Control": "no-store", "Vary": "HX-Request"})


def _answer(request: Request, stored: StoredSite, scenario: Scenario) -> Response:
    """The panel alone for a fragment, the run page for everybody else."""
    if is_partial(request):
        return _panel(request, stored, scenario)
    return redirect(request, f"/sites/{stored.id}/scenarios/{scenario.id}#odds")


@router.get("")
def panel(request: Request, stored: StoredSiteDep, scenario_id: str) -> Response:
    """The panel alone, as it stands."""
    return _panel(request, stored, _scenario(stored, scenario_id))


@router.post("")
def start(request: Request, stored: StoredSiteDep, scenario_id: str, form: FormDep) -> Response:
    """Start draws in the background, or go on to more of them."""
    scenario = _scenario(stored, scenario_id)
    asked = typed(form).get("draws", "")
    count = next((n for n in COUNTS if str(n) == asked.strip()), USUAL)
    background.start(stored.site, scenario, count, want=Want(stored.id, f"run of {scenario.id}"))
    return _answer(request, stored, scenario)


@router.post("/cancel")
def cancel(request: Request, stored: StoredSiteDep, scenario_id: str) -> Response:
    """Stop; the draws that were made stay."""
    scenario = _scenario(stored, scenario_id)
    background.cancel(stored.site, scenario)
    return _answer(request, stored, scenario)
