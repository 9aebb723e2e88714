"""A breaker found at the panel that is in no list: a short form makes a circuit of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.circuit import Circuit
from server.domain.errors import Problem, SiteFileError
from server.domain.site import Site
from server.store.cards import StoredSite
from server.web import words
from server.web.circuit_form import ALIASES, blank_form, circuit_from, with_circuit
from server.web.circuit_table import Filter, groups, row_of
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, typed
from server.web.odd_rating import odd_rating
from server.web.pages import page_for, redirect, render
from server.web.survey import CAUTIONS, survey_path

router = APIRouter(prefix="/sites/{site_id}/survey")

FIELDS = ("panel_id", "space", "poles", "breaker_a", "area", "name")
MOST_OF_A_NAME = 40
"""As much of what went dark as becomes the name of a circuit that got none."""
_SPACE = "Read it off the panel: the number beside the breaker, the upper one where it takes two."
_ODD = "Read the handle once more. If it does say so, add the breaker on Circuits, which takes any."
_BREAKER = "Read it off the handle. It is a number such as 15, 20 or 50."


@router.get("/found")
def ask_found(request: Request, stored: StoredSiteDep, panel: str = "") -> Response:
    """The form, empty but for the panel."""
    known = stored.site.panel_by_id
    first = next(iter(known), "")
    blank = {"panel_id": panel if panel in known else first, "poles": "1"}
    return _found_page(request, stored, Form(dict.fromkeys(FIELDS, "") | blank))


@router.post("/found")
def add_found(request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep) -> Response:
    """Make a circuit of it, or say beside each field what is missing."""
    values = dict.fromkeys(FIELDS, "") | typed(data)
    added: list[Circuit] = []

    def edit(site: Site) -> Site:
        added.append(found_circuit(values, site))
        return with_circuit(site, added[-1])

    form = try_save(
        store,
        stored,
        values,
        edit,
        label="Add a breaker found at the panel",
        strip=f"circuits.{len(stored.site.circuits)}.",
        aliases=ALIASES,
    )
    if form is not None:
        return _found_page(request, stored, form)
    circuit = added[-1]
    where = f"space {row_of(circuit).spaces} of {stored.site.panel(circuit.panel_id).name}"
    said = (
        f"Added {circuit.name} in {where}. It counts as no load until what hangs on it is added: "
        "open it, then “All of its figures”."
    )
    return redirect(request, survey_path(stored), said=said)


def found_circuit(values: Mapping[str, str], site: Site) -> Circuit:
    """The circuit of a breaker that was found, traced where somebody says what went dark.

    Raises
    ------
    SiteFileError   With what is missing or wrong, by field.
    """
    missing = [
        Problem(name, text)
        for name, text in (("space", _SPACE), ("breaker_a", _BREAKER))
        if not values.get(name)
    ]
    odd = odd_rating(values.get("breaker_a", ""))
    missing += [Problem("breaker_a", f"{odd} {_ODD}")] if odd else []
    dark = values.get("area", "")
    state: Literal["traced", "unsure"] = "traced" if dark else "unsure"
    space = values.get("space") or "1"
    name = values.get("name") or dark[:MOST_OF_A_NAME].strip() or f"Breaker {space}"
    usual = dict(blank_form(values.get("panel_id", "")).values)
    typed_in = {key: values[key] for key in FIELDS if values.get(key)}
    whole = usual | typed_in | {"space": space, "name": name, "traced": state}
    try:
        circuit = circuit_from(whole, site, None)
    except SiteFileError as error:
        asked = {problem.field for problem in missing}
        rest = (p for p in error.problems if p.field not in asked)
        raise SiteFileError((*missing, *rest)) from error
    if missing:
        raise SiteFileError(tuple(missing))
    return circuit


def _found_page(request: Request, stored: StoredSite, form: Form) -> Response:
    if not form.value("revision"):
        form = replace(form, values={**form.values, "revision": str(stored.revision)})
    page = page_for(
        request,
        "A breaker that is not listed",
        sheet="survey",
        stored=stored,
        caution_keys=CAUTIONS,
        said=None if request.method == "GET" else "",
        back=survey_path(stored),
    )
    return render(
        page,
        "survey/found.html",
        status_code=status_of(form),
        form=form,
        panels=groups(stored.site, Filter()),
        choices=tuple((p.id, p.name) for p in stored.site.panels),
        poles=words.POLES,
    )
