"""The panels as they hang on the wall, and moving a breaker to another space."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.errors import EditError, SiteFileError
from server.domain.panel import leg_of_space
from server.domain.site import Site
from server.domain.space_edits import Placing, put_in_space
from server.store.cards import StoredSite
from server.web.circuit_table import row_of
from server.web.circuits import sheet_cautions
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.drawing.panel_spaces import LegsThen, legs_after, panel_faces
from server.web.edits import status_of, try_save
from server.web.format import amps
from server.web.forms import Form, problems_of, typed
from server.web.pages import page_for, redirect, render

router = APIRouter(prefix="/sites/{site_id}/spaces")


def spaces_path(stored: StoredSite) -> str:
    """The address of the page."""
    return f"/sites/{stored.id}/spaces"


def spaces_page(request: Request, stored: StoredSite, form: Form, moved: str = "") -> Response:
    """Every panel with its spaces, and the form that moves a breaker."""
    page = page_for(
        request,
        "Panel spaces",
        sheet="circuits",
        stored=stored,
        caution_keys=(*sheet_cautions(stored.site), "moving"),
        back=spaces_path(stored),
        said=None if request.method == "GET" else "",
    )
    return render(
        page,
        "circuits/spaces.html",
        status_code=status_of(form),
        form=form,
        faces=panel_faces(stored.site),
        moved=moved,
        row_of=row_of,
    )


@router.get("")
def show_spaces(request: Request, stored: StoredSiteDep, moved: str = "") -> Response:
    """The panels; ``moved`` is the breaker that was just moved and gets the focus."""
    panel_id = stored.site.panels[0].id if stored.site.panels else ""
    values = {"circuit": "", "panel_id": panel_id, "space": "", "revision": str(stored.revision)}
    return spaces_page(request, stored, Form(values), moved)


@router.get("/preview")
def preview_move(
    request: Request, stored: StoredSiteDep, circuit: str = "", panel_id: str = "", space: str = ""
) -> Response:
    """What a move not yet made would do to the legs, or what is in its way."""
    page = page_for(request, "Panel spaces", sheet="circuits", stored=stored, said="")
    values = {"circuit": circuit, "panel_id": panel_id, "space": space}
    then: tuple[LegsThen, ...] = ()
    try:
        placing = _placing(stored.site, values)
        then = legs_after(stored.site, placing.site)
        told = " ".join(_legs_said(one) for one in then) or "The legs stay as they are."
    except (EditError, SiteFileError) as error:
        told = problems_of(error)[0].message
    return render(page, "circuits/_legsthen.html", then=then, told=told)


@router.post("")
def move_breaker(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Move a breaker, and what stood there to where it was."""
    values = {"circuit": "", "panel_id": "", "space": ""} | typed(data)
    done: list[Placing] = []

    def edit(site: Site) -> Site:
        done.append(_placing(site, values))
        return done[-1].site

    name = stored.site.name_of.get(values["circuit"], "a breaker")
    form = try_save(
        store, stored, values, edit, label=f"Move {name}", aliases={"pinned": "circuit"}
    )
    if form is not None:
        return spaces_page(request, stored, form, values["circuit"])
    said = _said(stored.site, done[-1], values["circuit"])
    return redirect(request, f"{spaces_path(stored)}?moved={values['circuit']}", said=said)


def _placing(site: Site, values: dict[str, str]) -> Placing:
    if values["circuit"] not in site.circuit_by_id:
        raise EditError("Choose the breaker that moves.", field="circuit")
    if values["panel_id"] not in site.panel_by_id:
        raise EditError("Choose the panel it goes to.", field="panel_id")
    space = values["space"]
    if not (space.isascii() and space.isdecimal() and len(space) < 4):
        raise EditError("Write one whole number, such as 12.", field="space")
    return put_in_space(site, values["circuit"], values["panel_id"], int(space))


def _said(before: Site, placing: Placing, circuit_id: str) -> str:
    after = placing.site
    if after is before:
        return f"{before.name_of[circuit_id]} stays where it was."
    told = [f"{_at(after, circuit_id)}."]
    told += [f"{_at(after, other)} instead." for other in placing.displaced]
    partner_id = after.circuit(circuit_id).multiwire_partner_id
    if partner_id:
        mine, other = after.circuit(circuit_id), after.circuit(partner_id)
        if mine.poles == 1 and leg_of_space(mine.spaces[0]) == leg_of_space(other.spaces[0]):
            told.append(f"It is now on the same leg as {other.name}, which shares its neutral.")
    told += [_legs_said(one) for one in legs_after(before, after)]
    return " ".join(told)


def _legs_said(one: LegsThen) -> str:
    legs = ", ".join(
        f"{leg} {amps(now)} to {amps(then)} A"
        for leg, now, then in zip(("L1", "L2"), one.now_a, one.then_a, strict=True)
    )
    return f"Connected on {one.panel.name}: {legs}."


def _at(site: Site, circuit_id: str) -> str:
    row = row_of(site.circuit(circuit_id))
    panel = site.panel(row.circuit.panel_id).name
    legs = row.legs.replace(" ", " and ")
    return f"{row.circuit.name} is in space {row.spaces} of {panel}, on {legs}"
