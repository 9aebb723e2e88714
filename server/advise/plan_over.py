"""When a run passes a limit while the utility is out, and what is done about it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.simulate.results import LimitPoint, Run


def passed_while_out(run: Run) -> bool:
    """Whether any limit is passed in a minute in which the utility is out."""
    return any(_over(run, row).any() for row in range(len(run.points)))


def _over(run: Run, row: int) -> NDArray[np.bool_]:
    """The steps without the utility in which a limit is passed on either leg."""
    point: LimitPoint = run.points[row]
    legs = run.amps[row, :2].max(axis=0)
    passed: NDArray[np.bool_] = legs > point.leg_rating_a
    return passed & _steps_out(run)


def _steps_out(run: Run) -> NDArray[np.bool_]:
    """The steps that lie in an outage."""
    middle_s = (np.arange(run.scenario.steps) + 0.5) * run.scenario.step_s
    out = np.zeros(run.scenario.steps, dtype=np.bool_)
    for begin, end in run.served.outages:
        out |= (begin <= middle_s) & (middle_s < end)
    return out
