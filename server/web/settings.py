"""A site's own figures: its place, people, zones, amendments and prices."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.edits import new_id, with_changes
from server.domain.errors import Problem, SiteFileError
from server.domain.site import PLACE_NOT_TOLD, Site
from server.rules.editions import amendment_problem
from server.store.cards import StoredSite
from server.web import words
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, figure_text, flat, nested, typed
from server.web.meanwhile import begun_at
from server.web.pages import page_for, redirect, render

router = APIRouter(prefix="/sites/{site_id}")

SITE_FIELDS = (
    "name",
    "place",
    "code_edition",
    "people",
    "floor_area_ft2",
    "design_low_f",
    "design_high_f",
    "amendments",
    "tariff",
    "note",
)
LISTS = ("zones", "energy_groups")
SITE_OPTIONAL = (
    "floor_area_ft2",
    "import_per_kwh",
    "export_per_kwh",
    "fuel_per_unit",
    "heat_setback_f",
    "cool_setback_f",
    "watch_id",
    "setting_a",
)
SITE_TEXTS = ("name", "note", "time_zone", "reason", "id")


def settings_page(request: Request, stored: StoredSite, form: Form) -> Response:
    """The form of the site's own figures."""
    page = page_for(
        request,
        "Site settings",
        sheet="circuits",
        stored=stored,
        said=None if request.method == "GET" else "",
        back=f"/sites/{stored.id}/settings",
    )
    return render(
        page,
        "sites/settings.html",
        status_code=status_of(form),
        form=begun_at(form, stored.revision),
        words=words,
        watchable=_watchable(stored.site),
    )


def _watchable(site: Site) -> tuple[tuple[str, str], ...]:
    """What the amps of a manager can be measured at, by id."""
    names = site.name_of
    return (("", "its own circuits together"), *((i, names[i]) for i in site.watchable_ids))


@router.get("/settings")
def show_settings(request: Request, stored: StoredSiteDep) -> Response:
    """The site's name, place, people, code edition, zones and prices."""
    return settings_page(request, stored, Form(_settings(stored.site)))


def _settings(site: Site) -> dict[str, str]:
    values = flat(site.model_dump(mode="json", include={*SITE_FIELDS, *LISTS}))
    if site.place.name == PLACE_NOT_TOLD:
        values["place.name"] = ""
    return values


def _with_groups(site: Site, document: dict[str, Any]) -> dict[str, Any]:
    """The document with an id for each new load manager; emptied rows let go."""
    if "energy_groups" not in document:
        return document
    kept: list[dict[str, Any]] = []
    taken = set(site.name_of) | {row.get("id", "") for row in document["energy_groups"]}
    for row in document["energy_groups"]:
        if row.get("name") or row.get("setting_a"):
            group_id = row.get("id") or new_id(str(row.get("name", "")), taken)
            taken.add(group_id)
            told = {name: value for name, value in row.items() if value not in {"", None}}
            kept.append({**told, "id": group_id})
    ids = {row["id"] for row in kept}
    circuits = tuple(
        c.model_copy(update={"energy_group_id": None}) if c.energy_group_id not in ids else c
        for c in site.circuits
    )
    return {**document, "energy_groups": kept, "circuits": circuits}


def _see_amendments(site: Site, *, saved: Site) -> None:
    """Refuse a new amendment that no worksheet can be worked out with.

    Raises
    ------
    SiteFileError   With the problems by field. One that is saved already keeps nothing back: it is
                    left out of the sums, and a finding says so.
    """
    problems = [
        Problem(f"amendments.{at}.{problem.field}", problem.message)
        for at, one in enumerate(site.amendments)
        if one not in saved.amendments
        and (problem := amendment_problem(one, site.code_edition)) is not None
    ]
    if problems:
        raise SiteFileError(tuple(problems))


def _crossed(values: Mapping[str, str]) -> tuple[Problem, ...]:
    """The coldest to plan for above the hottest: no day can be made between them."""
    try:
        low_f, high_f = (float(figure_text(values[f"design_{end}_f"])) for end in ("low", "high"))
    except (KeyError, ValueError):
        return ()
    words = "The coldest to plan for cannot be above the hottest."
    return (Problem("design_low_f", words),) if low_f > high_f else ()


@router.post("/settings")
def change_settings(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Save the site's own figures."""
    values = typed(data)

    def edit(site: Site) -> Site:
        mine = {n: t for n, t in values.items() if n.split(".")[0] in {*SITE_FIELDS, *LISTS}}
        if not mine.get("place.name", "-").strip():
            mine["place.name"] = PLACE_NOT_TOLD
        document = nested(mine, optional=SITE_OPTIONAL, texts=SITE_TEXTS)
        crossed = _crossed(values)
        try:
            changed = with_changes(site, **_with_groups(site, document))
        except SiteFileError as error:
            raise SiteFileError((*crossed, *error.problems)) from error
        if crossed:
            raise SiteFileError(crossed)
        _see_amendments(changed, saved=site)
        return changed

    form = try_save(
        store,
        stored,
        values,
        edit,
        label="Change the site settings",
        saved=_settings(stored.site),
    )
    if form is not None:
        return settings_page(request, stored, form)
    return redirect(request, f"/sites/{stored.id}/settings", said="Saved the site settings.")
