"""What is done about a propane tank that may give less gas than its set burns."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from server.advise.advice import advice_on
from server.advise.plan_task import Task
from server.simulate.results import Run
from server.simulate.verdict import moment


def gas_before(run: Run, at: datetime) -> Iterator[Task]:
    """To fill the tank, as far as that is known to be enough, while there is time."""
    for tank in advice_on(run).tank_gas:
        if tank.status == "within":
            continue
        yield Task(
            at,
            f"Gallons enough are not gas enough: {tank.words} {tank.fill}".rstrip(),
        )


def gas_during(run: Run) -> Iterator[Task]:
    """To carry less on the set in the hour that draws hardest on its tank."""
    for tank in advice_on(run).tank_gas:
        if tank.status == "within":
            continue
        yield Task(
            tank.at - timedelta(hours=1),
            f"Carry less on {tank.name} until {moment(tank.at)}, and whenever it sounds laboured "
            "or its lights dim: this is the hour in which its tank is drawn on hardest. Read the "
            "gauge first.",
        )
