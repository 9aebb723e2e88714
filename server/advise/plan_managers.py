"""What a run has load managers hold off while a set runs, and that the house has them fitted."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import datetime

from server.advise.plan_task import Task, joined
from server.domain.circuit import Circuit
from server.domain.supply import EnergyGroup, Generator
from server.domain.topology import sources_of
from server.simulate.results import Run

RETURNS_S = 900.0
"""After a dead bus a manager lets its circuits back one by one, within about so long (common
practice, no source). [s]"""

LEAST_HELD_S = 60.0
"""Shorter than this nobody notices that something waits (common practice, no source). [s]"""


def counted_on(run: Run, used: Collection[Generator], by: datetime) -> Iterator[Task]:
    """That each manager that a run counts on is there, and what it holds off."""
    for group in run.site.energy_groups:
        held = _held_by(run, group, {g.id for g in used})
        if not held:
            continue
        setting = f", set to {group.setting_a:g} A," if group.setting_a is not None else ""
        off = joined([c.name for c in held])
        if group.planned:
            yield Task(
                by,
                f"Have {group.name}{setting} fitted by an electrician: it is only planned, and "
                f"this run counts on it to hold off {off}. Until then this plan does not hold.",
            )
            continue
        yield Task(
            by,
            f"See that {group.name}{setting} is fitted and works: this run counts on it to hold "
            f"off {off}. Where it is only planned, this plan does not "
            "hold yet.",
        )


def waits_words(run: Run, circuit_ids: Collection[str]) -> str:
    """That a manager may have some circuits wait, as it does in this run; may be empty."""
    found = []
    for group in run.site.energy_groups:
        mine = [c for c in run.site.circuits if c.energy_group_id == group.id]
        names = [c.name for c in mine if c.id in circuit_ids and _held_s(run, c) > LEAST_HELD_S]
        if names:
            found.append(
                f" {group.name} holds {joined(names)} off at times in this run: what is started "
                "there may have to wait until it is let on."
            )
    return "".join(found)


def paused_ids(run: Run) -> frozenset[str]:
    """The circuits that a manager keeps off all the while that a set feeds them."""
    pausing = {g.id for g in run.site.energy_groups if g.off_on_generator}
    return frozenset(c.id for c in run.site.circuits if c.energy_group_id in pausing)


def _held_by(run: Run, group: EnergyGroup, set_ids: set[str]) -> list[Circuit]:
    if not set_ids:
        return []
    mine = [c for c in run.site.circuits if c.energy_group_id == group.id]
    if group.off_on_generator:
        return [c for c in mine if set_ids & sources_of(run.site, c)]
    return [c for c in mine if _held_s(run, c) > LEAST_HELD_S]


def _held_s(run: Run, circuit: Circuit) -> float:
    """How long a circuit is held off while the utility is out, but to bring it back in turn. [s]"""
    row = next(i for i, c in enumerate(run.site.circuits) if c.id == circuit.id)
    total_s = 0.0
    for begin, end in run.served.outages:
        for a, b in run.served.held.get(row, ()):
            returns = not run.served.held_off(row, a - 1.0)
            long_s = min(b, end) - max(a, begin, 0.0) - (RETURNS_S if returns else 0.0)
            total_s += max(long_s, 0.0)
    return total_s
