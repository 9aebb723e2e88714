"""Motors that start at once whenever a set takes over by itself, and what keeps them apart."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from server.advise.plan_pits import has_sump
from server.advise.plan_task import Task, joined
from server.advise.starts import SetStarts, Start, starts_of
from server.domain.catalogue import KINDS
from server.simulate.results import Run


def starts_apart(run: Run) -> Iterator[Task]:
    """A task for each set on which all that starts at once may be too much."""
    wet = pits_of(run)
    yield from (Task(None, words) for one in starts_of(run) if (words := apart_words(one, wet)))


def before_apart(run: Run, at: datetime) -> Iterator[Task]:
    """The same ahead of an outage whose time is known, as a set takes over by itself then too."""
    wet = pits_of(run)
    for one in starts_of(run):
        waits = {m.name: m.appliance.restart_delay_s for m in one.motors}
        waits = {name: wait_s for name, wait_s in waits.items() if wait_s > 0.0}
        if waits and one.generator.start == "automatic":
            told = [f"{name} {wait_s:g} s" for name, wait_s in waits.items()]
            yield Task(
                at,
                f"This run counts on delays as entered ({', '.join(told)}): they must be built in, "
                f"by a relay or the device itself. Try it with {one.name} while the utility is on; "
                "where one does not wait, have a relay fitted that does, and until then open its "
                f"breaker before an outage that is announced and close it once {one.name} runs.",
            )
        opened = _opened(one, wet)
        if opened:
            yield Task(
                at,
                f"Where you know when the power goes, open just before it the breakers of "
                f"{joined(opened)}: what starts at once may be more than {one.name} bears. "
                f"{_closing(opened)} once it runs.",
            )


def pits_of(run: Run) -> frozenset[str]:
    """Names of the circuits whose pit runs over in a run."""
    pits = {pit.appliance_id for pit in run.verdict.pits}
    return frozenset(c.name for c in run.site.circuits for a in c.appliances if a.id in pits)


def apart_words(one: SetStarts, wet: frozenset[str] = frozenset()) -> str:
    """Which breakers are opened before a set is stopped; empty where it bears all at once.

    Of a set started by hand the breakers are closed one at a time anyway. ``wet`` are the circuits
    whose pits run over: they come first, as does every pit that fills by itself.
    """
    opened = _opened(one, wet)
    if not opened:
        return ""
    worst = max(_hard(one), key=lambda s: s.dip)
    closing = _closing(opened)
    return (
        f"{worst.names} start at once whenever {one.name} takes over, and it may not bear that: "
        f"before you stop it, open the breakers of {joined(opened)}, and "
        f"{closing[:1].lower()}{closing[1:]} once it runs again. When it started by itself and "
        "they do not run, do the same."
    )


def _hard(one: SetStarts) -> list[Start]:
    if one.generator.start != "automatic":
        return []
    return [s for s in one.starts if s.kind == "forced" and s.status == "over"]


def _opened(one: SetStarts, wet: frozenset[str]) -> list[str]:
    """The circuits that are opened, in the order they are closed: pits, medical, the rest."""
    hard = _hard(one)
    if not hard:
        return []
    worst = max(hard, key=lambda s: s.dip)
    hardest = sorted(worst.motors, key=lambda m: -m.winding_kva)
    motors = hardest[:-1] or hardest
    health = {
        m.circuit.name for m in motors if any(_of_health(a.kind) for a in m.circuit.appliances)
    }
    pits = wet | {m.circuit.name for m in motors if has_sump(m.circuit)}
    names = dict.fromkeys(m.circuit.name for m in motors)
    return sorted(names, key=lambda name: (name not in pits, name not in health))


def _of_health(kind_id: str) -> bool:
    kind = KINDS.get(kind_id)
    return kind is not None and kind.group == "Health"


def _closing(opened: list[str]) -> str:
    return "Close it" if len(opened) == 1 else "Close them one at a time in this order"
