"""The history of a site: what each edit changed, part by part."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from sqlalchemy import Connection, Select, func, select

from server.domain.text import label_text
from server.store.cards import ChangeCard, ChangeState
from server.store.rows import Part, PartKey, Parts
from server.store.tables import CHANGES, AnyRow

Side = Literal["before", "after"]
Differences = dict[PartKey, tuple[Part | None, Part | None]]

MAX_LABEL = 200


def kept_label(label: str) -> str:
    """A label as it is kept: on one line, without odd characters, not too long."""
    return label_text(label)[:MAX_LABEL]


def differences(before: Parts, after: Parts) -> Differences:
    """Parts that differ, each before and after; None where it does not exist."""
    keys = dict.fromkeys((*before, *after))
    pairs = {key: (before.get(key), after.get(key)) for key in keys}
    return {key: (old, new) for key, (old, new) in pairs.items() if old != new}


def side_of(change: AnyRow, side: Side) -> dict[PartKey, Part | None]:
    """The parts a recorded change touched, as they were before or after it."""
    return {(entry["table"], entry["id"]): entry[side] for entry in change.parts}


def record(
    connection: Connection,
    site_id: str,
    *,
    head_seq: int,
    label: str,
    made_at: datetime,
    changed: Differences,
) -> int:
    """Add a change behind all others and return its seq; undone ones can then not come back."""
    own = CHANGES.c.site_id == site_id
    newest = int(connection.execute(select(func.max(CHANGES.c.seq)).where(own)).scalar() or 0)
    if newest > head_seq:
        undone = own & (CHANGES.c.seq > head_seq)
        connection.execute(CHANGES.update().where(undone).values(dropped=True))
    parts = [
        {"table": table, "id": part_id, "before": before, "after": after}
        for (table, part_id), (before, after) in changed.items()
    ]
    values = {"site_id": site_id, "seq": newest + 1, "label": kept_label(label)}
    rest = {"made_at": made_at, "dropped": False, "parts": parts}
    connection.execute(CHANGES.insert(), values | rest)
    return newest + 1


def change_at(connection: Connection, site_id: str, seq: int) -> AnyRow | None:
    """The change with this seq, or None."""
    wanted = (CHANGES.c.site_id == site_id) & (CHANGES.c.seq == seq)
    return connection.execute(select(CHANGES).where(wanted)).one_or_none()


def previous_seq(connection: Connection, site_id: str, head_seq: int) -> int:
    """Seq of the change in force before the newest one; 0 for none."""
    earlier = (CHANGES.c.site_id == site_id) & (CHANGES.c.seq < head_seq) & ~CHANGES.c.dropped
    query = select(CHANGES.c.seq).where(earlier).order_by(CHANGES.c.seq.desc()).limit(1)
    return int(connection.execute(query).scalar() or 0)


def next_undone(site_id: Any, head_seq: Any, *columns: Any) -> Select[Any]:
    """Query for the change that redo would do again."""
    later = (CHANGES.c.site_id == site_id) & (CHANGES.c.seq > head_seq) & ~CHANGES.c.dropped
    return select(*columns).where(later).order_by(CHANGES.c.seq).limit(1)


def change_cards(
    connection: Connection, site_id: str, *, head_seq: int, limit: int
) -> tuple[ChangeCard, ...]:
    """The newest changes, newest first."""
    columns = (CHANGES.c.seq, CHANGES.c.label, CHANGES.c.made_at, CHANGES.c.dropped)
    query = select(*columns).where(CHANGES.c.site_id == site_id)
    rows = connection.execute(query.order_by(CHANGES.c.seq.desc()).limit(limit))
    return tuple(
        ChangeCard(r.seq, r.label, r.made_at, _state(r.seq, head_seq, dropped=r.dropped))
        for r in rows
    )


def _state(seq: int, head_seq: int, *, dropped: bool) -> ChangeState:
    if dropped:
        return "dropped"
    return "undone" if seq > head_seq else "done"
