"""The buses sheet: move, pin and give roles, and see at once what got better or worse."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from fastapi import APIRouter
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from server.domain.errors import EditError, InputError, StaleEditError
from server.domain.site import Site
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web import words
from server.web.board_beyond import newly_past, unshown_words
from server.web.board_edits import Edit, give_role, move_to, pin
from server.web.board_kept import forget_trial, keep_trial, trial_left
from server.web.board_likely import likely_of
from server.web.board_limits import LimitBar, touched_limits
from server.web.board_look import board_of, board_path, look_at
from server.web.board_try import MOST_CHARS, tried, try_one, with_one_more, without_last
from server.web.buses_elsewhere import elsewhere_of
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.forms import revision_of, typed
from server.web.overview import verdict_words
from server.web.pages import Page, is_partial, page_for, redirect, render, render_text
from server.web.roles_said import roles_said
from server.web.scenario_choice import chosen_scenario
from server.web.without import whole_sentence

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
    look = look_at(stored, query, came_from=came_from)
    page = page_for(
        request,
        "Buses",
        sheet="buses",
        stored=stored,
        scenario=look.chosen,
        caution_keys=board_cautions(look.site),
        back=board_path(stored, {k: query.get(k, "") for k in ("scenario", "try")}),
        said=said,
    )
    context: dict[str, Any] = {
        "site": look.site,
        "chosen": look.chosen,
        "run": look.run,
        "verdict": verdict_words(look.run) if look.run else None,
        "board": board_of(look),
        "likely": likely_of(look, stored, query),
        "elsewhere": elsewhere_of(look, stored, query),
        "trying": look.trying,
        "one_back": without_last(look.trying.text) if look.trying else "",
        "left": None if look.trying else trial_left(request, stored),
        "roles": words.OUTAGE_ROLES,
        "roles_said": roles_said(look.site, look.chosen),
        "refused": {"id": refused[0], "text": refused[1]},
        "fmt": fmt,
    }
    response: Response
    if not is_partial(request):
        response = render(page, "buses/buses.html", status_code=status_code, **context)
    else:
        response = _fragments(page, context, status_code, board_path(stored, query))
    if look.trying:
        keep_trial(response, stored, look.trying)
    return response


def _fragments(page: Page, context: dict[str, Any], status_code: int, path: str) -> Response:
    parts = [
        render_text(page, "buses/_board.html", **context),
        render_text(page, "_status.html", oob=True),
        render_text(page, "_undo.html", oob=True),
        render_text(page, "_saved.html", oob=True),
    ]
    headers = {"Cache-Control": "no-store", "Vary": "HX-Request", "HX-Push-Url": path}
    return HTMLResponse("".join(parts), status_code=status_code, headers=headers)


def _would(site: Site, circuit_id: str, target: str) -> str:
    """A change that is not made yet, in a few words."""
    name = site.circuit(circuit_id).name
    kind, _, what = target.rpartition(":")
    if kind == "role":
        return f"{name} {words.said(words.OUTAGE_ROLES, what)} while the generator runs:"
    return f"{name} on {site.name_of[what]}:"


@router.get("/preview")
def preview(request: Request, stored: StoredSiteDep) -> Response:
    """What one move or role would do, before it is done: bars of every limit it touches."""
    query = dict(request.query_params)
    trying = tried(stored.site, query.get("try", ""))
    site = trying.site if trying else stored.site
    chosen = chosen_scenario(site, query.get("scenario", ""))
    page = page_for(request, "Preview", stored=stored, scenario=chosen, said="")
    bars: tuple[LimitBar, ...] = ()
    problem, said, answer, unshown = "", "", "", ""
    past: tuple[str, ...] = ()
    try:
        edit = try_one(site, query.get("circuit", ""), query.get("to", ""))
        said = _would(site, query.get("circuit", ""), query.get("to", ""))
        if chosen is not None and site.panels:
            before, after = cached_run(site, chosen), cached_run(edit.site, chosen)
            bars, answer = touched_limits(before, after), whole_sentence(after)
            unshown = unshown_words(after, (query.get("circuit", ""),))
            past = newly_past(site, edit.site)
    except EditError as error:
        problem = str(error)
    return render(
        page,
        "buses/_preview.html",
        problem=problem,
        said=said,
        bars=bars,
        answer=answer,
        unshown=unshown,
        past=past,
    )


@router.get("")
def show_board(request: Request, stored: StoredSiteDep) -> Response:
    """The board; an address that tells of a change also shows what it did."""
    return _answer(request, stored, dict(request.query_params))


def _sent(form: FormData) -> dict[str, str]:
    """The fields of a form of the board, a long trial among them in full."""
    values = typed(form)
    trial = form.get("try")
    if isinstance(trial, str):
        values["try"] = trial[:MOST_CHARS]
    return values


def _edit(
    request: Request,
    store: StoreDep,
    stored: StoredSite,
    *,
    values: Mapping[str, str],
    make: Callable[[Site], Edit],
    label: str,
    target: str = "",
) -> Response:
    circuit_id = values.get("circuit", "")
    scenario = {"scenario": values.get("scenario", "")}
    circuit = stored.site.circuit(circuit_id)
    if target and tried(stored.site, values.get("try", "")):
        return _try(request, stored, values, target)
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


def _try(request: Request, stored: StoredSite, values: Mapping[str, str], target: str) -> Response:
    """The board with one more change tried; nothing is saved."""
    circuit_id = values.get("circuit", "")
    scenario = {"scenario": values.get("scenario", ""), "try": values["try"]}
    before = tried(stored.site, values["try"])
    try:
        edit = try_one(before.site if before else stored.site, circuit_id, target)
        query = scenario | {"try": with_one_more(values["try"], circuit_id, target)}
    except EditError as error:
        refused = (circuit_id, str(error))
        return _answer(request, stored, scenario, said="", refused=refused, status_code=422)
    said = f"Tried, not saved: {edit.said}"
    if is_partial(request):
        return _answer(request, stored, query, said=said)
    return redirect(request, board_path(stored, query), said=said)


@router.post("/keep")
def keep(request: Request, store: StoreDep, stored: StoredSiteDep, form: FormDep) -> Response:
    """Save everything that was tried, as one edit."""
    values = _sent(form)
    query = {"scenario": values.get("scenario", ""), "try": values.get("try", "")}
    trying = tried(stored.site, query["try"])
    if trying is None or not trying.moves:
        return redirect(
            request, board_path(stored, {"scenario": query["scenario"]}), said="Nothing was tried."
        )
    many = fmt.count(len(trying.moves), "tried change")
    try:
        if trying.refused:
            raise EditError(f"Not everything fits any more: {trying.refused[0]}", field="try")
        store.save(stored.id, trying.site, base_revision=revision_of(values), label=f"Kept {many}")
    except StaleEditError:
        return _answer(request, store.get(stored.id), query, said=STALE, status_code=409)
    except InputError as error:
        return _answer(request, stored, query, said=str(error), status_code=422)
    back = board_path(stored, {"scenario": query["scenario"]})
    response = redirect(request, back, said=f"Kept {many}. Undo takes them back.")
    forget_trial(response, stored)
    return response


@router.post("/drop")
def drop(request: Request, stored: StoredSiteDep, form: FormDep) -> Response:
    """Forget what was tried; the saved board stands."""
    back = board_path(stored, {"scenario": typed(form).get("scenario", "")})
    response = redirect(request, back, said="Dropped what was tried. The board is as saved.")
    forget_trial(response, stored)
    return response


@router.post("/move")
def move(request: Request, store: StoreDep, stored: StoredSiteDep, form: FormDep) -> Response:
    """Move a circuit to another panel, onto a handle or off it."""
    values = _sent(form)

    def make(site: Site) -> Edit:
        return move_to(site, values.get("circuit", ""), values.get("to", ""))

    return _edit(
        request,
        store,
        stored,
        values=values,
        make=make,
        label="Moved",
        target=values.get("to", ""),
    )


@router.post("/pin")
def pin_circuit(
    request: Request, store: StoreDep, stored: StoredSiteDep, form: FormDep
) -> Response:
    """Pin a circuit to its bus, or let it go."""
    values = _sent(form)
    pinned = values.get("pinned") == "on"

    def make(site: Site) -> Edit:
        return pin(site, values.get("circuit", ""), pinned=pinned)

    return _edit(
        request, store, stored, values=values, make=make, label="Pinned" if pinned else "Unpinned"
    )


@router.post("/role")
def role(request: Request, store: StoreDep, stored: StoredSiteDep, form: FormDep) -> Response:
    """Say what happens to a circuit while a generator feeds it."""
    values = _sent(form)

    def make(site: Site) -> Edit:
        return give_role(site, values.get("circuit", ""), values.get("role", ""))

    return _edit(
        request,
        store,
        stored,
        values=values,
        make=make,
        label="Outage role of",
        target=f"role:{values.get('role', '')}",
    )
