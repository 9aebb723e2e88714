"""What fills a pit: ground and rain water by themselves, waste only as people use water."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.behaviour import SumpPump
from server.domain.catalogue import pumps_waste
from server.domain.scenario import Scenario
from server.simulate.served import Span


def inflow_gpm(appliance: Appliance, pit: SumpPump, scenario: Scenario) -> float:
    """Water into a pit. A storm's inflow is no part of waste, which nobody makes away from home.

    [gal/min]
    """
    if pumps_waste(appliance):
        return 0.0 if scenario.people == 0 else pit.inflow_gpm
    return pit.inflow_gpm if scenario.pit_inflow_gpm is None else scenario.pit_inflow_gpm


def without_water(
    spans: tuple[tuple[Span, ...], ...], *, steps: int, step_s: float
) -> NDArray[np.bool_]:
    """The steps in which no well gives water, by the spans in which each gives none. (steps,)

    None where the house has no well: its water comes from the street.
    """
    dry = np.full(steps, bool(spans))
    middle_s = (np.arange(steps) + 0.5) * step_s
    for one in spans:
        out = np.zeros(steps, dtype=np.bool_)
        for begin, end in one:
            out |= (begin <= middle_s) & (middle_s < end)
        dry &= out
    return dry
