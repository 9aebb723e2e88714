"""Motors that start at once whenever a set takes over by itself, and what keeps them apart."""

from __future__ import annotations

from collections.abc import Iterator

from server.advise.plan_task import Task, joined
from server.advise.starts import SetStarts, starts_of
from server.simulate.results import Run


def starts_apart(run: Run) -> Iterator[Task]:
    """A task for each set on which all that starts at once may be too much."""
    yield from (Task(None, words) for one in starts_of(run) if (words := apart_words(one)))


def apart_words(one: SetStarts) -> str:
    """Which breakers are opened before a set is stopped; empty where it bears all at once.

    Of a set started by hand the breakers are closed one at a time anyway.
    """
    hard = [s for s in one.starts if s.kind == "forced" and s.status == "over"]
    if one.generator.start != "automatic" or not hard:
        return ""
    worst = max(hard, key=lambda s: s.dip)
    hardest = sorted(worst.motors, key=lambda m: -m.winding_kva)
    names = list(dict.fromkeys(m.circuit.name for m in hardest[:-1] or hardest))
    them = "it" if len(names) == 1 else "them one at a time"
    return (
        f"{worst.names} start at once whenever {one.name} takes over, and it may not bear that: "
        f"before you stop it, open the breakers of {joined(names)}, and close {them} once it runs "
        "again. When it started by itself and they do not run, do the same."
    )
