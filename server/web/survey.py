"""The survey sheet: trace breakers one by one at the panel, each with a note and a photo."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response

from server.domain.circuit import Circuit
from server.domain.edits import put_circuit
from server.domain.errors import InputError, NotFoundError, Problem
from server.domain.site import Site
from server.exchange.photo import MAX_PHOTO_BYTES, read_photo
from server.simulate.outcome import medical_device
from server.store.cards import StoredSite
from server.store.photos import PhotoStore
from server.web import words
from server.web.circuit_table import row_of
from server.web.circuits import gone_circuit
from server.web.deps import FormDep, PhotosDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, checked, typed, with_problems
from server.web.meanwhile import begun_at
from server.web.pages import page_for, redirect, render
from server.web.survey_list import kept_cold, trace_panels

router = APIRouter(prefix="/sites/{site_id}/survey")

CAUTIONS = ("planning-aid", "live-parts", "medical")
_FIELDS = ("name", "area", "note", "traced", "photo")
_SAID_OF_UNTRACED = {
    True: ", traced since you said what went dark",
    False: "; it still counts as not traced",
}
GONE = "The photo you sent before is no longer in this planner. Choose it once more."
PHOTO_POLICY = "default-src 'none'; sandbox; frame-ancestors 'none'"
"""Nothing in a photo is a page: opened by itself it may load and run nothing."""


def survey_path(stored: StoredSite) -> str:
    """The address of the survey."""
    return f"/sites/{stored.id}/survey"


@router.get("")
def survey(request: Request, stored: StoredSiteDep) -> Response:
    """Which breakers are traced, and the next one to trace."""
    site = stored.site
    left = [c for p in trace_panels(site) for c in (r.circuit for r in p.rows)]
    page = page_for(request, "Survey", sheet="survey", stored=stored, caution_keys=CAUTIONS)
    return render(
        page,
        "survey/survey.html",
        panels=trace_panels(site),
        following=next((c for c in left if c.traced == "not_yet"), None),
        traced=sum(c.traced == "traced" for c in left),
        unsure=sum(c.traced == "unsure" for c in left),
        total=len(left),
        words=words,
    )


@router.get("/breakers/{circuit_id}")
def show_breaker(
    request: Request, photos: PhotosDep, stored: StoredSiteDep, circuit_id: str
) -> Response:
    """One breaker, for a phone held at the panel."""
    circuit = stored.site.circuit(circuit_id)
    return _breaker_page(request, stored, circuit, _form_of(circuit), photos)


@router.get("/photos/{photo_id}")
def show_photo(photos: PhotosDep, stored: StoredSiteDep, photo_id: str) -> Response:
    """The bytes of a photo that a circuit of this site names, as what they are and nothing else."""
    if photo_id not in {circuit.photo for circuit in stored.site.circuits}:
        raise NotFoundError("No circuit of this site has that photo.")
    photo = photos.get(photo_id)
    headers = {"Content-Security-Policy": PHOTO_POLICY, "Content-Disposition": "inline"}
    return Response(photo.data, media_type=photo.media_type, headers=headers)


@router.post("/breakers/{circuit_id}")
def trace_breaker(
    request: Request,
    store: StoreDep,
    photos: PhotosDep,
    stored: StoredSiteDep,
    circuit_id: str,
    *,
    data: FormDep,
) -> Response:
    """Save what was found and go on to the next breaker."""
    values = typed(data)
    circuit = stored.site.circuit_by_id.get(circuit_id)
    if circuit is None:
        return gone_circuit(request, stored, values)

    try:
        values["photo"] = _photo_in(data, values, circuit.photo or "", photos)
    except InputError as error:
        if str(error) == GONE:
            values["photo"] = circuit.photo or ""
        refused = with_problems({"photo": ""} | values, (Problem(error.field, str(error)),))
        return _breaker_page(request, stored, circuit, refused, photos)

    def edit(site: Site) -> Site:
        found = {name: values.get(name, "") for name in _FIELDS}
        if found_by_words(circuit, found):
            found["traced"] = "traced"
        if found["traced"] == "not_yet":
            found["area"] = found["area"] or _guessed_area(circuit)
        document = circuit.model_dump() | found | {"photo": values["photo"] or None}
        return put_circuit(site, checked(Circuit, document))

    form = try_save(
        store,
        stored,
        values,
        edit,
        label=f"Trace {circuit.name}",
        saved=_form_of(circuit).values,
        strip=f"circuits.{stored.site.circuits.index(circuit)}.",
    )
    if form is not None:
        return _breaker_page(request, stored, circuit, form, photos)
    following = _beside(stored.site, circuit)[1]
    there = f"{survey_path(stored)}/breakers/{following.id}" if following else survey_path(stored)
    told = ""
    if values.get("traced") == "not_yet":
        told = _SAID_OF_UNTRACED[found_by_words(circuit, values)]
    return redirect(request, there, said=f"Saved {values.get('name')}{told}.")


def found_by_words(circuit: Circuit, values: Mapping[str, str]) -> bool:
    """Whether somebody says for the first time what went dark, and forgot to say that it is."""
    untraced = circuit.traced == values.get("traced") == "not_yet"
    return untraced and bool(values.get("area"))


def _form_of(circuit: Circuit) -> Form:
    values = {name: str(getattr(circuit, name) or "") for name in _FIELDS}
    return Form(values | ({"area": ""} if _guessed_area(circuit) else {}))


def _guessed_area(circuit: Circuit) -> str:
    """Where a circuit is thought to go before anybody has looked; nothing once it is traced."""
    return circuit.area if circuit.traced == "not_yet" else ""


def _photo_in(data: FormData, values: dict[str, str], saved: str, photos: PhotoStore) -> str:
    """Id of the photo the form leaves the breaker with: the one sent, the one it had, or none.

    What was sent is kept at once, so that a form refused for another reason still has it; one
    that such a form names is held on to until it is saved.

    Raises
    ------
    InputError   When what was sent is no photo, or what the form names is gone.
    """
    sent = data.get("picture")
    if isinstance(sent, UploadFile) and sent.filename:
        return photos.keep(read_photo(sent.file.read(MAX_PHOTO_BYTES + 1)))
    named = "" if values.get("no_photo") == "on" else values.get("photo", "")
    if named not in {"", saved} and not photos.hold(named):
        raise InputError(GONE, field="photo")
    return named


def _beside(site: Site, circuit: Circuit) -> tuple[Circuit | None, Circuit | None]:
    """The breakers before and after this one, panel by panel."""
    order = [r.circuit.id for p in trace_panels(site) for r in p.rows]
    at = order.index(circuit.id)
    before = site.circuit(order[at - 1]) if at else None
    after = site.circuit(order[at + 1]) if at + 1 < len(order) else None
    return before, after


def _breaker_page(
    request: Request, stored: StoredSite, circuit: Circuit, form: Form, photos: PhotoStore
) -> Response:
    site = stored.site
    page = page_for(
        request,
        f"Breaker {row_of(circuit).spaces}",
        sheet="survey",
        stored=stored,
        caution_keys=CAUTIONS,
        said=None if request.method == "GET" else "",
        back=f"{survey_path(stored)}/breakers/{circuit.id}",
    )
    form = begun_at(form, stored.revision)
    before, after = _beside(site, circuit)
    return render(
        page,
        "survey/breaker.html",
        status_code=status_of(form),
        form=form,
        circuit=circuit,
        guessed=_guessed_area(circuit),
        row=row_of(circuit),
        panel=site.panel(circuit.panel_id),
        before=before,
        after=after,
        must_serve=circuit.load_class == "must_serve",
        device=medical_device(circuit),
        cold=kept_cold(circuit),
        photo_size=photos.size(form.value("photo")) if form.value("photo") else None,
        photo_saved=form.value("photo") == circuit.photo,
        words=words,
    )
