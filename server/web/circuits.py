"""The sheet of circuits: the table, and adding, changing and deleting a circuit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.catalogue import KINDS, kinds_by_group
from server.domain.circuit import Circuit
from server.domain.edits import free_spaces, remove_circuit
from server.domain.site import Site
from server.store.cards import StoredSite
from server.web import circuit_form, words
from server.web.circuit_table import Filter, groups, row_of
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, typed
from server.web.meanwhile import begun_at
from server.web.odd_rating import past_main, past_wire
from server.web.pages import is_partial, page_for, redirect, render
from server.web.row_form import RowForm, first_place, next_row

router = APIRouter(prefix="/sites/{site_id}")

NO_FORM = Form({})
KINDS_WITH_WORDS = tuple((kind, kind.also) for kind in KINDS.values())


def sheet_cautions(site: Site) -> tuple[str, ...]:
    """Keys of the cautions the sheet of circuits carries for this site."""
    keys = ["planning-aid", "live-parts"]
    if any(c.multiwire_partner_id for c in site.circuits):
        keys.append("multiwire")
    if site.solar:
        keys.append("solar")
    return tuple(keys)


def circuits_path(stored: StoredSite) -> str:
    """The address of the sheet."""
    return f"/sites/{stored.id}/circuits"


@router.get("/circuits")
def list_circuits(request: Request, stored: StoredSiteDep) -> Response:
    """The table of circuits; with a filter, the rows it keeps; in another order where asked."""
    return table_page(request, stored, filter_of(request.query_params))


def filter_of(query: Mapping[str, str]) -> Filter:
    """What the address asks to see."""
    return Filter(
        query.get("find", "")[:100],
        query.get("load_class", ""),
        query.get("outage_role", ""),
        query.get("sort", "space")[:20],
    )


def table_page(
    request: Request,
    stored: StoredSite,
    wanted: Filter,
    entry: RowForm | None = None,
    *,
    picked: frozenset[str] = frozenset(),
    bulk: Form | None = None,
) -> Response:
    """The table of circuits with its open row: the next circuit, or one that was refused.

    ``bulk`` is a refused change to the circuits ``picked``.
    """
    page = page_for(
        request,
        "Circuits",
        sheet="circuits",
        stored=stored,
        caution_keys=sheet_cautions(stored.site),
        back=circuits_path(stored),
        said=None if request.method == "GET" else "",
    )
    template = "circuits/_circuit_table.html" if is_partial(request) else "circuits/list.html"
    return render(
        page,
        template,
        status_code=status_of(bulk or (entry.form if entry else NO_FORM)),
        groups=groups(stored.site, wanted),
        wanted=wanted,
        words=words,
        picked=picked,
        bulk=bulk,
        **strip_context(stored, entry or next_strip(stored)),
    )


def next_strip(stored: StoredSite, last_panel_id: str = "") -> RowForm:
    """The open row for the next circuit."""
    action = f"/sites/{stored.id}/circuit-rows"
    form = next_row(stored.site, last_panel_id)
    return RowForm("new", action, form, first_place(stored.site, form.value("panel_id"), 1))


def strip_context(stored: StoredSite, strip: RowForm) -> dict[str, Any]:
    """What an open row needs to be drawn, beside its page."""
    free = {p.id: sorted(free_spaces(stored.site, p)) for p in stored.site.panels}
    return {"strip": strip, "free": free, "kinds": KINDS_WITH_WORDS}


def circuit_page(
    request: Request, stored: StoredSite, form: Form, circuit: Circuit | None
) -> Response:
    """The form of one circuit, new when ``circuit`` is None."""
    site = stored.site
    title = circuit.name if circuit else "New circuit"
    page = page_for(
        request,
        title,
        sheet="circuits",
        stored=stored,
        caution_keys=sheet_cautions(site),
        back=circuits_path(stored),
        said=None if request.method == "GET" else "",
    )
    form = begun_at(form, stored.revision)
    partners = tuple((c.id, c.name) for c in site.circuits if circuit is None or c.id != circuit.id)
    return render(
        page,
        "circuits/circuit.html",
        status_code=status_of(form),
        form=form,
        circuit=circuit,
        row=row_of(circuit) if circuit else None,
        panels=groups(site, Filter()),
        partners=(("", "none"), *partners),
        energy_groups=(("", "none"), *((g.id, g.name) for g in site.energy_groups)),
        kinds=kinds_by_group(),
        past_wire=past_wire(site, circuit),
        past_main=past_main(site, form.value("panel_id"), form.value("breaker_a")),
        words=words,
    )


@router.get("/new-circuit")
def new_circuit(
    request: Request, stored: StoredSiteDep, panel: str = "", kind: str = ""
) -> Response:
    """An empty form, or one filled with what is usual for a kind of appliance."""
    first = next((p.id for p in stored.site.panels), "")
    panel_id = panel if panel in stored.site.panel_by_id else first
    return circuit_page(request, stored, circuit_form.blank_form(panel_id, kind), None)


@router.post("/new-circuit")
def add_circuit(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Add the circuit, or show what keeps it from being added."""
    values = typed(data)
    if values.get("act") == "fill":
        return circuit_page(request, stored, circuit_form.filled_from_kind(Form(values)), None)
    index = len(stored.site.circuits)
    added: list[Circuit] = []

    def edit(site: Site) -> Site:
        added.append(circuit_form.circuit_from(values, site, None))
        return circuit_form.with_circuit(site, added[-1])

    form = try_save(
        store,
        stored,
        values,
        edit,
        label=f"Add {values.get('name', 'a circuit')}",
        strip=f"circuits.{index}.",
        aliases=circuit_form.ALIASES,
    )
    if form is not None:
        return circuit_page(request, stored, form, None)
    circuit = added[-1]
    panel = stored.site.panel(circuit.panel_id)
    said = f"Added {circuit.name} to {panel.name}, space {row_of(circuit).spaces}."
    said = f"{said} {past_main(stored.site, panel.id, values.get('breaker_a', ''))}".rstrip()
    said = f"{said} {past_wire(stored.site, circuit)}".rstrip()
    if values.get("act") == "another":
        return redirect(request, f"/sites/{stored.id}/new-circuit?panel={panel.id}", said=said)
    return redirect(request, f"{circuits_path(stored)}/{circuit.id}", said=said)


@router.get("/circuits/{circuit_id}")
def show_circuit(request: Request, stored: StoredSiteDep, circuit_id: str) -> Response:
    """The form of a saved circuit, and its appliances."""
    circuit = stored.site.circuit(circuit_id)
    return circuit_page(request, stored, circuit_form.form_of(circuit), circuit)


@router.post("/circuits/{circuit_id}")
def change_circuit(
    request: Request, store: StoreDep, stored: StoredSiteDep, circuit_id: str, data: FormDep
) -> Response:
    """Save the circuit, or show what keeps it from being saved."""
    values = typed(data)
    circuit = stored.site.circuit_by_id.get(circuit_id)
    if circuit is None:
        return gone_circuit(request, stored, values)

    made: list[Circuit] = []

    def edit(site: Site) -> Site:
        made.append(circuit_form.circuit_from(values, site, circuit))
        return circuit_form.with_circuit(site, made[-1])

    form = try_save(
        store,
        stored,
        values,
        edit,
        label=f"Change {circuit.name}",
        saved=circuit_form.form_of(circuit).values,
        strip=f"circuits.{stored.site.circuits.index(circuit)}.",
        aliases=circuit_form.ALIASES,
    )
    if form is not None:
        return circuit_page(request, stored, form, circuit)
    past = past_main(stored.site, values.get("panel_id", ""), values.get("breaker_a", ""))
    said = f"Saved {values.get('name')}. {past}".rstrip()
    wire = past_wire(stored.site, made[-1])
    said = f"{said} {wire}".rstrip()
    return redirect(request, circuits_path(stored), said=said)


def gone_circuit(request: Request, stored: StoredSite, values: dict[str, str]) -> Response:
    """What was typed into a circuit that is deleted by now, as a new one."""
    text = (
        f"{values.get('name') or 'This circuit'} was deleted meanwhile. What you typed stands "
        "here as a new circuit without appliances; save it to add it again, or undo the deletion."
    )
    first = next((p.id for p in stored.site.panels), "")
    usual = dict(circuit_form.blank_form(first, "").values)
    fresh = {**usual, **values, "kind": "", "revision": str(stored.revision)}
    return circuit_page(request, stored, Form(fresh, others=(text,), stale=True), None)


@router.post("/circuits/{circuit_id}/delete")
def delete_circuit(
    request: Request, store: StoreDep, stored: StoredSiteDep, circuit_id: str, data: FormDep
) -> Response:
    """Delete the circuit with its appliances; undo brings it back."""
    circuit = stored.site.circuit(circuit_id)
    values = typed(data)
    form = try_save(
        store,
        stored,
        values,
        lambda site: remove_circuit(site, circuit_id),
        label=f"Delete {circuit.name}",
    )
    if form is not None:
        shown = circuit_form.form_of(circuit)
        return circuit_page(
            request,
            stored,
            replace(shown, others=form.others, stale=form.stale, unsaved=form.unsaved),
            circuit,
        )
    said = f"Deleted {circuit.name}. Undo brings it back."
    return redirect(request, circuits_path(stored), said=said)
