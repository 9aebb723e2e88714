"""The buses sheet: move, pin and give roles, and see at once what got better or worse."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from server.domain.errors import EditError, InputError, StaleEditError
from server.domain.site import Site
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web import words
from server.web.board import board
from server.web.board_edits import Edit, give_role, move_to, pin, site_before
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.forms import revision_of, typed
from server.web.overview import verdict_status
from server.web.pages import Page, is_partial, page_for, redirect, render, render_text
from server.web.scenario_choice import chosen_scenario

router = APIRouter(prefix="/sites/{site_id}/buses")

STALE = (
    "Somebody saved first, so nothing was changed. The board below is the newer one: look at it, "
    "then decide again."
)


def board_cautions(site: Site) -> tuple[str, ...]:
    """Keys of the cautions the board carries for this site."""
    keys = ["planning-aid", "moving"]
    if any(c.multiwire_partner_id for c in site.circuits):
        keys.append("multiwire")
    if site.double_throws or any(t.handles for t in site.transfer_switches):
        keys.append("throwing")
    if site.generators:
        keys += ["backfeed", "exhaust", "co-alarms"]
    if any(c.load_class == "must_serve" for c in site.circuits):
        keys.append("medical")
    if site.solar:
        keys.append("solar")
    return (*keys, "live-parts", "overload", "result")


def board_path(stored: StoredSite, query: Mapping[str, str]) -> str:
    """The address of the board, remembering the scenario and what was changed last."""
    kept = {k: v for k, v in query.items() if v}
    return f"/sites/{stored.id}/buses" + (f"?{urlencode(kept)}" if kept else "")


def _answer(
    request: Request,
    stored: StoredSite,
    query: Mapping[str, str],
    *,
    said: str | None = None,
    came_from: Site | None = None,
    refused: tuple[str, str] = ("", ""),
    status_code: int = 200,
) -> Response:
    """The board as a page, or as a fragment with the status and undo regions beside it.

    ``came_from`` is the site before the change that ``query`` tells of, where it is at hand.
    """
    site = stored.site
    chosen = chosen_scenario(site, query.get("scenario", ""))
    ready = chosen is not None and bool(site.panels)
    run = cached_run(site, chosen) if ready and chosen else None
    before = (came_from, query.get("moved", "")) if came_from else site_before(site, query)
    run_before = cached_run(before[0], chosen) if run and before and chosen else None
    page = page_for(
        request,
        "Buses",
        sheet="buses",
        stored=stored,
        scenario=chosen,
        caution_keys=board_cautions(site),
        back=board_path(stored, {"scenario": query.get("scenario", "")}),
        said=said,
    )
    context: dict[str, Any] = {
        "site": site,
        "chosen": chosen,
        "run": run,
        "status": verdict_status(run) if run else "within",
        "board": board(site, run, run_before, before[1] if before else ""),
        "roles": words.OUTAGE_ROLES,
        "role_words": dict(words.OUTAGE_ROLES),
        "refused": {"id": refused[0], "text": refused[1]},
        "fmt": fmt,
    }
    if not is_partial(request):
        return render(page, "buses/buses.html", status_code=status_code, **context)
    return _fragments(page, context, status_code, board_path(stored, query))


def _fragments(page: Page, context: dict[str, Any], status_code: int, path: str) -> Response:
    parts = [
        render_text(page, "buses/_board.html", **context),
        render_text(page, "_status.html", oob=True),
        render_text(page, "_undo.html", oob=True),
    ]
    headers = {"Cache-Control": "no-store", "Vary": "HX-Request", "HX-Push-Url": path}
    return HTMLResponse("".join(parts), status_code=status_code, headers=headers)


@router.get("")
def show_board(request: Request, stored: StoredSiteDep) -> Response:
    """The board; an address that tells of a change also shows what it did."""
    return _answer(request, stored, dict(request.query_params))


def _edit(
    request: Request,
    store: StoreDep,
    stored: StoredSite,
    *,
    values: Mapping[str, str],
    make: Callable[[Site], Edit],
    label: str,
) -> Response:
    circuit_id = values.get("circuit", "")
    scenario = {"scenario": values.get("scenario", "")}
    circuit = stored.site.circuit(circuit_id)
    try:
        edit = make(stored.site)
        saved = store.save(
            stored.id,
            edit.site,
            base_revision=revision_of(values),
            label=f"{label} {circuit.name}",
        )
    except EditError as error:
        refused = (circuit_id, str(error))
        return _answer(request, stored, scenario, said="", refused=refused, status_code=422)
    except StaleEditError:
        fresh = store.get(stored.id)
        refused = (circuit_id, STALE)
        return _answer(request, fresh, scenario, said=STALE, refused=refused, status_code=409)
    except InputError as error:
        refused = (circuit_id, str(error))
        return _answer(request, stored, scenario, said="", refused=refused, status_code=422)
    query = scenario | dict(edit.way_back)
    if is_partial(request):
        came_from = stored.site if edit.way_back else None
        return _answer(request, saved, query, said=edit.said, came_from=came_from)
    return redirect(request, board_path(saved, query), said=edit.said)


@router.post("/move")
def move(request: Request, store: StoreDep, stored: StoredSiteDep, form: FormDep) -> Response:
    """Move a circuit to another panel, onto a handle or off it."""
    values = typed(form)

    def make(site: Site) -> Edit:
        return move_to(site, values.get("circuit", ""), values.get("to", ""))

    return _edit(request, store, stored, values=values, make=make, label="Moved")


@router.post("/pin")
def pin_circuit(
    request: Request, store: StoreDep, stored: StoredSiteDep, form: FormDep
) -> Response:
    """Pin a circuit to its bus, or let it go."""
    values = typed(form)
    pinned = values.get("pinned") == "on"

    def make(site: Site) -> Edit:
        return pin(site, values.get("circuit", ""), pinned=pinned)

    return _edit(
        request, store, stored, values=values, make=make, label="Pinned" if pinned else "Unpinned"
    )


@router.post("/role")
def role(request: Request, store: StoreDep, stored: StoredSiteDep, form: FormDep) -> Response:
    """Say what happens to a circuit while a generator feeds it."""
    values = typed(form)

    def make(site: Site) -> Edit:
        return give_role(site, values.get("circuit", ""), values.get("role", ""))

    return _edit(request, store, stored, values=values, make=make, label="Outage role of")
