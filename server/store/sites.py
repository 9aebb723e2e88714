"""The store of sites: list, read, save, undo, redo, delete, restore, forget, duplicate."""

from __future__ import annotations

import re
import secrets
import unicodedata
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any, Literal

from sqlalchemy import Connection, Engine, func, select

from server.domain.base import MAX_NAME
from server.domain.edits import free_name, with_changes
from server.domain.errors import EditError, NotFoundError, SiteFileError, StaleEditError
from server.domain.site import Site
from server.domain.size import refuse_too_large
from server.store import history
from server.store.cache import Read, SiteCache
from server.store.cards import ChangeCard, SiteCard, StoredSite
from server.store.database import empty_log
from server.store.forgetting import forget
from server.store.rows import (
    SITE_KEY,
    Part,
    PartKey,
    Parts,
    parts_of,
    read_parts,
    site_from,
    site_values,
    write_parts,
)
from server.store.tables import CHANGES, PARTS, SITES, AnyRow
from server.store.transactions import glancing, reading, writing

_CIRCUITS = PARTS["circuits"]
_UNDO_LABEL = (
    select(CHANGES.c.label)
    .where((CHANGES.c.site_id == SITES.c.id) & (CHANGES.c.seq == SITES.c.head_seq))
    .scalar_subquery()
)
_REDO_LABEL = history.next_undone(SITES.c.id, SITES.c.head_seq, CHANGES.c.label).scalar_subquery()
_OWN = (
    SITES.c.id,
    SITES.c.revision,
    SITES.c.head_seq,
    SITES.c.saved_at,
    SITES.c.deleted_at,
)
_STATE = select(*_OWN, _UNDO_LABEL.label("undo_label"), _REDO_LABEL.label("redo_label"))
_CARDS = select(
    SITES.c.id,
    SITES.c.name,
    SITES.c.place_name,
    SITES.c.revision,
    SITES.c.saved_at,
    select(func.count())
    .where(_CIRCUITS.c.site_id == SITES.c.id)
    .scalar_subquery()
    .label("circuits"),
    SITES.c.deleted_at,
).order_by(func.lower(SITES.c.name), SITES.c.id)


class SiteStore:
    """Sites in a migrated database.

    Every method is one transaction and may be called from any thread. Methods that name a site
    raise NotFoundError when there is none with that id, or it is deleted. ``on_change`` is told the
    id of every site that was changed or deleted, once that is written.
    """

    def __init__(
        self, engine: Engine, *, on_change: Callable[[str], None] = lambda _: None
    ) -> None:
        self._engine = engine
        self._on_change = on_change
        self._cache = SiteCache()

    def list_sites(self) -> tuple[SiteCard, ...]:
        """Every site that is not deleted, by name."""
        return self._cards(deleted=False)

    def deleted_sites(self) -> tuple[SiteCard, ...]:
        """Every deleted site, by name."""
        return self._cards(deleted=True)

    def get(self, site_id: str) -> StoredSite:
        """The site as last saved."""
        state, read = self._look(site_id)
        return _as_stored(state, read.site)

    def create(self, site: Site, *, label: str = "Created") -> StoredSite:
        """Store a new site under a new id; ``label`` opens its history and cannot be undone.

        Raises
        ------
        SiteFileError   When the site cannot be computed, or is too large for a site file.
        """
        refuse_too_large(site)
        parts = parts_of(site)
        read = Read(site_from(parts), parts)
        site_id = new_site_id(site.name)
        now = datetime.now(UTC)
        state = {"id": site_id, "revision": 1, "head_seq": 0, "saved_at": now, "deleted_at": None}
        with writing(self._engine) as connection:
            connection.execute(SITES.insert(), state | site_values(parts[SITE_KEY]))
            write_parts(connection, site_id, parts, present={})
            opening = {"site_id": site_id, "seq": 0, "label": history.kept_label(label)}
            rest = {"made_at": now, "dropped": False, "parts": []}
            connection.execute(CHANGES.insert(), opening | rest)
            self._cache.put((site_id, 1, now), read)
        return StoredSite(site_id, 1, read.site, None, None, now)

    def save(self, site_id: str, site: Site, *, base_revision: int, label: str) -> StoredSite:
        """Save an edited site as one change; a site without a change is left as it is.

        Raises
        ------
        StaleEditError  When ``base_revision`` is no longer the current one; nothing is written.
        SiteFileError   When the site cannot be computed, or is too large for a site file.
        """
        state, current = self._look(site_id)
        _refuse_stale(state.revision, base_revision)
        refuse_too_large(site)
        parts = parts_of(site, current.parts)
        changed = history.differences(current.parts, parts)
        if not changed:
            return _as_stored(state, current.site)
        read = Read(site_from(parts), parts)
        after = {key: new for key, (_, new) in changed.items()}
        with writing(self._engine) as connection:
            state = self._locked(connection, site_id)
            _refuse_stale(state.revision, base_revision)
            now = datetime.now(UTC)
            seq = history.record(
                connection,
                site_id,
                head_seq=state.head_seq,
                label=label,
                made_at=now,
                changed=changed,
            )
            self._write(connection, state, after, current.parts, head_seq=seq, now=now)
            self._cache.put((site_id, base_revision + 1, now), read)
        self._on_change(site_id)
        done = history.kept_label(label)
        return StoredSite(site_id, base_revision + 1, read.site, done, None, now)

    def undo(self, site_id: str, *, base_revision: int | None = None) -> StoredSite:
        """Take back the newest change that is in force.

        Raises
        ------
        StaleEditError  When ``base_revision`` is given and not the current one.
        EditError       When there is nothing to undo.
        """
        return self._step(site_id, "before", base_revision)

    def redo(self, site_id: str, *, base_revision: int | None = None) -> StoredSite:
        """Do the oldest undone change again.

        Raises
        ------
        StaleEditError  When ``base_revision`` is given and not the current one.
        EditError       When there is nothing to redo.
        """
        return self._step(site_id, "after", base_revision)

    def changes(self, site_id: str, *, limit: int = 200) -> tuple[ChangeCard, ...]:
        """The newest changes of a site, newest first; its creation is the one with seq 0."""
        with reading(self._engine) as connection:
            state = self._state(connection, site_id)
            return history.change_cards(connection, site_id, head_seq=state.head_seq, limit=limit)

    def delete(self, site_id: str) -> None:
        """Put a site away; ``restore`` brings it back with its history."""
        with writing(self._engine) as connection:
            self._locked(connection, site_id)
            self._set(connection, site_id, deleted_at=datetime.now(UTC))
        self._on_change(site_id)

    def restore(self, site_id: str) -> StoredSite:
        """Bring a deleted site back; one that is not deleted is left as it is."""
        with writing(self._engine) as connection:
            self._locked(connection, site_id, deleted_too=True)
            self._set(connection, site_id, deleted_at=None)
        return self.get(site_id)

    def forget(self, site_id: str, *, deleted_at: datetime | None) -> str:
        """Remove a deleted site for good, with its history; its name.

        Its own photos go with it, those of the last day once a day has passed. ``deleted_at`` is
        the moment it was deleted as the list showed it.

        Raises
        ------
        EditError        When the site is not deleted: it must be put away first.
        StaleEditError   When it was brought back and deleted again since; nothing is removed.
        """
        with writing(self._engine) as connection:
            state = self._locked(connection, site_id, deleted_too=True)
            if state.deleted_at is None:
                raise EditError("Delete the site first. Only a deleted one is removed for good.")
            if state.deleted_at != deleted_at:
                raise StaleEditError(
                    "This site was brought back and deleted again after the list was shown, so "
                    "nothing was removed. Look at it again, then decide.",
                    revision=state.revision,
                )
            named = select(SITES.c.name).where(SITES.c.id == site_id)
            name = str(connection.execute(named).scalar_one())
            forget(connection, site_id)
        self._on_change(site_id)
        empty_log(self._engine)
        return name

    def duplicate(self, site_id: str) -> StoredSite:
        """Store a copy of a site under a new id and name, with a history of its own."""
        site = self.get(site_id).site
        taken = {card.name for card in self.list_sites()}
        copy = with_changes(site, name=free_name(f"Copy of {site.name}"[:MAX_NAME], taken))
        return self.create(copy, label=f"Copied from {site.name}")

    def _cards(self, *, deleted: bool) -> tuple[SiteCard, ...]:
        away = SITES.c.deleted_at.is_not(None) if deleted else SITES.c.deleted_at.is_(None)
        with reading(self._engine) as connection:
            return tuple(SiteCard(*row) for row in connection.execute(_CARDS.where(away)))

    def _step(
        self, site_id: str, side: Literal["before", "after"], base_revision: int | None
    ) -> StoredSite:
        with writing(self._engine) as connection:
            state = self._locked(connection, site_id)
            if base_revision is not None:
                _refuse_stale(state.revision, base_revision)
            change, head_seq = _change_to_step(connection, state, side)
            if change is None:
                raise EditError(f"There is nothing to {'undo' if side == 'before' else 'redo'}.")
            touched = history.side_of(change, side)
            current = self._read(connection, state)
            merged = {**current.parts, **touched}
            parts: Parts = {key: part for key, part in merged.items() if part is not None}
            try:
                read = Read(site_from(parts), parts)
            except SiteFileError as error:
                raise EditError(
                    "This change was made by an older version and no longer fits the site."
                ) from error
            now = datetime.now(UTC)
            self._write(connection, state, touched, current.parts, head_seq=head_seq, now=now)
            self._cache.put((site_id, state.revision + 1, now), read)
            stepped = _as_stored(self._state(connection, site_id), read.site)
        self._on_change(site_id)
        return stepped

    def _state(self, connection: Connection, site_id: str) -> AnyRow:
        state = connection.execute(_STATE.where(SITES.c.id == site_id)).one_or_none()
        return _found(state, site_id)

    def _locked(self, connection: Connection, site_id: str, *, deleted_too: bool = False) -> AnyRow:
        query = select(*_OWN).where(SITES.c.id == site_id).with_for_update()
        return _found(connection.execute(query).one_or_none(), site_id, deleted_too=deleted_too)

    def _look(self, site_id: str) -> tuple[AnyRow, Read]:
        with glancing(self._engine) as connection:
            state = self._state(connection, site_id)
        read = self._cache.get(_key(state))
        if read is not None:
            return state, read
        with reading(self._engine) as connection:
            state = self._state(connection, site_id)
            return state, self._read(connection, state)

    def _read(self, connection: Connection, state: AnyRow) -> Read:
        read = self._cache.get(_key(state))
        if read is None:
            parts = read_parts(connection, state.id)
            read = Read(site_from(parts), parts)
            self._cache.put(_key(state), read)
        return read

    def _write(
        self,
        connection: Connection,
        state: AnyRow,
        touched: Mapping[PartKey, Part | None],
        present: Parts,
        *,
        head_seq: int,
        now: datetime,
    ) -> None:
        own = touched.get(SITE_KEY)
        write_parts(connection, state.id, touched, present=present)
        self._set(
            connection,
            state.id,
            revision=state.revision + 1,
            head_seq=head_seq,
            saved_at=now,
            **({} if own is None else site_values(own)),
        )

    def _set(self, connection: Connection, site_id: str, **values: Any) -> None:
        connection.execute(SITES.update().where(SITES.c.id == site_id).values(values))


def new_site_id(name: str) -> str:
    """A readable id from a site's name, with a random end so that it is never taken.

    >>> new_site_id("Fern Hollow, main house")[:-6]
    'fern-hollow-main-house-'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    base = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or "site"
    return f"{base}-{secrets.token_hex(3)}"


def _key(state: AnyRow) -> tuple[str, int, datetime]:
    return state.id, state.revision, state.saved_at


def _found(state: AnyRow | None, site_id: str, *, deleted_too: bool = False) -> AnyRow:
    if state is None or (state.deleted_at is not None and not deleted_too):
        raise NotFoundError(f"There is no site {site_id!r}.")
    return state


def _refuse_stale(current: int, base: int) -> None:
    if current != base:
        raise StaleEditError(
            "This site was saved by somebody else after you opened it, so nothing was written. "
            "Load it again and make your edit there.",
            revision=current,
        )


def _change_to_step(
    connection: Connection, state: AnyRow, side: Literal["before", "after"]
) -> tuple[AnyRow | None, int]:
    """The change to undo or redo, None when there is none, and the head after it."""
    if side == "before":
        if state.head_seq == 0:
            return None, 0
        change = history.change_at(connection, state.id, state.head_seq)
        return change, history.previous_seq(connection, state.id, state.head_seq)
    change = connection.execute(
        history.next_undone(state.id, state.head_seq, CHANGES)
    ).one_or_none()
    return change, 0 if change is None else change.seq


def _as_stored(state: AnyRow, site: Site) -> StoredSite:
    undo_label = state.undo_label if state.head_seq else None
    return StoredSite(state.id, state.revision, site, undo_label, state.redo_label, state.saved_at)
