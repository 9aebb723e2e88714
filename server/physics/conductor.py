"""A length of wire: resistance, temperature, area, effective impedance.

Plain physics of a round conductor. Figures of particular sizes come from the caller.
"""

from __future__ import annotations

import math


def circle_area_in2(diameter_in: float) -> float:
    """Area of a circle from its diameter. [in²]

    >>> round(circle_area_in2(1.049), 3)
    0.864
    """
    return math.pi / 4.0 * diameter_in**2


def circle_diameter_in(area_in2: float) -> float:
    """Diameter of a circle from its area. [in]

    >>> round(circle_diameter_in(0.3970), 3)
    0.711
    """
    return math.sqrt(4.0 * area_in2 / math.pi)


def resistance_at(*, ohm: float, alpha_per_c: float, from_c: float, to_c: float) -> float:
    """Resistance at another temperature: R2 = R1 (1 + alpha (T2 - T1)). [ohm]

    >>> round(resistance_at(ohm=0.1, alpha_per_c=0.0033, from_c=75, to_c=60), 5)
    0.09505
    """
    return ohm * (1.0 + alpha_per_c * (to_c - from_c))


def effective_impedance(
    *, resistance_ohm: float, reactance_ohm: float, power_factor: float
) -> float:
    """Impedance that the load current sees in phase with the volts: R cos + X sin. [ohm]

    ``power_factor`` is above 0 and at most 1, lagging.

    >>> round(effective_impedance(resistance_ohm=0.054, reactance_ohm=0.052, power_factor=0.85), 3)
    0.073
    """
    if not 0.0 < power_factor <= 1.0:
        raise ValueError(f"power_factor must be above 0 and up to 1, not {power_factor:g}")
    return resistance_ohm * power_factor + reactance_ohm * math.sqrt(1.0 - power_factor**2)


def temperature_factor(*, conductor_c: float, ambient_c: float, basis_c: float) -> float:
    """Share of its ampacity a conductor keeps in another ambient.

    sqrt((Tc - Ta)/(Tc - Tb)): heat flows out in proportion to the temperature difference and is
    made in proportion to the square of the current. 0 where the ambient reaches the conductor.

    >>> round(temperature_factor(conductor_c=90, ambient_c=50, basis_c=30), 2)
    0.82
    """
    return math.sqrt(max(0.0, conductor_c - ambient_c) / (conductor_c - basis_c))
