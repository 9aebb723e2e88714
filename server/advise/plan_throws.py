"""Moves of a double-throw by hand: which breakers stand behind it, and which of them stay open."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import datetime

from server.advise.idle_parts import bare_throws, behind
from server.advise.plan_task import Task, joined
from server.domain.cautions import THROWING
from server.domain.circuit import Circuit
from server.simulate.results import Run
from server.simulate.verdict import moment

HEAVY_W = 1000.0
"""What comes on one at a time (common practice, no source). [W]"""


_BARE = "nothing draws power behind it, so the throws of this scenario would do nothing."


def throws(run: Run, off_ids: Collection[str]) -> Iterator[tuple[datetime, Task]]:
    """Every move of a double-throw that a person makes, with its moment.

    ``off_ids`` are circuits that stay off while a set runs. What is done as at an earlier move
    is told there; the later one names its time. A switch behind which nothing draws power is left
    alone, which is told once.
    """
    stands = {throw.id: throw.resting for throw in run.site.double_throws}
    bare = {throw.id for throw in bare_throws(run.site)}
    left: set[str] = set()
    told: dict[tuple[str, str], datetime] = {}
    for move in sorted(run.scenario.switch_moves, key=lambda m: m.at):
        if stands.get(move.switch_id) == move.position:
            continue
        stands[move.switch_id] = move.position
        if move.switch_id in bare:
            if move.switch_id not in left:
                name = run.site.name_of[move.switch_id]
                yield move.at, Task(move.at, f"Leave {name} as it stands: {_BARE}")
            left.add(move.switch_id)
            continue
        to = move.position.replace("_", "-")
        after = behind(run.site, move.switch_id)
        name = run.site.name_of[move.switch_id]
        which = f" ({', '.join(c.name for c in after)})" if after else ""
        out = any(w.start <= move.at < w.end for w in run.scenario.outages)
        closed = _closed(run, after, off_ids if out else (), on_set=move.position != "normal")
        first = told.setdefault((move.switch_id, f"{to} {closed}"), move.at)
        if first != move.at:
            which, closed = "", f"close them as at {moment(first)}."
        words = f"Open the load breakers behind {name}{which}, throw it to {to}, then {closed}"
        yield move.at, Task(move.at, words, str(THROWING))


def _closed(run: Run, after: list[Circuit], off_ids: Collection[str], *, on_set: bool) -> str:
    """What of the circuits behind is closed where a set may carry them."""
    off = [c.name for c in after if c.id in off_ids]
    words = "close them one at a time."
    if off:
        left = len(off) < len(after)
        words = f"close {'the others one at a time' if left else 'none of them'}: {joined(off)} "
        words += f"{'stays' if len(off) == 1 else 'stay'} off until the end."
    rows = {c.id: row for row, c in enumerate(run.site.circuits)}
    heavy = [
        c.name
        for c in after
        if c.id not in off_ids and float(run.wanted_w[rows[c.id]].max(initial=0.0)) >= HEAVY_W
    ]
    if on_set and len(heavy) > 1 and run.verdict.over:
        words += (
            f" A limit is passed in this run: let only one of {joined(heavy)} run at a time while "
            "a set carries them."
        )
    return words
