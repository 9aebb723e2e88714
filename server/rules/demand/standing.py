"""What a manager's setting comes to where it may stand for a calculated load."""

from __future__ import annotations

import math
from dataclasses import dataclass

from server.domain.supply import EnergyGroup
from server.rules.demand.watching import Place
from server.rules.demand.worksheet import round_half_up

LEAST_SETTING_A = 6.0
"""A lower setting runs nothing useful (common practice, no source). [A]"""


@dataclass(frozen=True)
class Standing:
    """A manager's setting beside the load of an element, in one switch position.

    ``setting_a`` is its setting as a continuous load (220.70), in full behind a device listed for
    all of its rating: ``factor`` times the amps that are set. ``rest_a`` is what does not pass
    where it measures, ``measured_at``, and ``beside_a`` what it cannot shed, each by the lightest
    method as it is held against ratings.
    """

    group: EnergyGroup
    place: Place
    measured_at: str
    factor: float
    rest_a: float
    beside_a: float

    @property
    def setting_a(self) -> float:
        """The setting as a continuous load. [A]"""
        return self.factor * (self.group.setting_a or 0.0)

    @property
    def asked_a(self) -> float:
        """The setting with what does not pass where it is held. [A]"""
        return self.setting_a + self.rest_a

    @property
    def counted_a(self) -> float:
        """What it all comes to: a setting holds nothing off that is not under it. [A]"""
        return max(self.asked_a, self.beside_a)

    def most_a(self, limit_a: float) -> int:
        """The highest setting, in whole amperes, within a limit; below 1 where none is. [A]"""
        return math.floor((limit_a - self.rest_a) / self.factor + 1e-9)

    def beside_fits(self, limit_a: float) -> bool:
        """Whether what the manager cannot shed is within a limit."""
        return round_half_up(self.beside_a) <= limit_a

    def fits(self, limit_a: float) -> bool:
        """Whether both its setting and what it cannot shed are within a limit."""
        return round_half_up(self.counted_a) <= limit_a
