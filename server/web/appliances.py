"""The appliances that ride on a circuit: add, change, delete."""

from __future__ import annotations

from dataclasses import replace

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.appliance import Appliance
from server.domain.catalogue import KINDS, kinds_by_group
from server.domain.circuit import Circuit
from server.domain.edits import new_id, with_changes
from server.domain.errors import NotFoundError
from server.domain.site import Site
from server.store.cards import StoredSite
from server.web import appliance_form, circuit_form, words
from server.web.behaviour_fields import QUESTIONS
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, checked, typed
from server.web.meanwhile import begun_at
from server.web.pages import is_partial, page_for, redirect, render

router = APIRouter(prefix="/sites/{site_id}/circuits/{circuit_id}")

SPARE_ROWS = 1
ONTO = "onto"
"""The field of a form whose circuit is gone: the circuit to put the appliance on."""
_BY_GROUP = {"Health": "medical", "Kitchen": "cooking", "Heating": "cooking"}


def circuit_path(stored: StoredSite, circuit: Circuit) -> str:
    """The address of the circuit's own page."""
    return f"/sites/{stored.id}/circuits/{circuit.id}"


def appliance_cautions(form: Form) -> tuple[str, ...]:
    """Keys of the cautions that belong to the kind and behaviour in the form."""
    keys = ["planning-aid"]
    if form.value("behaviour.model") == "tank":
        keys.append("water-heater")
    if form.value("behaviour.model") == "cold_box":
        keys.append("food")
    kind = KINDS.get(form.value("kind"))
    if kind and kind.group in _BY_GROUP:
        keys.append(_BY_GROUP[kind.group])
    if kind and kind.id in {"hot-tub", "pool-pump", "pool-pump-variable"}:
        keys.append("tub")
    return tuple(keys)


def appliance_page(
    request: Request,
    stored: StoredSite,
    circuit: Circuit,
    form: Form,
    appliance: Appliance | None,
    *,
    spare: int = SPARE_ROWS,
) -> Response:
    """The form of one appliance, new when ``appliance`` is None."""
    title = f"{appliance.name if appliance else 'New appliance'}, {circuit.name}"
    page = page_for(
        request,
        title,
        sheet="circuits",
        stored=stored,
        caution_keys=appliance_cautions(form),
        back=circuit_path(stored, circuit),
        said=None if request.method == "GET" else "",
    )
    form = begun_at(form, stored.revision)
    zones = tuple((z.id, z.name) for z in stored.site.zones) or (
        (appliance_form.HOUSE.id, "House, a new zone with guessed figures"),
    )
    template = "circuits/_appliance_form.html" if is_partial(request) else "circuits/appliance.html"
    return render(
        page,
        template,
        status_code=status_of(form),
        form=form,
        circuit=circuit,
        appliance=appliance,
        kind=KINDS.get(form.value("kind")),
        kinds=kinds_by_group(),
        zones=zones,
        any_zone=(("", words.FIRST_ZONE), *((z.id, z.name) for z in stored.site.zones)),
        spare=spare,
        words=words,
        circuits=tuple((c.id, c.name) for c in stored.site.circuits),
        behaviour_questions=QUESTIONS,
    )


def _reshaped(values: dict[str, str], site: Site) -> tuple[Form, int] | None:
    """The form after a button that only changes its shape, and how many spare rows it shows."""
    match values.get("act"):
        case "fill":
            return appliance_form.filled_from_kind(Form(values), site), SPARE_ROWS
        case "model":
            model = values.get("behaviour.model", "")
            return appliance_form.with_behaviour(Form(values), model, site), SPARE_ROWS
        case "rows":
            return Form(values), 3
    return None


@router.get("/new-appliance")
def new_appliance(
    request: Request, stored: StoredSiteDep, circuit_id: str, kind: str = "other"
) -> Response:
    """A form filled with the usual figures of a kind."""
    circuit = stored.site.circuit(circuit_id)
    return appliance_page(
        request, stored, circuit, appliance_form.blank_form(kind, stored.site), None
    )


@router.post("/new-appliance")
def add_appliance(
    request: Request, store: StoreDep, stored: StoredSiteDep, circuit_id: str, data: FormDep
) -> Response:
    """Add the appliance, or show what keeps it from being added."""
    return _save(
        request, store, stored, circuit_id=circuit_id, appliance_id=None, values=typed(data)
    )


@router.get("/appliances/{appliance_id}")
def show_appliance(
    request: Request, stored: StoredSiteDep, circuit_id: str, appliance_id: str
) -> Response:
    """The form of a saved appliance."""
    circuit = stored.site.circuit(circuit_id)
    appliance = _on(circuit, appliance_id)
    return appliance_page(request, stored, circuit, appliance_form.form_of(appliance), appliance)


@router.post("/appliances/{appliance_id}")
def change_appliance(
    request: Request,
    store: StoreDep,
    stored: StoredSiteDep,
    *,
    circuit_id: str,
    appliance_id: str,
    data: FormDep,
) -> Response:
    """Save the appliance, or show what keeps it from being saved."""
    return _save(
        request, store, stored, circuit_id=circuit_id, appliance_id=appliance_id, values=typed(data)
    )


@router.post("/appliances/{appliance_id}/delete")
def delete_appliance(
    request: Request,
    store: StoreDep,
    stored: StoredSiteDep,
    *,
    circuit_id: str,
    appliance_id: str,
    data: FormDep,
) -> Response:
    """Delete the appliance; undo brings it back."""
    circuit = stored.site.circuit(circuit_id)
    appliance = _on(circuit, appliance_id)
    form = try_save(
        store,
        stored,
        typed(data),
        lambda site: _without(site, circuit, appliance_id),
        label=f"Delete {appliance.name}",
    )
    if form is not None:
        shown = replace(
            appliance_form.form_of(appliance),
            others=form.others,
            stale=form.stale,
            unsaved=form.unsaved,
        )
        return appliance_page(request, stored, circuit, shown, appliance)
    said = f"Deleted {appliance.name}. Undo brings it back."
    return redirect(request, circuit_path(stored, circuit), said=said)


def _on(circuit: Circuit, appliance_id: str) -> Appliance:
    for appliance in circuit.appliances:
        if appliance.id == appliance_id:
            return appliance
    raise NotFoundError(f"There is no appliance {appliance_id!r} on {circuit.name}.")


def _without(site: Site, circuit: Circuit, appliance_id: str) -> Site:
    """The site without this appliance and the scenario events that start it."""
    rest = tuple(a for a in circuit.appliances if a.id != appliance_id)
    smaller = circuit.model_copy(update={"appliances": rest})
    scenarios = tuple(
        s.model_copy(
            update={"events": tuple(e for e in s.events if e.appliance_id != appliance_id)}
        )
        for s in site.scenarios
    )
    circuits = tuple(smaller if c.id == circuit.id else c for c in site.circuits)
    return with_changes(site, circuits=circuits, scenarios=scenarios)


def _save(
    request: Request,
    store: StoreDep,
    stored: StoredSite,
    *,
    circuit_id: str,
    appliance_id: str | None,
    values: dict[str, str],
) -> Response:
    """Add or replace an appliance, or show the form again with what is wrong."""
    circuit = stored.site.circuit_by_id.get(values.get(ONTO, circuit_id))
    old = next((a for a in circuit.appliances if a.id == appliance_id), None) if circuit else None
    if circuit is None or (appliance_id is not None and old is None):
        return _gone(request, stored, circuit, values)
    reshaped = _reshaped(values, stored.site)
    if reshaped is not None:
        return appliance_page(request, stored, circuit, reshaped[0], old, spare=reshaped[1])
    values = appliance_form.compacted(values)
    name = values.get("name", "")
    saved_id = appliance_id or new_id(name, circuit_form.taken_ids(stored.site))
    place = circuit.appliances.index(old) if old else len(circuit.appliances)

    def edit(site: Site) -> Site:
        appliance = appliance_form.appliance_from(values, saved_id)
        others = list(circuit.appliances)
        others[place : place + 1] = [appliance]
        whole = {name: getattr(circuit, name) for name in Circuit.model_fields}
        return circuit_form.with_circuit(
            site, checked(Circuit, whole | {"appliances": tuple(others)})
        )

    index = stored.site.circuits.index(circuit)
    form = try_save(
        store,
        stored,
        values,
        edit,
        label=f"Change {name}" if old else f"Add {name} to {circuit.name}",
        saved=appliance_form.form_of(old).values if old else None,
        strip=f"circuits.{index}.appliances.{place}.",
    )
    if form is not None:
        return appliance_page(request, stored, circuit, form, old)
    said = f"Saved {name}." if old else f"Added {name} to {circuit.name}."
    return redirect(request, circuit_path(stored, circuit), said=said)


def _gone(
    request: Request, stored: StoredSite, circuit: Circuit | None, values: dict[str, str]
) -> Response:
    """What was typed into an appliance that is deleted by now, or whose circuit is, as a new one.

    Raises
    ------
    NotFoundError   When no circuit is left to put it on.
    """
    name = values.get("name") or "This appliance"
    if circuit is None and not stored.site.circuits:
        raise NotFoundError(
            f"The circuit of {name} was deleted, and no other is left to add it to."
        )
    fresh = {**values, "revision": str(stored.revision)}
    text = f"{name} was deleted meanwhile. What you typed stands here as a new appliance"
    if circuit is None:
        circuit = stored.site.circuits[0]
        fresh[ONTO] = circuit.id
        text = f"The circuit of {name} was deleted meanwhile. What you typed stands here; choose"
        text += " another circuit for it"
    text += " and save it to add it again, or undo the deletion."
    return appliance_page(request, stored, circuit, Form(fresh, others=(text,), stale=True), None)
