"""One heat store losing to its surroundings: Newton's law of cooling, solved and not stepped.

C dT/dt = P - UA (T - surroundings) gives T(t) = settle + (T0 - settle) exp(-rate t), with
rate = UA/C and settle = surroundings + P/UA. Source: any heat transfer text, such as Incropera and
DeWitt, "Fundamentals of heat and mass transfer", lumped capacitance; from memory.
"""

from __future__ import annotations

import math

from numba import njit

NEVER_H = 1e30
BTU_PER_WH = 3.412142
"""1 Wh = 3.412142 Btu (International Table Btu, ISO 31-4 / NIST SP 811 appendix B)."""

WATER_BTU_PER_GAL_F = 8.33
"""Heat to warm one gallon of water 1 °F, from 8.33 lb/gal at 60 °F. [Btu/gal°F]"""

_SMALL = 1e-3


@njit(cache=True)
def crossing_h(temp: float, settle: float, rate: float, target: float) -> float:
    """Hours until a store that settles reaches a target; never is 1e30. [h]

    >>> round(crossing_h(37.0, 70.0, 1 / 42, 40.0), 2)
    4.0
    """
    if rate < 1e-12:
        return NEVER_H
    above, ahead = temp - settle, target - settle
    if above == 0.0 or ahead == 0.0 or (above > 0.0) != (ahead > 0.0) or abs(ahead) >= abs(above):
        return NEVER_H
    return math.log(above / ahead) / rate


@njit(cache=True)
def drift(temp: float, settle: float, rate: float, hours: float) -> tuple[float, float]:
    """Temperature after so many hours, and its integral over them. [F, F h]"""
    fade = math.exp(-rate * hours)
    area = settle * hours + (temp - settle) * (1.0 - fade) / rate
    return settle + (temp - settle) * fade, area


@njit(cache=True)
def advance(temp: float, slope: float, rate: float, hours: float) -> tuple[float, float]:
    """The same from the slope at the start, which holds at a rate of zero too. [F, F h]

    T = T0 + slope (1 - exp(-rate t)) / rate. Short spans use the series, whose next term is under
    a billionth.
    """
    phi, psi = fading(rate * hours)
    return temp + slope * hours * phi, temp * hours + slope * hours * hours * psi


@njit(cache=True)
def fading(x: float) -> tuple[float, float]:
    """(1 - exp(-x))/x, and what is left of its integral: the two factors of ``advance``.

    >>> fading(0.0)
    (1.0, 0.5)
    """
    if x < _SMALL:
        return 1.0 - x / 2.0 + x * x / 6.0, 0.5 - x / 6.0 + x * x / 24.0
    phi = (1.0 - math.exp(-x)) / x
    return phi, (1.0 - phi) / x
