"""What routes ask for by type: the stores, the site of the address, a submitted form."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import Depends
from starlette.datastructures import FormData
from starlette.requests import Request

from server.store.cards import StoredSite
from server.store.photos import PhotoStore
from server.store.sites import SiteStore

FORM_FIELDS_MOST = 6_000


def _store(request: Request) -> SiteStore:
    store: SiteStore = request.app.state.store
    return store


StoreDep = Annotated[SiteStore, Depends(_store)]


def _photos(request: Request) -> PhotoStore:
    photos: PhotoStore = request.app.state.photos
    return photos


PhotosDep = Annotated[PhotoStore, Depends(_photos)]


def _stored(site_id: str, store: StoreDep) -> StoredSite:
    return store.get(site_id)


StoredSiteDep = Annotated[StoredSite, Depends(_stored)]


async def _form(request: Request) -> AsyncIterator[FormData]:
    async with request.form(max_fields=FORM_FIELDS_MOST) as data:
        yield data


FormDep = Annotated[FormData, Depends(_form)]
