"""The supply of a site: its parts in the order of the current's path; add, change and delete."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import get_args

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.current_path import Step, SupplyGroup, SupplyPart, supply_part
from server.domain.errors import NotFoundError
from server.domain.site import Site
from server.domain.supply import Generator, SolarArray
from server.domain.supply_edits import Then, can_bypass, keeping, put_parts, removal, remove_part
from server.domain.told import told_of
from server.rules.checks.set_size import size_doubt
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web import segment_fields, words
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.drawing.sketch import sketch
from server.web.edits import status_of, try_save
from server.web.forms import Form, typed
from server.web.fuel_view import burn_view
from server.web.meanwhile import begun_at
from server.web.pages import Page, page_for, redirect, render
from server.web.supply_additions import ends_from, with_new_part
from server.web.supply_fields import ASKS
from server.web.supply_form import asked_of_new, compacted, form_of, form_of_new, part_from
from server.web.supply_view import (
    KINDS_OF_PART,
    SINGULAR,
    TEACHES,
    backfed_words,
    supply_rows,
    thrown_by_hand,
)
from server.web.supply_wiring import blank_part, wiring_asks, wiring_values

router = APIRouter(prefix="/sites/{site_id}")

SPARE = {"fuel_points": 1, "segments": 1, "handles": 2}
LEAST_ROWS = {"fuel_points": 3}
ALIASES = {"to_id": "to", "to_input": "to"} | {
    f"fuel_points.{i}": f"fuel_points.{i}.load_kw" for i in range(12)
}


_ENTRY_CAUTIONS: Mapping[SupplyGroup, tuple[str, ...]] = {
    "generators": ("backfeed", "exhaust", "co-alarms", "fuel", "propane", "gas", "siting"),
    "transfer_switches": ("backfeed",),
    "double_throws": ("throwing",),
    "solar": ("solar",),
}
"""Of a form before the site has such a part: any fuel and any siting may be chosen in it."""


def supply_cautions(site: Site, entered: SupplyGroup | None = None) -> tuple[str, ...]:
    """Keys of the cautions of this supply, and of the kind of part that is being entered."""
    keys = ["planning-aid", "live-parts", "bond", "grounding"]
    if site.generators:
        keys += ["backfeed", "exhaust", "co-alarms", "fuel"]
        fuels = {g.fuel for g in site.generators}
        keys += ["propane"] * ("propane" in fuels) + ["gas"] * ("natural_gas" in fuels)
        keys += ["siting"] * any(not g.portable for g in site.generators)
    if site.double_throws:
        keys.append("throwing")
    if site.solar:
        keys.append("solar")
    if entered is not None:
        keys += _ENTRY_CAUTIONS.get(entered, ())
    return tuple(dict.fromkeys(keys))


def _path(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/supply"


def _page(
    request: Request, stored: StoredSite, title: str, entered: SupplyGroup | None = None
) -> Page:
    return page_for(
        request,
        title,
        sheet="circuits",
        stored=stored,
        caution_keys=supply_cautions(stored.site, entered),
        said=None if request.method == "GET" else "",
        back=_path(stored),
    )


@router.get("/supply")
def show_supply(request: Request, stored: StoredSiteDep) -> Response:
    """Sources, switches, panels and feeders, and the ways to add one."""
    return render(
        _page(request, stored, "Supply"),
        "supply/supply.html",
        rows=supply_rows(stored.site),
        sketch=sketch(stored.site),
        addresses=KINDS_OF_PART,
        singular=SINGULAR,
        teaches=TEACHES,
    )


def _form_page(
    request: Request,
    stored: StoredSite,
    form: Form,
    group: SupplyGroup,
    part: SupplyPart | None,
) -> Response:
    """The form of one part, new when ``part`` is None."""
    form = begun_at(form, stored.revision)
    site = stored.site
    title = part.name if part else f"New {SINGULAR[group]}"
    here = f"{_path(stored)}/{part.id}" if part else _new_path(stored, group)
    rows = {row.id: row for row in supply_rows(site)}
    return render(
        _page(request, stored, title, group),
        "supply/part.html",
        status_code=status_of(form),
        form=form,
        group=group,
        part=part,
        row=rows[part.id] if part else None,
        here=here,
        asks=ASKS[group] if part else asked_of_new(group),
        wiring=wiring_asks(site, group, new=part is None),
        into=site.feeders_into.get(part.id, ()) if part else (),
        out_of=tuple(f for f in site.feeders if part and f.from_id == part.id),
        singular=SINGULAR[group],
        teaches=TEACHES[group],
        spare=SPARE,
        least=LEAST_ROWS,
        told=told_of(part) if isinstance(part, Generator | SolarArray) else (),
        burns=burn_view(part) if isinstance(part, Generator) else None,
        circuits=tuple((c.id, c.name) for c in site.circuits),
        words=words,
        wire=segment_fields,
        with_told=segment_fields.with_told,
        fmt=fmt,
        site=site,
    )


def _new_path(stored: StoredSite, group: SupplyGroup) -> str:
    address = next(a for a, g in KINDS_OF_PART.items() if g == group)
    return f"/sites/{stored.id}/new-part/{address}"


def _group_at(address: str) -> SupplyGroup:
    try:
        return KINDS_OF_PART[address]
    except KeyError:
        raise NotFoundError(f"There is no kind of part {address!r}.") from None


def _saved_form(site: Site, step: Step) -> Form:
    form = form_of(step.group, step.part)
    ends = wiring_values(site, step.group, step.part) if _has_ends(step.group) else {}
    return replace(form, values={**form.values, **ends})


def _has_ends(group: SupplyGroup) -> bool:
    return group in {"feeders", "solar", "batteries"}


@router.get("/new-part/{kind}")
def new_part(request: Request, stored: StoredSiteDep, kind: str) -> Response:
    """The form of a new part, filled with what is usual and marked as a guess."""
    group, site = _group_at(kind), stored.site
    blank = blank_part(site, group)
    asked = {a.name: a.options[0][0] for a in wiring_asks(site, group, new=True) if a.options}
    ends = asked if _has_ends(group) else wiring_values(site, group, blank)
    form = form_of_new(group, blank)
    return _form_page(request, stored, replace(form, values={**form.values, **ends}), group, None)


@router.post("/new-part/{kind}")
def add_part(
    request: Request, store: StoreDep, stored: StoredSiteDep, kind: str, data: FormDep
) -> Response:
    """Add the part with the feeders it needs, or show what keeps it from being added."""
    group, values = _group_at(kind), typed(data)
    if values.get("act") == "rows":
        return _form_page(request, stored, Form(values), group, None)
    values = compacted(group, values)
    made: list[str] = []

    def edit(site: Site) -> Site:
        grown, part_id = with_new_part(site, group, values)
        made.append(part_id)
        return grown

    name = values.get("name") or SINGULAR[group]
    form = try_save(
        store,
        stored,
        values,
        edit,
        label=f"Add {name}",
        strip=f"{group}.{len(getattr(stored.site, group))}.",
        aliases=ALIASES,
    )
    if form is not None:
        return _form_page(request, stored, form, group, None)
    said = f"Added {name}. What is marked ≈ is a guess; change it when you have read the label."
    now = store.get(stored.id).site
    said += backfed_words(now, made[-1]) + thrown_by_hand(now, made[-1]) + _doubt(now, made[-1])
    return redirect(request, f"{_path(stored)}#part-{made[-1]}", said=said)


@router.get("/supply/{part_id}")
def show_part(request: Request, stored: StoredSiteDep, part_id: str) -> Response:
    """The form of a saved part."""
    step = supply_part(stored.site, part_id)
    return _form_page(request, stored, _saved_form(stored.site, step), step.group, step.part)


@router.post("/supply/{part_id}")
def change_part(
    request: Request, store: StoreDep, stored: StoredSiteDep, part_id: str, data: FormDep
) -> Response:
    """Save the part, or show what keeps it from being saved."""
    values = typed(data)
    try:
        step = supply_part(stored.site, part_id)
    except NotFoundError:
        return _gone(request, stored, values)
    group, part = step.group, step.part
    if values.get("act") == "rows":
        return _form_page(request, stored, Form(values), group, part)
    values = compacted(group, values)

    def edit(site: Site) -> Site:
        base = part.model_dump() | ends_from(group, values)
        return put_parts(site, [(group, part_from(group, values, base))])

    form = try_save(
        store,
        stored,
        values,
        edit,
        label=f"Change {part.name}",
        saved=_saved_form(stored.site, step).values,
        strip=f"{group}.{_index(stored.site, step)}.",
        aliases=ALIASES,
    )
    if form is not None:
        return _form_page(request, stored, form, group, part)
    said = f"Saved {values.get('name')}.{_doubt(store.get(stored.id).site, part_id)}"
    return redirect(request, f"{_path(stored)}#part-{part_id}", said=said)


def _doubt(site: Site, part_id: str) -> str:
    """What to say of a saved set that is larger than homes have; begins with a space."""
    doubts = [size_doubt(g) for g in site.generators if g.id == part_id]
    return "".join(f" {doubt}" for doubt in doubts if doubt)


def _index(site: Site, step: Step) -> int:
    ids: list[str] = [part.id for part in getattr(site, step.group)]
    return ids.index(step.part.id)


def _gone(request: Request, stored: StoredSite, values: dict[str, str]) -> Response:
    """What was typed into a part that is deleted by now, as a new one."""
    group = next((g for g in ASKS if g == values.get("group")), None)
    if group is None:
        raise NotFoundError("This part of the supply is deleted by now.")
    text = (
        f"{values.get('name') or 'This part'} was deleted meanwhile. What you typed stands here as "
        "a new one; save it to add it again, or undo the deletion."
    )
    blank = blank_part(stored.site, group)
    ends = {} if _has_ends(group) else wiring_values(stored.site, group, blank)
    fresh = {**ends, **values, "revision": str(stored.revision)}
    return _form_page(request, stored, Form(fresh, others=(text,), stale=True), group, None)


@router.get("/supply/{part_id}/delete")
def ask_to_delete(request: Request, stored: StoredSiteDep, part_id: str) -> Response:
    """What hangs on a part, and the ways to delete it."""
    form = Form({"revision": str(stored.revision)})
    return _delete_page(request, stored, supply_part(stored.site, part_id), form)


def _delete_page(request: Request, stored: StoredSite, step: Step, form: Form) -> Response:
    site, part_id = stored.site, step.part.id
    past = can_bypass(site, part_id)
    return render(
        _page(request, stored, f"Delete {step.part.name}"),
        "supply/delete.html",
        status_code=status_of(form),
        form=form,
        part=step.part,
        singular=SINGULAR[step.group],
        here=f"{_path(stored)}/{part_id}",
        alone=removal(site, part_id),
        below=removal(site, part_id, then="below"),
        kept=None if past else keeping(site, part_id),
        past=past,
        feeders={site.name_of[f.to_id]: f for f in site.feeders if f.from_id == part_id},
    )


@router.post("/supply/{part_id}/delete")
def delete_part(
    request: Request, store: StoreDep, stored: StoredSiteDep, part_id: str, data: FormDep
) -> Response:
    """Delete the part; undo brings it back."""
    values = typed(data)
    step = supply_part(stored.site, part_id)
    ways: tuple[Then, ...] = get_args(Then)
    then: Then = next((one for one in ways if one == values.get("then")), "alone")
    form = try_save(
        store,
        stored,
        values,
        lambda site: remove_part(site, part_id, then=then),
        label=f"Delete {step.part.name}",
    )
    if form is not None:
        return _delete_page(request, stored, step, form)
    said = f"Deleted {step.part.name}. Undo brings it back."
    return redirect(request, _path(stored), said=said)
