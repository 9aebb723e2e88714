"""The list of sites: open a file, begin, copy, download, delete, bring back, forget; undo, redo."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter
from pydantic import ValidationError
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response

from server.domain.edits import free_name
from server.domain.errors import EditError, Problem, SiteFileError, StaleEditError
from server.domain.problems import problems_in
from server.exchange.sitefile import read_site_file, write_site_file
from server.exchange.strictjson import MAX_BYTES
from server.store.sites import SiteStore
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.forms import Form, revision_of, typed, with_problems
from server.web.new_site import empty_house
from server.web.pages import page_for, redirect, render
from server.web.preferences import solar_note_wanted

router = APIRouter()

NO_FORM = Form({"name": "", "place": ""})
STALE = "Somebody saved since this page was shown. Look at what changed, then decide again."


def sites_page(
    request: Request,
    store: StoreDep,
    *,
    form: Form = NO_FORM,
    file_name: str = "",
    file_problems: tuple[Problem, ...] = (),
    status_code: int = 200,
) -> Response:
    """The page of sites, with what is wrong in a form or a file where there is something."""
    page = page_for(request, "Sites", back="/sites", caution_keys=("backfeed", "exhaust"))
    return render(
        page,
        "sites/list.html",
        status_code=status_code,
        sites=store.list_sites(),
        deleted=store.deleted_sites(),
        form=form,
        solar_note=solar_note_wanted(request),
        file_name=file_name,
        file_problems=file_problems,
    )


def numbered(store: SiteStore, name: str) -> str:
    """The name, with a number behind it where another site has it already."""
    return free_name(name.strip(), {card.name for card in store.list_sites()})


def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


@router.get("/sites")
def list_sites(request: Request, store: StoreDep) -> Response:
    """Every site, and the ways to get another one."""
    return sites_page(request, store)


@router.post("/sites")
def begin_site(request: Request, store: StoreDep, data: FormDep) -> Response:
    """Begin an empty house."""
    values = {"name": "", "place": ""} | typed(data)
    try:
        site = empty_house(numbered(store, values["name"]), values["place"])
    except ValidationError as error:
        form = with_problems(values, problems_in(error), aliases={"place.name": "place"})
        return sites_page(request, store, form=form, status_code=422)
    stored = store.create(site, label="Began")
    return redirect(
        request,
        f"/sites/{stored.id}/circuits",
        said=f"{site.name} begins with one service and one panel. Add its circuits.",
    )


@router.post("/sites/open")
def open_site_file(request: Request, store: StoreDep, data: FormDep) -> Response:
    """Open a site file: store it as a new site, or list what is wrong in it."""
    upload = data.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        problems = (Problem("", "Choose a site file first; its name usually ends in .json."),)
        return sites_page(request, store, file_problems=problems, status_code=422)
    try:
        site = read_site_file(upload.file.read(MAX_BYTES + 1))
    except SiteFileError as error:
        return sites_page(
            request,
            store,
            file_name=upload.filename[:120],
            file_problems=error.problems,
            status_code=422,
        )
    site = site.model_copy(update={"name": numbered(store, site.name)})
    stored = store.create(site, label=f"Opened from {upload.filename}"[:120])
    return redirect(request, f"/sites/{stored.id}", said=f"Opened {site.name}.")


@router.get("/sites/{site_id}/site-file")
def download_site_file(stored: StoredSiteDep) -> Response:
    """The site as a file that can be mailed, kept and opened again."""
    return Response(
        write_site_file(stored.site),
        media_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{stored.id}.json"'},
    )


@router.post("/sites/{site_id}/duplicate")
def duplicate_site(request: Request, store: StoreDep, site_id: str) -> Response:
    """A copy with its own history."""
    copy = store.duplicate(site_id)
    return redirect(request, "/sites", said=f"{copy.site.name} stands in the list.")


@router.post("/sites/{site_id}/delete")
def delete_site(request: Request, store: StoreDep, stored: StoredSiteDep) -> Response:
    """Put a site away."""
    store.delete(stored.id)
    said = f"Deleted {stored.site.name}. It can be brought back at the foot of this page."
    return redirect(request, "/sites", said=said)


@router.post("/sites/{site_id}/restore")
def restore_site(request: Request, store: StoreDep, site_id: str) -> Response:
    """Bring a deleted site back."""
    stored = store.restore(site_id)
    return redirect(request, "/sites", said=f"{stored.site.name} is back.")


@router.post("/sites/{site_id}/forget")
def forget_site(request: Request, store: StoreDep, site_id: str, data: FormDep) -> Response:
    """Remove a deleted site for good, as it was when the list was shown."""
    try:
        name = store.forget(site_id, deleted_at=_moment(typed(data).get("deleted_at", "")))
        said = f"{name} is gone for good, with its history. Its photos go within a day or so."
    except (EditError, StaleEditError) as error:
        said = str(error)
    return redirect(request, "/sites", said=said)


@router.post("/sites/{site_id}/undo")
def undo(request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep) -> Response:
    """Take back the last change, unless somebody saved in between."""
    values = typed(data)
    try:
        store.undo(stored.id, base_revision=revision_of(values))
        said = f"Undone: {stored.undo_label}."
    except StaleEditError:
        said = STALE
    except EditError as error:
        said = str(error)
    return redirect(request, values.get("back", f"/sites/{stored.id}"), said=said)


@router.post("/sites/{site_id}/redo")
def redo(request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep) -> Response:
    """Do the last undone change again, unless somebody saved in between."""
    values = typed(data)
    try:
        store.redo(stored.id, base_revision=revision_of(values))
        said = f"Done again: {stored.redo_label}."
    except StaleEditError:
        said = STALE
    except EditError as error:
        said = str(error)
    return redirect(request, values.get("back", f"/sites/{stored.id}"), said=said)
