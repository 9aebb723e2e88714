"""The most gas that a propane tank or cylinder gives: liquid boils only as fast as air warms it.

Two printed tables, straight between their rows and columns. Below them the gas falls straight to
none, at the boiling point or empty. Above them nothing is added: the answer is then ``at_least``.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np

from server.physics.engine_set import BTU_PER_UNIT

BTU_PER_FT3 = BTU_PER_UNIT["propane"] / 36.38
"""Propane vapour; 36.38 ft3 a gallon at 60 F, as a propane supplier prints it."""
BOILS_F = -44.0
"""Below it propane gives no gas at all: flameengineering.com/pages/propane-information."""

_TANK_CFH = (50.0, 100.0, 150.0, 200.0, 300.0)
# Least tank, kept at least half full, for each of these withdrawals. [gal] "Required Propane Tank
# Size", owner's manual 206484GS of a standby set, p. 14 (manualsdump.com/en/manuals/107572/14).
_LEAST_TANK_GAL: dict[float, tuple[float, ...]] = {
    -40.0: (600, 1500, 2500, 2500, 5000),
    -30.0: (400, 1000, 1500, 2000, 4000),
    -10.0: (250, 500, 1000, 1200, 2500),
    0.0: (250, 400, 500, 1000, 2000),
    10.0: (115, 250, 500, 750, 1500),
    20.0: (115, 250, 400, 500, 1000),
    32.0: (115, 250, 300, 400, 750),
}
# Level and its K of "capacity = D x L x K", from 10 to 60 % full: manual TP-6727 of a standby set,
# 10/11, appendix D, p. 63. A level gives K / K at half of what half full gives.
_LEVELS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
_K = (0.0, 45.0, 60.0, 70.0, 80.0, 90.0, 100.0)
_K_HALF = 90.0

# Most continuous draw of a 100 lb cylinder, from 100 to 10 lb in it. [Btu/h] The same manual,
# figure 1; flameengineering.com/pages/propane-information prints the same.
_CYLINDER_F = (BOILS_F, 0.0, 20.0, 40.0, 60.0, 70.0)
_CYLINDER_LB = tuple(10.0 * n for n in range(11))
_CYLINDER_BTU_H = tuple(
    (0.0, *(1000.0 * value for value in row))
    for row in (
        (0, 0, 0, 0, 0),
        (28, 38, 49, 60, 66),
        (36, 51, 68, 83, 92),
        (45, 66, 85, 107, 118),
        (55, 79, 105, 131, 141),
        (64, 94, 125, 154, 167),
        (75, 109, 140, 176, 192),
        (83, 122, 160, 199, 214),
        (94, 137, 180, 214, 236),
        (104, 152, 200, 247, 277),
        (113, 167, 214, 277, 300),
    )
)
CYLINDER_GAL = 100.0 / 4.24 / 0.8
"""Room of a 100 lb cylinder, filled to 0.8 with liquid of 4.24 lb/gal."""
LEAST_TANK_GAL = 115.0
"""The smallest tank of the table of tanks; what is smaller is reckoned from the cylinder."""

TANK_SOURCE = (
    "Least tank kept half full: owner’s manual 206484GS of a standby set, p. 14. By level: K of "
    "manual TP-6727 of a standby set, appendix D, p. 63. Below the first size of a row by room to "
    "the power ⅔: common practice, no source. 91,333 Btu/gal by EIA, 36.38 ft³/gal as "
    "a supplier prints it."
)
CYLINDER_SOURCE = (
    "Vaporization of a 100 lb cylinder: manual TP-6727 of a standby set, appendix D, p. 63; "
    "flameengineering.com prints the same. Other sizes by room to the power ⅔, as the surface of "
    "one vessel of like shape: common practice, no source; several give as many times one."
)


@dataclass(frozen=True)
class Vapour:
    """Gas that a vessel gives. [Btu/h] ``at_least``: it lies above the tables, which end there."""

    btu_h: float
    at_least: bool
    source: str


def vapour(*, capacity_gal: float, level: float, outdoor_f: float, vessels: int = 1) -> Vapour:
    """The most gas by the room, its level (0..1 of the room) and the outdoor air.

    None from the boiling point down, and then no table ends there: it is not ``at_least``.

    So many vessels alike, the room of all of them together, give so many times what one does of
    its part of it. From 115 gal up the table of tanks x K(level) / K(half); below it that of
    cylinders x (room / room of 100 lb)^(2/3). The two do not meet: that of tanks is the more
    careful.

    >>> half = vapour(capacity_gal=500, level=0.5, outdoor_f=0)
    >>> round(half.btu_h), half.at_least
    (376579, False)
    >>> pair = vapour(capacity_gal=2 * CYLINDER_GAL, level=0.8, outdoor_f=0, vessels=2)
    >>> round(pair.btu_h)
    226000
    """
    room_gal = capacity_gal / vessels
    of_one = _cylinder if room_gal < LEAST_TANK_GAL else _tank
    one = of_one(room_gal, level, outdoor_f)
    if outdoor_f <= BOILS_F:
        one = Vapour(0.0, False, one.source)
    return Vapour(vessels * one.btu_h, one.at_least, one.source)


def _cylinder(capacity_gal: float, level: float, outdoor_f: float) -> Vapour:
    pounds = 100.0 * level / 0.8
    by_lb = [float(np.interp(outdoor_f, _CYLINDER_F, row)) for row in _CYLINDER_BTU_H]
    one = float(np.interp(pounds, _CYLINDER_LB, by_lb))
    above = outdoor_f > _CYLINDER_F[-1] or pounds > _CYLINDER_LB[-1] + 1e-9
    return Vapour(one * (capacity_gal / CYLINDER_GAL) ** (2.0 / 3.0), above, CYLINDER_SOURCE)


def _tank(capacity_gal: float, level: float, outdoor_f: float) -> Vapour:
    temps = (BOILS_F, *_LEAST_TANK_GAL)
    rows = [0.0, *(_half_full_cfh(capacity_gal, sizes) for sizes in _LEAST_TANK_GAL.values())]
    cfh = float(np.interp(outdoor_f, temps, rows))
    share = float(np.interp(level, _LEVELS, _K)) / _K_HALF
    largest = next(
        sizes[-1] for f, sizes in reversed(_LEAST_TANK_GAL.items()) if f <= max(outdoor_f, -40.0)
    )
    above = outdoor_f > temps[-1] or level > _LEVELS[-1] or capacity_gal > largest
    return Vapour(cfh * share * BTU_PER_FT3, above, TANK_SOURCE)


def _half_full_cfh(capacity_gal: float, sizes: tuple[float, ...]) -> float:
    """Gas of a half-full tank in one row, straight between its sizes.

    Below the first it goes by room^(2/3), as the surface of one vessel of like shape: common
    practice, no source. Of two gas rates told for one size it is the higher.
    """
    if capacity_gal < sizes[0]:
        return _TANK_CFH[0] * float((capacity_gal / sizes[0]) ** (2.0 / 3.0))
    after = bisect_right(sizes, capacity_gal)
    if after == len(sizes):
        return _TANK_CFH[-1]
    (low, high), (less, more) = sizes[after - 1 : after + 1], _TANK_CFH[after - 1 : after + 1]
    return less + (more - less) * (capacity_gal - low) / (high - low)
