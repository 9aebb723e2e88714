"""Fuel by a set through a run: what is burnt minute by minute, and when nothing is left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.domain.scenario import Scenario
from server.domain.supply import Generator
from server.physics.engine_set import UNIT_OF_FUEL
from server.physics.fuel_curve import FuelCurve
from server.physics.fuel_guess import GUESS_SHARE
from server.simulate.burn import burn_per_h, curve_of, other_per_h
from server.simulate.cells import Cells
from server.simulate.timeline import Interval

Floats = NDArray[np.float64]

NEVER_S = np.inf


@dataclass(frozen=True)
class Stock:
    """The fuel of one set as the sum below takes it. [gal]

    ``other_per_h`` is what other appliances draw out of it all the while. [gal/h] ``running``
    (cells,) is the share of each cell that the set turns; ``came`` (cells,) what is delivered in
    each. The tank holds no more than ``full``.
    """

    generator: Generator
    at_start: float
    full: float
    curve: FuelCurve
    other_per_h: float
    running: Floats
    came: Floats
    deliveries_s: tuple[float, ...]

    def next_delivery_s(self, after_s: float) -> float:
        """When fuel next comes after it ended; infinite where none does. [s]"""
        return min((at for at in self.deliveries_s if at > after_s), default=NEVER_S)

    def burnt(self, cells: Cells, watts: Floats) -> float:
        """What the set burns in all for watts given (cells,), were there always enough. [gal]"""
        rate = burn_per_h(self.curve, watts=watts, running=self.running)
        return float((rate * cells.dt_s).sum()) / 3600.0

    def dry_at_s(self, cells: Cells, watts: Floats) -> float:
        """When nothing is left, for watts given (cells,); infinite where it never is. [s]

        So too where it ends as the set only cools down and nothing draws on it or its tank again.
        """
        return self._ends_s(cells, watts)

    def dry_between_s(self, cells: Cells, watts: Floats) -> tuple[float, float]:
        """When nothing is left by the high guess of the set's burn, and by the low one. [s]"""
        high, low = (self._ends_s(cells, watts, 1.0 + GUESS_SHARE * way) for way in (1, -1))
        return high, low

    def poured_and_least(self, cells: Cells, watts: Floats) -> tuple[float, float]:
        """What of the deliveries found room in the tank, and the least there was in it. [gal]"""
        return self._followed(cells, watts)[1:]

    def lacking(self, cells: Cells, watts: Floats) -> float:
        """The most that is missing at any time for watts given (cells,), were none stopped. [gal]

        What comes later does not help what runs before it.
        """
        rate = burn_per_h(self.curve, watts=watts, running=self.running) + self.other_per_h
        left = least = self.at_start
        burnt = rate * cells.dt_s / 3600.0
        for gone, came in zip(burnt.tolist(), self.came.tolist(), strict=True):
            left += min(came, max(self.full - left, 0.0)) - gone
            least = min(least, left)
        return max(-least, 0.0)

    def _ends_s(self, cells: Cells, watts: Floats, times: float = 1.0) -> float:
        at_s = self._followed(cells, watts, times)[0]
        wanted = self.other_per_h > 0.0 or bool(watts[cells.start_s + cells.dt_s > at_s].any())
        return at_s if wanted else NEVER_S

    def _followed(
        self, cells: Cells, watts: Floats, times: float = 1.0
    ) -> tuple[float, float, float]:
        found: tuple[float, float, float] = _follow(
            cells.start_s,
            cells.dt_s,
            burn_per_h(self.curve, watts=watts, running=self.running) * times,
            self.other_per_h,
            self.came,
            self.at_start,
            self.full,
        )
        return found


def stock_of(
    generator: Generator, scenario: Scenario, cells: Cells, running: Floats
) -> Stock | None:
    """The fuel of a set in a scenario, None where it has no tank that could run dry.

    ``running`` (cells,) is the share of each cell that it turns.
    """
    tank = generator.tank
    if tank is None or UNIT_OF_FUEL[generator.fuel] != "gal":
        return None
    full = tank.capacity_gal * tank.fill_share
    came = np.zeros(len(cells.dt_s))
    inside: list[float] = []
    for delivery in scenario.deliveries_to(generator.id):
        at_s = (delivery.at - scenario.start).total_seconds()
        if at_s < cells.start_s[-1] + cells.dt_s[-1] and delivery.gallons > 0.0:
            came[np.searchsorted(cells.start_s, at_s, side="right") - 1] += delivery.gallons
            inside.append(at_s)
    return Stock(
        generator=generator,
        at_start=full * scenario.fuel_share_of(generator.id),
        full=full,
        curve=curve_of(generator),
        other_per_h=other_per_h(generator),
        running=running,
        came=came,
        deliveries_s=tuple(sorted(inside)),
    )


def share_inside(cells: Cells, spans: tuple[Interval, ...]) -> Floats:
    """Share of each cell that lies in these intervals, which do not overlap."""
    inside = np.zeros(len(cells.dt_s))
    end_s = cells.start_s + cells.dt_s
    for begin, finish in spans:
        overlap = np.minimum(end_s, finish) - np.maximum(cells.start_s, begin)
        inside += np.maximum(overlap, 0.0)
    return np.asarray(inside / cells.dt_s)


@njit(cache=True, nogil=True)
def _follow(
    start_s: Floats,
    dt_s: Floats,
    rate_per_h: Floats,
    other_per_h: float,
    came: Floats,
    at_start: float,
    full: float,
) -> tuple[float, float, float]:
    """When a set that turns has nothing left, what was poured in until then, the least. [s, gal]"""
    left, poured, least = at_start, 0.0, at_start
    for c in range(dt_s.shape[0]):
        if came[c] > 0.0:
            room = min(came[c], max(full - left, 0.0))
            left += room
            poured += room
        both_per_h = rate_per_h[c] + other_per_h
        burnt = both_per_h * dt_s[c] / 3600.0
        if burnt > left + 1e-9 and rate_per_h[c] > 0.0:
            return start_s[c] + left / both_per_h * 3600.0, poured, 0.0
        left = max(left - burnt, 0.0)
        least = min(least, left)
    return np.inf, poured, least
