"""A run as one plain object, the same for the API and the terminal.

Amps, watts and energies are rounded to four decimals; a figure that is not finite becomes null.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, BeforeValidator, ConfigDict

from server.domain.base import Leg
from server.domain.cautions import Caution, result_cautions
from server.domain.finding import Finding, Severity
from server.simulate.results import (
    Contributor,
    LegPeak,
    LimitPoint,
    LimitResult,
    PointKind,
    Run,
    Status,
)

DECIMALS = 4


def _rounded(value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), DECIMALS) + 0.0  # no negative zero


Figure = Annotated[float | None, BeforeValidator(_rounded)]


class _View(BaseModel):
    model_config = ConfigDict(from_attributes=True, frozen=True)


class TermView(_View):
    """One input of a figure."""

    name: str
    value: Figure
    unit: str
    source: str


class WorkingView(_View):
    """A figure with the inputs, formula and source behind it."""

    title: str
    value: Figure
    unit: str
    formula: str
    terms: tuple[TermView, ...]
    source: str


class ContributorView(_View):
    """An appliance that was on at the worst minute, and its share of the amps."""

    circuit_id: str
    circuit_name: str
    appliance_id: str
    appliance_name: str
    amps_a: Figure


class LegView(_View):
    """The worst one-minute mean of one leg, and how long it was near or past its limit."""

    leg: Leg
    peak_a: Figure
    at: datetime
    percent: Figure
    minutes_over_80: Figure
    minutes_over_100: Figure
    steady_a: Figure
    contributors: tuple[ContributorView, ...]


class LimitView(_View):
    """A place where current is compared with a rating."""

    id: str
    name: str
    kind: PointKind
    element_id: str
    bus_id: str | None
    leg_rating_a: Figure
    counts: Literal["net", "gross"]
    continuous_rule: bool
    status: Status
    legs: tuple[LegView, ...]
    neutral_peak_a: Figure
    neutral_at: datetime | None
    working: WorkingView


class BusView(_View):
    """Energy taken by one bus, and how long it was dead."""

    id: str
    name: str
    kind: str
    energy_kwh: Figure
    dead_min: Figure


class SourceView(_View):
    """Energy through one source, with hours, starts and fuel of a generator."""

    source_id: str
    name: str
    kind: Literal["service", "generator", "solar"]
    in_kwh: Figure
    out_kwh: Figure
    run_h: Figure
    starts: int
    fuel_used: WorkingView | None


class CircuitView(_View):
    """How a circuit fared: minutes in which it asked and got nothing, and its longest gap."""

    circuit_id: str
    name: str
    unserved_min: Figure
    unserved_kwh: Figure
    dead_min: Figure
    longest_gap_min: Figure
    gap_exceeded: bool


class BalanceView(_View):
    """Energy in against used, stored and lost."""

    electric_in_kwh: Figure
    electric_used_kwh: Figure
    electric_out_kwh: Figure
    heat_in_kwh: Figure
    heat_stored_kwh: Figure
    heat_lost_kwh: Figure


class FindingView(_View):
    """One thing a check found. Blocking ones hold back advice until cleared."""

    code: str
    severity: Severity
    element_id: str
    text: str
    mend: str
    section: str
    source: str


class EventView(_View):
    """Something that happened to the supply."""

    at: datetime
    text: str


class WorstView(_View):
    """The limit point and leg that decide the verdict."""

    point_id: str
    leg: Leg
    at: datetime
    percent: Figure


class VerdictView(_View):
    """The answer in one sentence."""

    fits: bool
    sentence: str
    detail: str
    worst: WorstView | None
    over: tuple[str, ...]
    gaps: tuple[str, ...]


class ScenarioView(_View):
    """Which scenario was run."""

    id: str
    name: str
    start: datetime
    span_h: Figure
    step_s: int


class StartView(_View):
    """Motors that start at once on a set, and the share of its volts that this takes."""

    kind: Literal["alone", "pair", "forced"]
    names: str
    kva: Figure
    dip: Figure
    status: Status
    at: datetime | None
    every_h: Figure


class SetStartsView(_View):
    """Every motor start that matters on one generator."""

    generator_id: str
    name: str
    running_kva: Figure
    starts: tuple[StartView, ...]
    working: WorkingView


class RunSummary(_View):
    """One draw of one scenario: the verdict, every limit, energies, gaps and findings."""

    site: str
    scenario: ScenarioView
    seed: int
    draw: int
    verdict: VerdictView
    limits: tuple[LimitView, ...]
    buses: tuple[BusView, ...]
    sources: tuple[SourceView, ...]
    circuits: tuple[CircuitView, ...]
    balance: BalanceView
    starts: tuple[SetStartsView, ...]
    findings: tuple[FindingView, ...]
    hazards: tuple[FindingView, ...]
    events: tuple[EventView, ...]
    cautions: tuple[str, ...]


class PointSeries(_View):
    """Amps of one limit point in every step."""

    point_id: str
    l1_a: tuple[Figure, ...]
    l2_a: tuple[Figure, ...]
    neutral_a: tuple[Figure, ...]


class BusSeries(_View):
    """The share of every step in which one bus had supply."""

    bus_id: str
    live: tuple[Figure, ...]


class RunSeries(_View):
    """The run step by step, from ``start``."""

    start: datetime
    step_s: int
    points: tuple[PointSeries, ...]
    buses: tuple[BusSeries, ...]


def summarise(
    run: Run,
    *,
    hazards: Sequence[Finding] = (),
    starts: Sequence[object] = (),
    more: Sequence[Finding] = (),
) -> RunSummary:
    """The run without its arrays.

    ``hazards`` are the findings about its site, ``starts`` the motor starts on its sets (with the
    attributes of :class:`SetStartsView`) and ``more`` what was found beside the run, if at hand.
    """
    return RunSummary(
        site=run.site.name,
        scenario=ScenarioView.model_validate(run.scenario),
        seed=run.seed,
        draw=run.draw,
        verdict=_verdict(run),
        limits=tuple(_limit(run, result) for result in run.limits),
        buses=tuple(
            BusView(
                id=b.bus.id,
                name=b.bus.name,
                kind=b.bus.kind,
                energy_kwh=b.energy_kwh,
                dead_min=b.dead_min,
            )
            for b in run.bus_results
        ),
        sources=tuple(SourceView.model_validate(s) for s in run.sources),
        circuits=tuple(CircuitView.model_validate(c) for c in run.service),
        balance=BalanceView.model_validate(run.balance),
        starts=tuple(SetStartsView.model_validate(s) for s in starts),
        findings=tuple(FindingView.model_validate(f) for f in (*run.findings, *more)),
        hazards=tuple(FindingView.model_validate(f) for f in hazards),
        events=tuple(EventView.model_validate(e) for e in run.events),
        cautions=tuple(map(str, cautions_of(run))),
    )


def summary(
    run: Run,
    *,
    hazards: Sequence[Finding] = (),
    starts: Sequence[object] = (),
    more: Sequence[Finding] = (),
) -> dict[str, Any]:
    """The run without its arrays, as plain JSON values."""
    found = summarise(run, hazards=hazards, starts=starts, more=more)
    return found.model_dump(mode="json")


def series(run: Run) -> RunSeries:
    """Amps of every limit point and supply of every bus, step by step."""
    amps = np.round(run.amps.astype(np.float64), DECIMALS)
    live = np.round(run.bus_live.astype(np.float64), DECIMALS)
    return RunSeries.model_construct(
        start=run.scenario.start,
        step_s=run.scenario.step_s,
        points=tuple(
            PointSeries.model_construct(
                point_id=point.id,
                l1_a=_plain(amps[i, 0]),
                l2_a=_plain(amps[i, 1]),
                neutral_a=_plain(amps[i, 2]),
            )
            for i, point in enumerate(run.points)
        ),
        buses=tuple(
            BusSeries.model_construct(bus_id=bus.id, live=_plain(live[i]))
            for i, bus in enumerate(run.buses)
        ),
    )


def cautions_of(run: Run) -> tuple[Caution, ...]:
    """The cautions that belong beside this run."""
    return result_cautions(run.site, run.scenario, over=bool(run.verdict.over))


def _plain(row: np.ndarray[Any, np.dtype[np.float64]]) -> tuple[float | None, ...]:
    return tuple(x if math.isfinite(x) else None for x in row.tolist())


def who_at_peak(run: Run, point: LimitPoint, peak: LegPeak) -> tuple[Contributor, ...]:
    """Who was on in the worst minute of a leg, largest first; their amps sum to the peak."""
    if peak.contributors or not peak.peak_a:
        return peak.contributors
    first = run.step_of(peak.at)
    steps = range(first, min(first + max(1, 60 // run.scenario.step_s), run.steps))
    found: dict[tuple[str, str], Contributor] = {}
    for step in steps:
        for one in run.who_was_on(point.id, peak.leg, step):
            key = (one.circuit_id, one.appliance_id)
            before = found[key].amps_a if key in found else 0.0
            found[key] = replace(one, amps_a=before + one.amps_a / len(steps))
    return tuple(sorted(found.values(), key=lambda one: -abs(one.amps_a)))


def _leg(run: Run, point: LimitPoint, peak: LegPeak) -> LegView:
    return LegView.model_validate(replace(peak, contributors=who_at_peak(run, point, peak)))


def _limit(run: Run, result: LimitResult) -> LimitView:
    point = result.point
    return LimitView(
        id=point.id,
        name=point.name,
        kind=point.kind,
        element_id=point.element_id,
        bus_id=point.bus_id,
        leg_rating_a=point.leg_rating_a,
        counts=point.counts,
        continuous_rule=point.continuous_rule,
        status=result.status,
        legs=tuple(_leg(run, point, peak) for peak in result.legs),
        neutral_peak_a=result.neutral_peak_a,
        neutral_at=result.neutral_at,
        working=WorkingView.model_validate(point.working),
    )


def _verdict(run: Run) -> VerdictView:
    verdict = run.verdict
    worst = None
    if verdict.worst is not None:
        leg = verdict.worst.worst
        worst = WorstView(
            point_id=verdict.worst.point.id, leg=leg.leg, at=leg.at, percent=leg.percent
        )
    return VerdictView(
        fits=verdict.fits,
        sentence=verdict.sentence,
        detail=verdict.detail,
        worst=worst,
        over=tuple(result.point.id for result in verdict.over),
        gaps=tuple(gap.circuit_id for gap in verdict.gaps),
    )
