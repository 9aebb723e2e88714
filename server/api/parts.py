"""What API routes ask for by type: the store, the site of the address, the raw body."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, Path, Query
from pydantic import AwareDatetime
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

from server.api.models import ProblemDocument, SiteSaved
from server.domain.errors import StaleEditError
from server.domain.site import Site
from server.exchange.strictjson import parse
from server.store.cards import StoredSite
from server.store.sites import SiteStore

_PATTERN = r"^[a-z0-9][a-z0-9-]*$"

SiteId = Annotated[str, Path(pattern=_PATTERN, max_length=80, examples=["fern-hollow-3f9a2c"])]
CircuitId = Annotated[str, Path(pattern=_PATTERN, max_length=48, examples=["well-pump"])]
ScenarioId = Annotated[str, Path(pattern=_PATTERN, max_length=48, examples=["holiday-peak"])]
RevisionAsked = Annotated[
    int, Query(ge=1, le=2**31 - 1, description="The revision your edit began from.", examples=[4])
]
DeletedAt = Annotated[
    AwareDatetime,
    Query(
        description="When the site was deleted, as `GET /deleted-sites` gives it.",
        examples=["2026-03-01T12:00:00.123456Z"],
    ),
]
SeedAsked = Annotated[
    int | None, Query(ge=0, lt=2**63, description="Seed of the draw.", examples=[1])
]


def problem(description: str) -> dict[str, Any]:
    """Documentation of one failing answer."""
    return {
        "description": description,
        "content": {
            "application/problem+json": {
                "schema": {"$ref": f"#/components/schemas/{ProblemDocument.__name__}"}
            }
        },
    }


Answers = dict[int | str, dict[str, Any]]

BAD_REQUEST: Answers = {
    400: problem("The body is not readable JSON, or the address is not this server’s.")
}
NOT_FOUND: Answers = {404: problem("There is no such site, circuit or scenario.")}
STALE: Answers = {
    409: problem("Somebody saved first; nothing was written. Carries the current revision.")
}
BUSY: Answers = {
    503: problem("Too many requests for draws are under way; `Retry-After` says when to ask again.")
}
TOO_LARGE: Answers = {413: problem("What was sent is too large.")}
MEND: Answers = {422: problem("Something needs mending; the fields are named.")}
READS: Answers = {**NOT_FOUND, **MEND}
EDITS: Answers = {**BAD_REQUEST, **NOT_FOUND, **STALE, **TOO_LARGE, **MEND}


def _store(request: Request) -> SiteStore:
    store: SiteStore = request.app.state.store
    return store


Store = Annotated[SiteStore, Depends(_store)]


def _stored(site_id: SiteId, store: Store) -> StoredSite:
    return store.get(site_id)


Stored = Annotated[StoredSite, Depends(_stored)]


async def _body(request: Request) -> bytes:
    return await request.body()


RawBody = Annotated[bytes, Depends(_body)]


async def checked_body(request: Request) -> None:
    """Refuse a body that is not strict JSON, or holds too much, before it is looked into.

    Raises
    ------
    SiteFileError   With the reason.
    """
    body = await request.body()
    if body:
        await run_in_threadpool(parse, body)


def refuse_stale(stored: StoredSite, revision: int) -> None:
    """Say that an edit is stale before judging it against a site it was not made for.

    Raises
    ------
    StaleEditError   When ``revision`` is not the current one.
    """
    if stored.revision != revision:
        raise StaleEditError(
            "This site was saved by somebody else after you read it, so nothing was written. "
            f"Read it again (revision {stored.revision}) and make your edit there.",
            revision=stored.revision,
        )


def saved(store: SiteStore, stored: StoredSite, site: Site, label: str) -> SiteSaved:
    """Save an edit of a site as it was read; ``label`` names it in the history."""
    after = store.save(stored.id, site, base_revision=stored.revision, label=label)
    return SiteSaved.model_validate(after)
