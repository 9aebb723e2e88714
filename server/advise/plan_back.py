"""Changing back to the utility by hand, once it has come back to stay."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

from server.advise.plan_fuel import runs_at
from server.advise.plan_switched import ended
from server.advise.plan_task import Task
from server.domain.scenario import Window
from server.domain.supply import Generator
from server.simulate.results import Run


def between(run: Run, used: tuple[Generator, ...], outages: list[Window]) -> Iterator[Task]:
    """Changing back as each outage ends but the last, where the next leaves time for it."""
    wait = timedelta(minutes=run.scenario.hand_return_min)
    for outage, following in pairwise(outages):
        if outage.end + wait >= following.start:
            continue
        for generator in used:
            if runs_at(run, generator, outage.end):
                told = ended(run, generator, runs=True)
                yield from (Task(outage.end, words) for words in told)
