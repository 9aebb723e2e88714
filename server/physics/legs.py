"""Leg currents as phasors at nominal volts.

The two hots of a supply are 120 V to neutral; what differs is the angle between them: 180 degrees
for 120/240 V three-wire, 120 degrees for two legs of a 120/208 V wye, 0 for a set that gives 120 V
only and feeds both legs from one hot. Basic circuit theory; no code rule is used here.
"""

from __future__ import annotations

import cmath
import math
from functools import lru_cache
from typing import Literal

System = Literal["120/240", "120/208", "120"]

NOMINAL_V = 120.0
NOMINAL_240_V = 240.0
_ANGLE_DEG: dict[System, float] = {"120/240": 180.0, "120/208": -120.0, "120": 0.0}


@lru_cache(maxsize=8)
def leg_volts(system: System) -> tuple[complex, complex]:
    """Phasor volts of both legs to neutral. [V].

    >>> [round(v.real) for v in leg_volts("120/240")]
    [120, -120]
    """
    angle = math.radians(_ANGLE_DEG[system])
    return complex(NOMINAL_V), cmath.rect(NOMINAL_V, angle)


@lru_cache(maxsize=8)
def between_volts(system: System) -> float:
    """Volts between the legs: 240, 207.8 or 0. [V].

    >>> round(between_volts("120/208"), 1)
    207.8
    """
    first, second = leg_volts(system)
    gap = abs(first - second)
    return gap if gap > 1e-6 else 0.0


@lru_cache(maxsize=1024)
def amps_per_watt(
    *, system: System, wire: int | None, power_factor: float
) -> tuple[complex, complex]:
    """Phasor amps on both hot wires for one watt of load, lagging.

    ``wire`` is 0 or 1 for a load from that wire to neutral, None for one between the wires (which
    is dead, zero amps, where both wires are one hot).

    >>> a, b = amps_per_watt(system="120/240", wire=None, power_factor=1.0)
    >>> round(240 * abs(a), 6), round(abs(a + b), 6)
    (1.0, 0.0)
    """
    var = math.tan(math.acos(power_factor))
    volts = leg_volts(system)
    if wire is None:
        if between_volts(system) == 0.0:
            return 0j, 0j
        amps = (complex(1.0, var) / (volts[0] - volts[1])).conjugate()
        return amps, -amps
    amps = (complex(1.0, var) / volts[wire]).conjugate()
    return (amps, 0j) if wire == 0 else (0j, amps)


def resistive_share(system: System) -> float:
    """Share of its 240 V power that a resistance draws between these legs.

    >>> round(resistive_share("120/208"), 2)
    0.75
    """
    return (between_volts(system) / NOMINAL_240_V) ** 2
