"""One door for the march to every load that stores something: heat, cold, water or charge."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.water_heater import water_heater

Floats = NDArray[np.float64]

TANK = 5


@njit(cache=True)
def stored(
    kind: int,
    state: Floats,
    params: Floats,
    load_w: float,
    flow_gph: float,
    dt_s: float,
    available: float,
    on_generator: bool,
    ledger: Floats,
) -> float:
    """Mean watts that a load with a store asks for through one cell; advances it. [W]

    ``state``, ``params`` and ``ledger`` are its own rows; the codes are those of ``loads.Model``.
    """
    if kind == TANK:
        return water_heater(
            state, params, params[12], flow_gph, dt_s, available, on_generator, ledger
        )
    return 0.0 * load_w
