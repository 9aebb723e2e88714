"""Deleting a site for good: its rows and its history; and the photos that nothing names any more.

A photo is kept before the circuit that names it is saved, and a form that was refused still holds
its name. So a photo is thrown away only once it was taken in, or asked for by a form, more than
``HELD_FOR`` ago and no circuit or history of any site names it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from sqlalchemy import Connection, Text, cast, select

from server.store.tables import CHANGES, PARTS, PHOTOS, SITES

HELD_FOR = timedelta(days=1)
"""A form left open longer is rare; common practice, no source."""
_CIRCUITS = PARTS["circuits"]
_PHOTO = re.compile(r'"photo"\s*:\s*"([0-9a-f]{64})"')


def forget(connection: Connection, site_id: str) -> None:
    """Remove every row of a site, then sweep the photos."""
    connection.execute(CHANGES.delete().where(CHANGES.c.site_id == site_id))
    for name in ("appliances", *(name for name in reversed(PARTS) if name != "appliances")):
        table = PARTS[name]
        connection.execute(table.delete().where(table.c.site_id == site_id))
    connection.execute(SITES.delete().where(SITES.c.id == site_id))
    sweep_photos(connection)


def sweep_photos(connection: Connection) -> None:
    """Remove the photos that no circuit and no history names and no form of the last day holds."""
    old = PHOTOS.c.taken_in_at < datetime.now(UTC) - HELD_FOR
    left = set(connection.execute(select(PHOTOS.c.id).where(old)).scalars())
    if left:
        left.difference_update(_named(connection))
    for photo_id in sorted(left):  # ``old`` again: a form may have asked for it meanwhile
        connection.execute(PHOTOS.delete().where((PHOTOS.c.id == photo_id) & old))


def _named(connection: Connection) -> Iterator[str]:
    for kept in (_CIRCUITS.c.body, CHANGES.c.parts):
        text = cast(kept, Text)
        for body in connection.execute(select(text).where(text.contains('"photo"'))).scalars():
            yield from _PHOTO.findall(body)
