"""A run as one plain object, the same for the API and the terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from server.domain.cautions import Caution, result_cautions
from server.domain.finding import Finding
from server.simulate.harms import harms
from server.simulate.must_serve import must_serve
from server.simulate.not_had import energy_not_had
from server.simulate.results import (
    Contributor,
    LegPeak,
    LimitPoint,
    LimitResult,
    Run,
)
from server.simulate.views import (
    DECIMALS,
    AdviceView,
    BalanceView,
    BusSeries,
    BusView,
    CircuitView,
    EventView,
    FindingView,
    HarmView,
    LegView,
    LimitView,
    MustServeView,
    PointSeries,
    RunSeries,
    RunSummary,
    ScenarioView,
    SourceView,
    VerdictHarmView,
    VerdictView,
    WorkingView,
    WorstView,
)


def summarise(
    run: Run,
    *,
    hazards: Sequence[Finding] = (),
    advice: object = None,
) -> RunSummary:
    """The run without its arrays.

    ``hazards`` are the findings about its site and ``advice`` what follows from the run (with the
    attributes of :class:`AdviceView`), if at hand.
    """
    said = AdviceView() if advice is None else AdviceView.model_validate(advice)
    return RunSummary(
        site=run.site.name,
        scenario=ScenarioView.model_validate(run.scenario),
        seed=run.seed,
        draw=run.draw,
        verdict=_verdict(run, said.provided, said.short),
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
        circuits=tuple(
            CircuitView.model_validate({**vars(fared), "unserved_kwh": missed})
            for fared, missed in zip(run.service, energy_not_had(run), strict=True)
        ),
        balance=BalanceView.model_validate(run.balance),
        doubt=said.doubt,
        trips=said.trips,
        starts=said.starts,
        volts=said.volts,
        must_serve=tuple(MustServeView.model_validate(m) for m in must_serve(run).dark),
        harms=tuple(HarmView.model_validate(h) for h in harms(run)),
        findings=(*(FindingView.model_validate(f) for f in run.findings), *said.findings),
        hazards=tuple(FindingView.model_validate(f) for f in hazards),
        events=tuple(EventView.model_validate(e) for e in run.events),
        cautions=tuple(map(str, cautions_of(run))),
    )


def summary(
    run: Run,
    *,
    hazards: Sequence[Finding] = (),
    advice: object = None,
) -> dict[str, Any]:
    """The run without its arrays, as plain JSON values."""
    found = summarise(run, hazards=hazards, advice=advice)
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


def _verdict(run: Run, provided: str, short: tuple[str, ...]) -> VerdictView:
    verdict = run.verdict.also(short)
    worst = None
    if verdict.worst is not None:
        leg = verdict.worst.worst
        worst = WorstView(
            point_id=verdict.worst.point.id, leg=leg.leg, at=leg.at, percent=leg.percent
        )
    return VerdictView(
        fits=verdict.fits,
        sentence=verdict.said(provided),
        detail=verdict.detail,
        worst=worst,
        over=tuple(result.point.id for result in verdict.over),
        gaps=tuple(gap.circuit_id for gap in verdict.gaps),
        harms=tuple(VerdictHarmView.model_validate(one) for one in verdict.harms),
    )
