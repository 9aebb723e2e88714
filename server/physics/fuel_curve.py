"""What a set burns at each load: straight between the points of its maker's sheet.

Three points or more (as at no load, half and full) tell how an engine's burn bends with load. From
fewer there is only a line, and it is a guess: published gas sets burn 13 to 59 % of their full rate
at no load.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.physics.engine_set import BTU_PER_UNIT, Fuel
from server.physics.fuel_guess import guess_line

Floats = NDArray[np.float64]
RateUnit = Literal["gal/h", "ft3/h", "Btu/h", "kBtu/h"]

ENOUGH_POINTS = 3
"""Points from which a curve is read rather than guessed."""
TWO_POINTS_SOURCE = (
    "A guess: a line through the two points entered; what it burns at no load is not known. Enter "
    "three or more points of the maker’s sheet."
)

BTU_PER_FT3: dict[Fuel, float] = {
    # Natural gas: EIA "Units and calculators explained" (2021). Propane vapour: 36.38 ft3 a gallon
    # at 60 F, as a propane supplier prints it, of EIA's 91,333 Btu a gallon.
    "natural_gas": 1_039.0,
    "propane": 91_333.0 / 36.38,
}


@dataclass(frozen=True)
class FuelCurve:
    """Burn by load: straight between knots, and beyond the last as its last line goes on.

    ``loads_kw`` (two or more) rises from no load; ``rates_per_h`` is as long, in gallons an hour
    or 1000 Btu/h for natural gas. ``points`` is how many points it was read from.
    """

    loads_kw: Floats
    rates_per_h: Floats
    points: int

    @property
    def guess(self) -> bool:
        """Whether it is a line for want of points."""
        return self.points < ENOUGH_POINTS

    @property
    def slopes(self) -> Floats:
        """Burn per kWh on each line. [units/kWh]"""
        return np.asarray(np.diff(self.rates_per_h) / np.diff(self.loads_kw))

    @property
    def at_no_load(self) -> Floats:
        """Where each line would stand at no load, below zero for a steep one. [units/h]"""
        return np.asarray(self.rates_per_h[:-1] - self.slopes * self.loads_kw[:-1])

    def line_of(self, load_kw: Floats) -> NDArray[np.int64]:
        """Which line each load lies on, from 0."""
        return np.searchsorted(self.loads_kw[1:-1], load_kw, side="right").astype(np.int64)

    def rate_per_h(self, load_kw: Floats) -> Floats:
        """Burn at each load, of any shape. [units/h]

        rate = a + b x load, a and b those of the line it lies on.
        """
        line = self.line_of(load_kw)
        return np.asarray(self.at_no_load[line] + self.slopes[line] * load_kw)


def fuel_curve(*, fuel: Fuel, rated_kw: float, points: Sequence[tuple[float, float]]) -> FuelCurve:
    """The curve through points of (load kW, units per hour), of two at one load the last.

    Below the lowest load its first line goes on, no lower than zero at no load. Two points give
    the line through both. One gives the guess line of this fuel and size, times what makes it pass
    there; none the guess line itself, whose source ``guess_line`` gives.

    >>> sheet = fuel_curve(fuel="propane", rated_kw=25, points=[(0, 1.5), (12.5, 2.9), (25, 4.3)])
    >>> sheet.rate_per_h(np.array([3.0, 12.5])).round(3).tolist(), sheet.guess
    ([1.836, 2.9], False)
    """
    known = sorted(dict(points).items())
    guess = guess_line(fuel, rated_kw)
    guess_idle, slope = guess.idle_per_rated_kw * rated_kw, guess.per_kwh
    if len(known) < ENOUGH_POINTS - 1:
        times = 1.0
        if known and known[0][1] > 0.0:
            times = known[0][1] / (guess_idle + slope * known[0][0])
        knots = [(0.0, guess_idle * times), (rated_kw, (guess_idle + slope * rated_kw) * times)]
    else:
        (low, low_rate), (high, high_rate) = known[:2]
        idle = low_rate - (high_rate - low_rate) / (high - low) * low
        knots = known if low == 0.0 else [(0.0, max(0.0, idle)), *known]
    loads, rates = np.array(knots, dtype=np.float64).T
    return FuelCurve(loads, rates, len(known))


def in_own_unit(rate: float, *, fuel: Fuel, unit: RateUnit | None) -> float:
    """A printed rate in the unit its fuel is counted in: gal/h, or 1000 Btu/h of natural gas.

    ``unit`` None is that unit itself.

    Raises
    ------
    ValueError   Where the fuel is not sold so: gas in gallons, a liquid in cubic feet.

    >>> round(in_own_unit(387_000, fuel="propane", unit="Btu/h"), 2)
    4.24
    >>> round(in_own_unit(316, fuel="natural_gas", unit="ft3/h"), 1)
    328.3
    """
    if unit is None:
        return rate
    if unit == "gal/h":
        if fuel == "natural_gas":
            raise ValueError("Natural gas is not counted in gallons.")
        return rate
    if unit == "ft3/h":
        if fuel not in BTU_PER_FT3:
            raise ValueError("A liquid fuel is not counted in cubic feet.")
        return rate * BTU_PER_FT3[fuel] / BTU_PER_UNIT[fuel]
    return rate * (1.0 if unit == "Btu/h" else 1000.0) / BTU_PER_UNIT[fuel]


def curve_as_entered(
    *, fuel: Fuel, rated_kw: float, points: Sequence[tuple[float, float]], unit: RateUnit | None
) -> FuelCurve:
    """The curve through points of (load kW, burn per hour in this unit).

    >>> gas = [(0, 100.0), (10, 200.0)]
    >>> kept = curve_as_entered(fuel="natural_gas", rated_kw=20, points=gas, unit=None)
    >>> kept.rate_per_h(np.array([20.0])).tolist()
    [300.0]

    Raises
    ------
    ValueError   Where the fuel is not sold in this unit.
    """
    own = [(kw, in_own_unit(rate, fuel=fuel, unit=unit)) for kw, rate in points]
    return fuel_curve(fuel=fuel, rated_kw=rated_kw, points=own)


def curve_source(curve: FuelCurve, *, fuel: Fuel, rated_kw: float) -> str:
    """Where the curve of a set comes from, in words."""
    if not curve.guess:
        return f"Straight between the {curve.points} points of the maker’s sheet as entered."
    if curve.points == ENOUGH_POINTS - 1:
        return TWO_POINTS_SOURCE
    line = guess_line(fuel, rated_kw)
    scaled = ", scaled to the one point entered" if curve.points else ""
    return (
        f"A guess: the line from {line.words}{scaled}. Enter three or more points of the maker’s "
        "sheet."
    )
