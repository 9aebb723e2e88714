"""What many draws say together: how likely each limit is to be passed, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from server.domain.base import LEGS, Leg
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.working import Term, Working
from server.simulate.burn import curve_of
from server.simulate.chance import Chance
from server.simulate.ensemble import Draws
from server.simulate.harm_grade import harm_clause, harm_keys
from server.simulate.limits import limit_points
from server.simulate.outcome import counts_by_battery, harmed_on, medical_device, waits_too_long
from server.simulate.pit_over import LEAST_SPILT_GAL
from server.simulate.placing import Placing, placing
from server.simulate.results import LimitPoint
from server.simulate.uncounted import uncounted_words
from server.simulate.weather import warmest_f

Floats = NDArray[np.float64]

CHECKPOINTS = 12


@dataclass(frozen=True)
class Spread:
    """How a figure falls over the draws.

    ``p95`` is the least figure that at least 95 of 100 draws do not pass, ``median`` the same for
    50. The true 95th lies between ``p95_low`` and ``p95_high`` with 95 % confidence; None where
    there are too few draws to say.
    """

    median: float
    p95: float
    worst: float
    worst_draw: int
    p95_low: float | None
    p95_high: float | None


@dataclass(frozen=True)
class LimitOdds:
    """One limit point over all draws. ``legs`` are the peaks of L1 and L2. [A]

    ``placing`` says where the draw that a run shows stands among them by its greater leg, where it
    is one of them.
    """

    point: LimitPoint
    legs: tuple[Spread, Spread]
    crossed: Chance
    crossed_legs: tuple[Chance, Chance]
    working: Working
    placing: Placing | None = None

    @property
    def worst_leg(self) -> Leg:
        """The leg whose 95th is nearer to (or further past) the limit."""
        return LEGS[0] if self.legs[0].p95 >= self.legs[1].p95 else LEGS[1]

    @property
    def worst(self) -> Spread:
        """The spread of that leg."""
        return self.legs[LEGS.index(self.worst_leg)]

    @property
    def percent(self) -> float:
        """Its 95th as a share of the limit. [%]"""
        return 100.0 * self.worst.p95 / self.point.leg_rating_a


@dataclass(frozen=True)
class FuelOdds:
    """How likely the fuel of a set is to end early; hours from the start of the run. [h]

    ``guess`` where what it burns is one, which the draws do not vary.
    """

    generator_id: str
    name: str
    early: Chance
    earliest_h: float | None
    median_h: float | None
    guess: bool = False


@dataclass(frozen=True)
class ServiceOdds:
    """How likely a circuit is to want power and get none, and to be dead longer than it can wait.

    ``without`` counts any want at all, however short; ``spread_min`` is how long. [min] With
    ``spared`` it is in none of the draws dark while what must be served on it is in use: only
    other things on it ask in vain. ``pit_over`` counts draws in which a pit on it runs over.
    ``what`` names what on it comes to harm without power, empty where that is not known.
    ``gap_min`` is the longest gap in 95 of 100, or with ``by_battery`` the most taken out of its
    own battery, with hours before a run that begins inside an outage. [min]
    """

    circuit_id: str
    name: str
    must_serve: bool
    without: Chance
    too_long: Chance
    pit_over: Chance
    spread_min: Spread
    spared: bool = False
    what: str = ""
    gap_min: float = 0.0
    by_battery: bool = False

    @property
    def subject(self) -> str:
        """The circuit, with what matters on it where its name does not tell."""
        told = not self.what or self.what.casefold() in self.name.casefold()
        return self.name if told else f"{self.what} on {self.name}"


@dataclass(frozen=True)
class HarmOdds:
    """How likely a harm that fails a run is to come, and the hour in which it first does.

    ``clause`` says it inside a sentence; ``earliest_h`` counts from the start of the run. [h]
    """

    kind: str
    element_id: str
    clause: str
    comes: Chance
    earliest_h: float


@dataclass(frozen=True)
class Settling:
    """The 95th of one leg after so many draws, to see it settle. [A]"""

    point_id: str
    leg: Leg
    draws: tuple[int, ...]
    p95_a: tuple[float, ...]


@dataclass(frozen=True)
class Odds:
    """Many draws of one scenario, summed up.

    ``any_over`` counts draws in which any limit is passed. ``short`` says what gas is surely not
    there in the draw that a run shows, and what motor never starts; ``provided`` what every draw
    takes for granted; ``left`` what outages before that run left in it,
    ``uncounted`` what of the site no draw counts, empty where all is.
    """

    draws: int
    seed: int
    any_over: Chance
    limits: tuple[LimitOdds, ...]
    fuel: tuple[FuelOdds, ...]
    service: tuple[ServiceOdds, ...]
    settling: Settling | None
    harms: tuple[HarmOdds, ...] = ()
    short: tuple[str, ...] = ()
    provided: str = ""
    left: tuple[str, ...] = ()
    uncounted: str = ""

    @property
    def fails(self) -> bool:
        """Whether in any draw a limit is passed, fuel or gas is short, or harm comes."""
        if self.harms or self.short:
            return True
        ends = any(one.early.hits for one in self.fuel)
        fares = any(s.too_long.hits or s.pit_over.hits for s in self.service)
        return bool(self.any_over.hits) or ends or fares

    def limit(self, point_id: str) -> LimitOdds:
        """The odds of one limit point."""
        return next(r for r in self.limits if r.point.id == point_id)


def odds_of(site: Site, scenario: Scenario, draws: Draws, *, seed: int | None = None) -> Odds:
    """Sum up the draws of a scenario on a site."""
    points = limit_points(site, outdoor_high_f=warmest_f(scenario.weather))
    rating = np.array([p.leg_rating_a for p in points])
    over = draws.peaks_a[:, :, :2] > rating[:, None] * (1.0 + 1e-8)
    count = len(draws)
    limits = []
    for i, point in enumerate(points):
        first, second = (_spread(draws.peaks_a[:, i, k], draws) for k in (0, 1))
        hits = int(over[:, i].any(axis=1).sum())
        limits.append(
            LimitOdds(
                point=point,
                legs=(first, second),
                crossed=Chance(hits, count),
                crossed_legs=(
                    Chance(int(over[:, i, 0].sum()), count),
                    Chance(int(over[:, i, 1].sum()), count),
                ),
                working=_chance_working(point, Chance(hits, count)),
                placing=placing(draws.number, draws.peaks_a[:, i, :2].max(axis=1)),
            )
        )
    return Odds(
        draws=count,
        seed=scenario.seed if seed is None else seed,
        any_over=Chance(int(over.any(axis=(1, 2)).sum()), count),
        limits=tuple(limits),
        fuel=_fuel(site, draws),
        service=_service(site, draws),
        settling=_settling(tuple(limits), draws),
        harms=_harms(site, draws),
        uncounted=uncounted_words(site) if scenario.outages else "",
    )


def quantile(values: NDArray[np.floating], share: float) -> float:
    """The least value that at least this share of the values do not pass.

    >>> quantile(np.arange(1.0, 101.0), 0.95)
    95.0
    """
    return float(np.quantile(values, share, method="inverted_cdf"))


def _spread(values: NDArray[np.floating], draws: Draws) -> Spread:
    low, high = _bounds_of_p95(np.sort(values))
    worst = int(np.argmax(values))
    return Spread(
        median=quantile(values, 0.5),
        p95=quantile(values, 0.95),
        worst=float(values[worst]),
        worst_draw=int(draws.number[worst]),
        p95_low=low,
        p95_high=high,
    )


def _bounds_of_p95(ordered: NDArray[np.floating]) -> tuple[float | None, float | None]:
    """The order statistics between which the true 95th lies with 95 % confidence."""
    low, high = _ranks_of_p95(len(ordered))
    return (
        None if low is None else float(ordered[low - 1]),
        None if high is None else float(ordered[high - 1]),
    )


@lru_cache(maxsize=64)
def _ranks_of_p95(n: int) -> tuple[int | None, int | None]:
    """Which of n ordered draws those are, from 1; None where there is none.

    How many of n draws fall below the 95th is a binomial count: past either rank it comes in 2.5 %
    of all cases at most. Source: W. J. Conover, "Practical nonparametric statistics", confidence
    interval for a quantile; from memory.

    >>> _ranks_of_p95(71), _ranks_of_p95(72), _ranks_of_p95(100)
    ((63, None), (64, 72), (90, 100))
    """
    below = np.arange(1, n + 1)
    steps = np.log((n - below + 1) / below * (0.95 / 0.05))
    chance = np.exp(n * math.log(0.05) + np.append(0.0, np.cumsum(steps)))
    less, at_least = np.cumsum(chance) - chance, np.cumsum(chance[::-1])[::-1]
    low = int(np.flatnonzero(less <= 0.025)[-1])
    high = np.flatnonzero(at_least <= 0.025)
    return low or None, int(high[0]) if high.size else None


def _chance_working(point: LimitPoint, chance: Chance) -> Working:
    low, high = chance.between
    return Working(
        title=f"{point.name}, chance to be passed",
        value=100.0 * chance.share,
        unit="%",
        formula="draws whose worst one-minute mean is past the limit / draws",
        terms=(
            Term("draws past the limit", chance.hits, "", "this simulation"),
            Term("draws", chance.draws, "", "this simulation"),
            Term("limit", point.leg_rating_a, "A", point.working.title),
            Term("standard error", 100.0 * chance.standard_error, "%", "sqrt(p (1 − p) / draws)"),
            Term("true chance, at least", 100.0 * low, "%", "95 % confidence"),
            Term("true chance, at most", 100.0 * high, "%", "95 % confidence"),
        ),
        source="A count over simulated draws; the interval is Wilson’s (JASA 22, 1927).",
    )


def _fuel(site: Site, draws: Draws) -> tuple[FuelOdds, ...]:
    found = []
    for g, generator in enumerate(site.generators):
        if generator.tank is None:
            continue
        ends_h = draws.dry_s[:, g] / 3600.0
        early = ends_h[np.isfinite(ends_h)]
        found.append(
            FuelOdds(
                generator_id=generator.id,
                name=generator.name,
                early=Chance(len(early), len(draws)),
                earliest_h=float(early.min()) if early.size else None,
                median_h=quantile(early, 0.5) if early.size else None,
                guess=curve_of(generator).guess,
            )
        )
    return tuple(found)


def _service(site: Site, draws: Draws) -> tuple[ServiceOdds, ...]:
    """Every must-serve circuit, and every other that ever went without."""
    found = []
    for i, circuit in enumerate(site.circuits):
        wanted_s, gap_min = draws.unserved_s[:, i], draws.gap_s[:, i] / 60.0
        must = circuit.load_class == "must_serve" or bool(medical_device(circuit))
        over = Chance(int((draws.spilt_gal[:, i] >= LEAST_SPILT_GAL).sum()), len(draws))
        if not must and not wanted_s.any() and not over.hits:
            continue
        too_long = sum(
            waits_too_long(circuit, gap, unserved_min=wanted)
            for gap, wanted in zip(gap_min.tolist(), (wanted_s / 60.0).tolist(), strict=True)
        )
        found.append(
            ServiceOdds(
                circuit_id=circuit.id,
                name=circuit.name,
                must_serve=must,
                without=Chance(int((wanted_s > 0.0).sum()), len(draws)),
                too_long=Chance(too_long, len(draws)),
                pit_over=over,
                spread_min=_spread(wanted_s / 60.0, draws),
                spared=must and bool(wanted_s.any()) and not gap_min.any(),
                what=medical_device(circuit) or harmed_on(circuit),
                gap_min=quantile(gap_min, 0.95),
                by_battery=counts_by_battery(circuit),
            )
        )
    return tuple(found)


def _harms(site: Site, draws: Draws) -> tuple[HarmOdds, ...]:
    """Every harm that came in any draw, the likeliest in front."""
    found = []
    for i, (kind, element_id) in enumerate(harm_keys(site)):
        at_s = draws.harm_s[:, i]
        hits = int(np.isfinite(at_s).sum())
        if hits:
            clause = harm_clause(site, kind, element_id)
            chance = Chance(hits, len(draws))
            found.append(HarmOdds(kind, element_id, clause, chance, float(at_s.min()) / 3600.0))
    return tuple(sorted(found, key=lambda one: -one.comes.hits))


def _settling(limits: tuple[LimitOdds, ...], draws: Draws) -> Settling | None:
    """The running 95th of the shared limit that is nearest to being passed."""
    shared = [i for i, r in enumerate(limits) if r.point.kind != "circuit_breaker"]
    if not shared:
        return None
    decides = max(shared, key=lambda i: limits[i].percent)
    leg = limits[decides].worst_leg
    values = draws.peaks_a[:, decides, LEGS.index(leg)]
    steps = np.unique(np.linspace(0, len(draws), CHECKPOINTS + 1).astype(int)[1:]).tolist()
    steps = [n for n in steps if n]
    return Settling(
        point_id=limits[decides].point.id,
        leg=leg,
        draws=tuple(steps),
        p95_a=tuple(quantile(values[:n], 0.95) for n in steps),
    )
