"""What a plan says before an outage of motors that a set may not start."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import datetime

from server.advise.needed import may_go_off
from server.advise.plan_task import Task, joined
from server.advise.starts import starts_of
from server.simulate.results import Run


def tried_before(run: Run, by: datetime, running: Collection[str]) -> Iterator[Task]:
    """Motors whose start may be more than a set bears: whether they start is tried before.

    With a set ``running`` already it is looked at. What gives comfort alone is left off until it
    has proved to start: a try costs nothing then, and a stalled set costs all that it carries.
    """
    for name, motors in hard_to_start(run).items():
        them = joined(list(motors.values()))
        look = (
            f"See whether these run on {name}, which may not start them"
            if name in running
            else f"Try whether {name} starts, one at a time with little else on"
        )
        spare = [m for i, m in motors.items() if may_go_off(run, run.site.circuit(i))]
        off = f" Leave off in any case unless it was tried and started: {joined(spare)}."
        yield Task(
            by,
            f"{look}: {them}. Leave off while it runs what does not start.{off if spare else ''} "
            "This run has it on: have another way then for what it does.",
        )


def hard_to_start(run: Run) -> dict[str, dict[str, str]]:
    """By set, circuits of a motor that it may not start even alone, and the motor's name.

    Of what one thermostat calls at once, the largest: without it the rest may start.
    """
    found: dict[str, dict[str, str]] = {}
    for one in starts_of(run):
        for start in one.starts:
            if start.kind in {"alone", "linked"} and start.status == "over":
                motor = start.motors[0]
                found.setdefault(one.name, {})[motor.circuit.id] = motor.name
    return found
