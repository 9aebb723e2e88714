"""Deleting a site for good: its rows, its history, and the photos that nothing else names."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from sqlalchemy import Connection, Text, cast, exists, select

from server.store.tables import CHANGES, PARTS, PHOTOS, SITES

_CIRCUITS = PARTS["circuits"]
_PHOTO = re.compile(r'"photo": "([0-9a-f]{64})"')


def forget(connection: Connection, site_id: str) -> None:
    """Remove every row of a site, then each of its photos that no other site comes back to."""
    named = set(_named(connection, site_id))
    connection.execute(CHANGES.delete().where(CHANGES.c.site_id == site_id))
    for name in ("appliances", *(name for name in reversed(PARTS) if name != "appliances")):
        table = PARTS[name]
        connection.execute(table.delete().where(table.c.site_id == site_id))
    connection.execute(SITES.delete().where(SITES.c.id == site_id))
    for photo_id in sorted(named):
        if not _still_named(connection, photo_id):
            connection.execute(PHOTOS.delete().where(PHOTOS.c.id == photo_id))


def _named(connection: Connection, site_id: str) -> Iterator[str]:
    for kept in (_CIRCUITS.c.body, CHANGES.c.parts):
        own = select(kept).where(kept.table.c.site_id == site_id)
        for value in connection.execute(own).scalars():
            yield from _PHOTO.findall(json.dumps(value))


def _still_named(connection: Connection, photo_id: str) -> bool:
    return any(
        connection.execute(select(exists().where(cast(kept, Text).contains(photo_id)))).scalar()
        for kept in (_CIRCUITS.c.body, CHANGES.c.parts)
    )
