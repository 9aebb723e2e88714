"""Photos kept beside the sites, each once under the digest of its bytes.

A site names a photo by that digest, so undo and redo only move the name. Nothing is thrown away
while a history may still come back to it, or a form of the last day still holds its name.
"""

from __future__ import annotations

from datetime import UTC, datetime
from hashlib import sha256

from sqlalchemy import Connection, Engine, select

from server.domain.errors import NotFoundError
from server.domain.survey import Photo
from server.store.forgetting import sweep_photos
from server.store.tables import PHOTOS
from server.store.transactions import glancing, writing

_SIZE = select(PHOTOS.c.width_px, PHOTOS.c.height_px)
_WHOLE = select(PHOTOS.c.media_type, PHOTOS.c.width_px, PHOTOS.c.height_px, PHOTOS.c.data)


class PhotoStore:
    """Photos in a migrated database. Every method is one transaction, from any thread."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def keep(self, photo: Photo) -> str:
        """Keep a photo and return its id; one that is kept already is held on to from now."""
        photo_id = sha256(photo.data).hexdigest()
        with writing(self._engine) as connection:
            if not _held(connection, photo_id):
                row = {
                    "id": photo_id,
                    "media_type": photo.media_type,
                    "width_px": photo.width_px,
                    "height_px": photo.height_px,
                    "taken_in_at": datetime.now(UTC),
                    "data": photo.data,
                }
                connection.execute(PHOTOS.insert(), row)
        return photo_id

    def hold(self, photo_id: str) -> bool:
        """Hold on to a photo from now, for a circuit to be saved with it; False when it is gone."""
        with writing(self._engine) as connection:
            return _held(connection, photo_id)

    def sweep(self) -> None:
        """Remove what nothing names any more, as forms that were never sent again leave it."""
        with writing(self._engine) as connection:
            sweep_photos(connection)

    def size(self, photo_id: str) -> tuple[int, int] | None:
        """Width and height; None when this planner has no such photo. [px]"""
        with glancing(self._engine) as connection:
            found = connection.execute(_SIZE.where(PHOTOS.c.id == photo_id)).first()
        return None if found is None else (found.width_px, found.height_px)

    def get(self, photo_id: str) -> Photo:
        """The photo.

        Raises
        ------
        NotFoundError   When this planner has no such photo.
        """
        with glancing(self._engine) as connection:
            found = connection.execute(_WHOLE.where(PHOTOS.c.id == photo_id)).first()
        if found is None:
            raise NotFoundError("This planner does not have that photo.")
        return Photo(found.media_type, found.width_px, found.height_px, bytes(found.data))


def _held(connection: Connection, photo_id: str) -> bool:
    mine = PHOTOS.update().where(PHOTOS.c.id == photo_id).values(taken_in_at=datetime.now(UTC))
    return connection.execute(mine).rowcount == 1
