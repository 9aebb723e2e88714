"""What the API and the terminal say of many draws, figure by figure."""

from __future__ import annotations

from datetime import datetime, timedelta

from server.domain.base import Leg
from server.domain.cautions import result_cautions
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.chance import Chance
from server.simulate.odds import Odds
from server.simulate.odds_words import odds_sentence
from server.simulate.results import PointKind
from server.simulate.views import Figure, ScenarioView, View, WorkingView


class ChanceView(View):
    """In how many draws something happened, and where the true chance lies with 95 % confidence."""

    hits: int
    draws: int
    share: Figure
    standard_error: Figure
    at_least: Figure
    at_most: Figure


class SpreadView(View):
    """How a figure falls over the draws; ``p95`` is not passed in 95 of 100 of them."""

    median: Figure
    p95: Figure
    worst: Figure
    worst_draw: int
    p95_low: Figure
    p95_high: Figure


class PlacingView(View):
    """How many other draws peak higher, level and lower than the one that a run shows. [A]"""

    peak_a: Figure
    higher: int
    level: int
    lower: int


class LimitOddsView(View):
    """One limit point over all draws: peaks of L1 and L2 in amps, and the chance to be passed."""

    id: str
    name: str
    kind: PointKind
    leg_rating_a: Figure
    l1: SpreadView
    l2: SpreadView
    worst_leg: Leg
    percent: Figure
    crossed: ChanceView
    working: WorkingView
    placing: PlacingView | None


class FuelOddsView(View):
    """How likely the fuel of a set is to end early, and when where it does.

    ``earliest_h`` and ``median_h`` count from the scenario's start; ``earliest_at`` and
    ``median_at`` are the clock times, to be held against the outages of the scenario.
    ``guess`` where what it burns is one, which the draws do not vary.
    """

    generator_id: str
    name: str
    early: ChanceView
    earliest_h: Figure
    median_h: Figure
    guess: bool
    earliest_at: datetime | None
    median_at: datetime | None


class ServiceOddsView(View):
    """How likely a circuit is to want power and get none, and to be dead for too long."""

    circuit_id: str
    name: str
    must_serve: bool
    without: ChanceView
    too_long: ChanceView
    pit_over: ChanceView
    without_min: SpreadView


class HarmOddsView(View):
    """How likely a harm that fails a run is to come, and when it first does."""

    kind: str
    element_id: str
    clause: str
    comes: ChanceView
    earliest_h: Figure
    earliest_at: datetime | None


class SettlingView(View):
    """The 95th of one leg after so many draws, to see it settle. [A]"""

    point_id: str
    leg: Leg
    draws: tuple[int, ...]
    p95_a: tuple[Figure, ...]


class OddsSummary(View):
    """Many draws of one scenario summed up.

    ``fails`` is whether any draw does not hold, ``sentence`` says how often and by what;
    ``short`` what gas is surely not there, and what motor surely never starts.
    """

    site: str
    scenario: ScenarioView
    seed: int
    draws: int
    fails: bool
    sentence: str
    any_over: ChanceView
    limits: tuple[LimitOddsView, ...]
    fuel: tuple[FuelOddsView, ...]
    circuits: tuple[ServiceOddsView, ...]
    harms: tuple[HarmOddsView, ...]
    settling: SettlingView | None
    short: tuple[str, ...]
    cautions: tuple[str, ...]


def summarise_odds(site: Site, scenario: Scenario, odds: Odds) -> OddsSummary:
    """Odds as one plain object."""
    cautions = result_cautions(site, scenario, over=odds.any_over.hits > 0)
    settling = odds.settling
    return OddsSummary(
        site=site.name,
        scenario=ScenarioView.model_validate(scenario),
        seed=odds.seed,
        draws=odds.draws,
        fails=odds.fails,
        sentence=odds_sentence(odds),
        any_over=_chance(odds.any_over),
        limits=tuple(
            LimitOddsView(
                id=one.point.id,
                name=one.point.name,
                kind=one.point.kind,
                leg_rating_a=one.point.leg_rating_a,
                l1=SpreadView.model_validate(one.legs[0]),
                l2=SpreadView.model_validate(one.legs[1]),
                worst_leg=one.worst_leg,
                percent=one.percent,
                crossed=_chance(one.crossed),
                working=WorkingView.model_validate(one.working),
                placing=PlacingView.model_validate(one.placing) if one.placing else None,
            )
            for one in odds.limits
        ),
        fuel=tuple(
            FuelOddsView(
                generator_id=one.generator_id,
                name=one.name,
                early=_chance(one.early),
                earliest_h=one.earliest_h,
                median_h=one.median_h,
                guess=one.guess,
                earliest_at=_at(scenario, one.earliest_h),
                median_at=_at(scenario, one.median_h),
            )
            for one in odds.fuel
        ),
        circuits=tuple(
            ServiceOddsView(
                circuit_id=one.circuit_id,
                name=one.name,
                must_serve=one.must_serve,
                without=_chance(one.without),
                too_long=_chance(one.too_long),
                pit_over=_chance(one.pit_over),
                without_min=SpreadView.model_validate(one.spread_min),
            )
            for one in odds.service
        ),
        harms=tuple(
            HarmOddsView(
                kind=one.kind,
                element_id=one.element_id,
                clause=one.clause,
                comes=_chance(one.comes),
                earliest_h=one.earliest_h,
                earliest_at=_at(scenario, one.earliest_h),
            )
            for one in odds.harms
        ),
        settling=None if settling is None else SettlingView.model_validate(settling),
        short=odds.short,
        cautions=tuple(map(str, cautions)),
    )


def _at(scenario: Scenario, hours: float | None) -> datetime | None:
    return None if hours is None else scenario.start + timedelta(hours=hours)


def _chance(chance: Chance) -> ChanceView:
    low, high = chance.between
    return ChanceView(
        hits=chance.hits,
        draws=chance.draws,
        share=chance.share,
        standard_error=chance.standard_error,
        at_least=low,
        at_most=high,
    )
