"""What the store hands out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from server.domain.site import Site

ChangeState = Literal["done", "undone", "dropped"]


@dataclass(frozen=True)
class SiteCard:
    """A site in a list. Times are in UTC; ``deleted_at`` is None for one that is not deleted."""

    id: str
    name: str
    place: str
    revision: int
    saved_at: datetime
    circuits: int
    deleted_at: datetime | None


@dataclass(frozen=True)
class StoredSite:
    """A site as saved.

    ``revision`` rises with every write, undo and redo included; an edit names the one it began
    from. ``undo_label`` and ``redo_label`` say what undo and redo would do, None for nothing.
    """

    id: str
    revision: int
    site: Site
    undo_label: str | None
    redo_label: str | None
    saved_at: datetime


@dataclass(frozen=True)
class ChangeCard:
    """One edit in a site's history: in force, undone, or undone and passed by."""

    seq: int
    label: str
    made_at: datetime
    state: ChangeState
