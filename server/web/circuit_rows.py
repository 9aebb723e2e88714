"""Saving one row of the table of circuits: with script as parts of the page, else as a page.

A refused row is an answer like any other to the script: the row, open, with what is wrong in it.
"""

from __future__ import annotations

import re
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from server.domain.circuit import Circuit
from server.domain.site import Site
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web import circuit_form, words
from server.web.circuit_table import Filter, group_of, row_of, rows_on
from server.web.circuits import (
    circuits_path,
    next_strip,
    sheet_cautions,
    strip_context,
    table_page,
)
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import try_save
from server.web.forms import Form, typed
from server.web.odd_rating import past_main, past_wire
from server.web.pages import Page, page_for, redirect, render_text
from server.web.row_form import (
    ALIASES,
    RowForm,
    circuit_of_row,
    first_place,
    row_form_of,
)

router = APIRouter(prefix="/sites/{site_id}/circuit-rows")
NO_STORE = {"Cache-Control": "no-store", "Vary": "Accept"}


def wants_parts(request: Request) -> bool:
    """Whether the script of the table asks, which takes parts of the page."""
    return "application/json" in request.headers.get("accept", "")


@router.post("")
def add_row(request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep) -> Response:
    """Add the circuit of a new row."""
    return _save(request, store, stored, typed(data), None)


@router.post("/{circuit_id}")
def change_row(
    request: Request, store: StoreDep, stored: StoredSiteDep, circuit_id: str, data: FormDep
) -> Response:
    """Change the circuit of a row."""
    return _save(request, store, stored, typed(data), stored.site.circuit(circuit_id))


def _save(
    request: Request,
    store: SiteStore,
    stored: StoredSite,
    values: dict[str, str],
    base: Circuit | None,
) -> Response:
    site = stored.site
    index = site.circuits.index(base) if base else len(site.circuits)
    made: list[Circuit] = []

    def edit(site: Site) -> Site:
        made.append(circuit_of_row(values, site, base))
        return circuit_form.with_circuit(site, made[-1])

    name = base.name if base else values.get("name") or values.get("feeds") or "a circuit"
    form = try_save(
        store,
        stored,
        values,
        edit,
        label=f"{'Change' if base else 'Add'} {name}",
        saved=row_form_of(base).values if base else None,
        strip=f"circuits.{index}.",
        aliases=ALIASES,
    )
    if form is not None:
        return _refused(request, stored, form, base)
    circuit = made[-1]
    fresh = store.get(stored.id)
    panel = fresh.site.panel(circuit.panel_id)
    said = f"{'Saved' if base else 'Added'} {circuit.name}: {panel.name}, {_space(circuit)}."
    said = f"{said} {past_main(fresh.site, panel.id, f'{circuit.breaker_a:g}')}".rstrip()
    said = f"{said} {past_wire(fresh.site, circuit)}".rstrip()
    if not wants_parts(request):
        return redirect(request, f"{circuits_path(fresh)}#entry", said=said)
    return _parts(request, fresh, circuit, base, said)


def _key(given: str) -> str:
    """The name the page gave this row, so that several can stand open; ``again`` without one."""
    return given if re.fullmatch(r"again-\d{1,6}", given) else "again"


def _space(circuit: Circuit) -> str:
    return f"space{'s' if circuit.poles == 2 else ''} {row_of(circuit).spaces}"


def _page(request: Request, stored: StoredSite, said: str = "") -> Page:
    return page_for(
        request,
        "Circuits",
        sheet="circuits",
        stored=stored,
        caution_keys=sheet_cautions(stored.site),
        back=circuits_path(stored),
        said=said,
    )


def _refused(request: Request, stored: StoredSite, form: Form, base: Circuit | None) -> Response:
    action = f"/sites/{stored.id}/circuit-rows" + (f"/{base.id}" if base else "")
    poles = 2 if form.value("poles") == "2" else 1
    place = first_place(stored.site, form.value("panel_id"), poles)
    key = base.id if base else _key(form.value("key"))
    strip = RowForm(key, action, form, place, base)
    if not wants_parts(request):
        return table_page(request, stored, Filter(), strip)
    text = render_text(
        _page(request, stored), "circuits/_strip.html", words=words, **strip_context(stored, strip)
    )
    return JSONResponse({"strip": text, "revision": form.value("revision")}, headers=NO_STORE)


def _parts(
    request: Request, stored: StoredSite, circuit: Circuit, base: Circuit | None, said: str
) -> Response:
    """What a saved row changes on the page, as texts by the element they belong to."""
    page = _page(request, stored, said)
    touched = dict.fromkeys((circuit.panel_id, *((base.panel_id,) if base else ())))
    strip = strip_context(stored, next_strip(stored, circuit.panel_id))
    partner = stored.site.circuit_by_id.get(circuit.multiwire_partner_id or "")
    rows = [circuit, *((partner,) if partner else ())]
    parts: dict[str, Any] = {
        "revision": stored.revision,
        "said": said,
        "circuit": circuit.id,
        "rows": {
            c.id: render_text(
                page,
                "circuits/_circuit_row.html",
                row=rows_on(stored.site, (c,))[0],
                flat=False,
                words=words,
                picked=(),
            )
            for c in rows
        },
        "heads": {
            panel_id: render_text(
                page, "circuits/_group_head.html", group=group_of(stored.site, panel_id)
            )
            for panel_id in touched
        },
        "free": strip["free"],
        "next": dict(strip["strip"].form.values),
        "undo": render_text(page, "_undo.html"),
        "counted": render_text(page, "circuits/_counted.html"),
        "saved_at": render_text(page, "circuits/_saved_at.html"),
        "saved_revision": render_text(page, "_saved.html"),
    }
    return JSONResponse(parts, headers=NO_STORE)
