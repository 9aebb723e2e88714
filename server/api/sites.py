"""Sites: list, open, save, delete, restore, duplicate, undo, redo, download."""

from __future__ import annotations

from fastapi import APIRouter, Response

from server.api.models import BaseRevision, ChangeListed, SiteEdit, SiteListed, SiteSaved
from server.api.parts import (
    BAD_REQUEST,
    EDITS,
    MEND,
    READS,
    TOO_LARGE,
    Answers,
    DeletedAt,
    RawBody,
    SiteId,
    Store,
    Stored,
)
from server.exchange.sitefile import envelope_schema, read_site_file, site_schema, write_site_file

router = APIRouter(tags=["Sites"])

_SITE_FILE = {
    "requestBody": {
        "required": True,
        "description": "A site file, as `GET /sites/{site_id}/file` gives it.",
        "content": {"application/json": {"schema": envelope_schema("#/components/schemas/Site")}},
    }
}
_FILE_ANSWER: Answers = {
    200: {
        "description": "The site file.",
        "content": {"application/json": {"schema": envelope_schema("#/components/schemas/Site")}},
    }
}


@router.get("/schema", summary="The JSON Schema of site files")
def get_schema() -> dict[str, object]:
    """The published schema that every site file follows."""
    return site_schema()


@router.get("/sites", summary="List the sites")
def list_sites(store: Store) -> list[SiteListed]:
    """Every site that is not deleted, by name."""
    return [SiteListed.model_validate(card) for card in store.list_sites()]


@router.post(
    "/sites",
    status_code=201,
    summary="Open a site file",
    responses={**BAD_REQUEST, **TOO_LARGE, **MEND},
    openapi_extra=_SITE_FILE,
)
def create_site(body: RawBody, store: Store) -> SiteSaved:
    """Store a site file as a new site."""
    site = read_site_file(body)
    return SiteSaved.model_validate(store.create(site, label="Opened from a site file"))


@router.get("/deleted-sites", summary="List the deleted sites")
def list_deleted(store: Store) -> list[SiteListed]:
    """Every deleted site, by name; each can be restored."""
    return [SiteListed.model_validate(card) for card in store.deleted_sites()]


@router.delete(
    "/deleted-sites/{site_id}",
    status_code=204,
    summary="Delete a site for good",
    responses=EDITS,
)
def forget_site(site_id: SiteId, store: Store, deleted_at: DeletedAt) -> None:
    """Remove a deleted site, its history and the photos that no other site names.

    Photos taken in during the last day go once a day has passed. Where the site was restored and
    deleted again since `deleted_at`, the answer is 409 and nothing is removed.
    """
    store.forget(site_id, deleted_at=deleted_at)


@router.get("/sites/{site_id}", summary="Read a site", responses=READS)
def get_site(stored: Stored) -> SiteSaved:
    """The site as last saved."""
    return SiteSaved.model_validate(stored)


@router.put("/sites/{site_id}", summary="Save a whole site", responses=EDITS)
def put_site(site_id: SiteId, edit: SiteEdit, store: Store) -> SiteSaved:
    """Put a whole site in place of the one at the given revision."""
    label = "Edited the site"
    saved = store.save(site_id, edit.site, base_revision=edit.revision, label=label)
    return SiteSaved.model_validate(saved)


@router.delete("/sites/{site_id}", status_code=204, summary="Delete a site", responses=READS)
def delete_site(site_id: SiteId, store: Store) -> None:
    """Put a site away. It can be restored with its history."""
    store.delete(site_id)


@router.post("/sites/{site_id}/restore", summary="Restore a deleted site", responses=READS)
def restore_site(site_id: SiteId, store: Store) -> SiteSaved:
    """Bring a deleted site back; one that is not deleted stays as it is."""
    return SiteSaved.model_validate(store.restore(site_id))


@router.post(
    "/sites/{site_id}/duplicate", status_code=201, summary="Duplicate a site", responses=READS
)
def duplicate_site(site_id: SiteId, store: Store) -> SiteSaved:
    """Store a copy under a new id."""
    return SiteSaved.model_validate(store.duplicate(site_id))


@router.post("/sites/{site_id}/undo", summary="Undo the newest change", responses=EDITS)
def undo(site_id: SiteId, store: Store, base: BaseRevision | None = None) -> SiteSaved:
    """Take back the newest change in force."""
    revision = base.revision if base else None
    return SiteSaved.model_validate(store.undo(site_id, base_revision=revision))


@router.post("/sites/{site_id}/redo", summary="Redo the change undone last", responses=EDITS)
def redo(site_id: SiteId, store: Store, base: BaseRevision | None = None) -> SiteSaved:
    """Do the change undone last again."""
    revision = base.revision if base else None
    return SiteSaved.model_validate(store.redo(site_id, base_revision=revision))


@router.get("/sites/{site_id}/changes", summary="List the changes of a site", responses=READS)
def list_changes(site_id: SiteId, store: Store) -> list[ChangeListed]:
    """The newest changes, newest first."""
    return [ChangeListed.model_validate(change) for change in store.changes(site_id)]


@router.get(
    "/sites/{site_id}/file",
    summary="Download the site file",
    response_class=Response,
    responses={**READS, **_FILE_ANSWER},
)
def get_file(stored: Stored) -> Response:
    """The site as a file that can be kept, mailed and opened again."""
    return Response(
        write_site_file(stored.site),
        media_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{stored.id}.json"'},
    )
