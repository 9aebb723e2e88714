"""Changing many circuits of the table at once."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.site import Site
from server.web.bulk_edits import changed
from server.web.circuit_table import Filter
from server.web.circuits import circuits_path, table_page
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import try_save
from server.web.forms import typed
from server.web.pages import redirect

router = APIRouter(prefix="/sites/{site_id}")


@router.post("/bulk-circuits")
def change_many(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Make one change to every circuit picked, as one step of the history."""
    values = typed(data)
    picked = [pick for pick in data.getlist("pick") if isinstance(pick, str)]
    said: list[str] = []

    def edit(site: Site) -> Site:
        site, told = changed(site, picked, values)
        said.append(told)
        return site

    label = {"move": "Move", "delete": "Delete"}.get(values.get("act", ""), "Change")
    many = len(set(picked))
    form = try_save(store, stored, values, edit, label=f"{label} {many} circuits")
    if form is not None:
        fresh = store.get(stored.id) if form.stale else stored
        return table_page(request, fresh, Filter(), picked=frozenset(picked), bulk=form)
    return redirect(request, circuits_path(stored), said=said[-1])
