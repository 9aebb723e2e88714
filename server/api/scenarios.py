"""Scenarios, and their runs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body, Query, Request, Response
from starlette.responses import StreamingResponse

from server.advise.advice import advice_on
from server.advise.next_step import next_step
from server.advise.odds_gas import with_gas
from server.advise.relief import relief_of
from server.advise.views import ReliefAnswer, relief_answer
from server.api.draws import draws_while_there
from server.api.models import RunAnswer, RunAsked, ScenarioEdit, ScenarioList, SiteSaved
from server.api.parts import (
    BAD_REQUEST,
    BUSY,
    EDITS,
    READS,
    TOO_LARGE,
    Answers,
    RevisionAsked,
    ScenarioId,
    SeedAsked,
    Store,
    Stored,
    refuse_stale,
    saved,
)
from server.domain.edits import put_scenario, remove_scenario
from server.domain.errors import EditError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.rules.hazards import hazards
from server.simulate.background import kept_odds
from server.simulate.odds import odds_of
from server.simulate.odds_views import OddsSummary, summarise_odds
from server.simulate.results import Run
from server.simulate.run import cached_run
from server.simulate.series import series_csv
from server.simulate.summary import series as series_of
from server.simulate.summary import summarise
from server.store.cards import StoredSite

router = APIRouter(prefix="/sites/{site_id}/scenarios", tags=["Scenarios and runs"])

DrawsAsked = Annotated[
    int | None,
    Query(ge=1, le=1000, description="How many draws to sum up as odds.", examples=[200]),
]
SeriesAsked = Annotated[bool, Query(description="Send amps for every step as well.")]
PointAsked = Annotated[
    str,
    Query(
        description="Id of a limit point, as a run lists it. Left out: the one that decides.",
        max_length=200,
    ),
]
_CSV: Answers = {200: {"description": "One row for each step.", "content": {"text/csv": {}}}}


@router.get("", summary="List the scenarios", responses=READS)
def list_scenarios(stored: Stored) -> ScenarioList:
    """Every scenario of the site."""
    return ScenarioList(revision=stored.revision, scenarios=stored.site.scenarios)


@router.get("/{scenario_id}", summary="Read a scenario", responses=READS)
def get_scenario(scenario_id: ScenarioId, stored: Stored) -> Scenario:
    """One scenario."""
    return stored.site.scenario(scenario_id)


@router.put("/{scenario_id}", summary="Add or replace a scenario", responses=EDITS)
def replace_scenario(
    scenario_id: ScenarioId, edit: ScenarioEdit, stored: Stored, store: Store
) -> SiteSaved:
    """Put a scenario in place of the one with this id, or add it."""
    refuse_stale(stored, edit.revision)
    scenario = edit.scenario
    if scenario.id != scenario_id:
        raise EditError(f"The address says {scenario_id!r}.", field="scenario.id")
    return saved(store, stored, put_scenario(stored.site, scenario), f"Edited {scenario.name}")


@router.delete("/{scenario_id}", summary="Remove a scenario", responses=EDITS)
def delete_scenario(
    scenario_id: ScenarioId, revision: RevisionAsked, stored: Stored, store: Store
) -> SiteSaved:
    """Remove a scenario."""
    refuse_stale(stored, revision)
    name = stored.site.scenario(scenario_id).name
    return saved(store, stored, remove_scenario(stored.site, scenario_id), f"Removed {name}")


@router.get("/{scenario_id}/run", summary="Run a scenario", responses={**READS, **BUSY})
def get_run(
    request: Request,
    scenario_id: ScenarioId,
    stored: Stored,
    seed: SeedAsked = None,
    draws: DrawsAsked = None,
    *,
    series: SeriesAsked = False,
) -> RunAnswer:
    """Amps against every limit, energies, gaps and the verdict.

    `series=1` adds every step; `draws=200` runs it 200 times and adds the odds.
    """
    return _answer(request, stored, scenario_id, RunAsked(seed=seed, series=series, draws=draws))


@router.post(
    "/{scenario_id}/run",
    summary="Run a scenario",
    responses={**BAD_REQUEST, **TOO_LARGE, **READS, **BUSY},
)
def post_run(
    request: Request,
    scenario_id: ScenarioId,
    stored: Stored,
    asked: Annotated[RunAsked | None, Body()] = None,
) -> RunAnswer:
    """The same as reading a run; for programs that would rather send than ask."""
    return _answer(request, stored, scenario_id, asked or RunAsked())


@router.get(
    "/{scenario_id}/series.csv",
    summary="Download the run step by step",
    response_class=Response,
    responses={**READS, **_CSV},
)
def get_series(scenario_id: ScenarioId, stored: Stored, seed: SeedAsked = None) -> Response:
    """Amps of every limit point and leg, one row for each step."""
    run = cached_run(stored.site, stored.site.scenario(scenario_id), seed=seed)
    return StreamingResponse(
        series_csv(run),
        media_type="text/csv",
        headers={"Content-Disposition": f'attachment; filename="{stored.id}-{scenario_id}.csv"'},
    )


@router.get("/{scenario_id}/relief", summary="What would relieve a limit", responses=READS)
def get_relief(
    scenario_id: ScenarioId, stored: Stored, point: PointAsked = "", seed: SeedAsked = None
) -> ReliefAnswer:
    """Who was on in the worst minute of a limit, every change tried with its own run, best first.

    The next step of the scenario stands beside it.
    """
    scenario = stored.site.scenario(scenario_id)
    relief = relief_of(stored.site, scenario, point, seed)
    return relief_answer(relief, next_step(stored.site, scenario))


def _answer(request: Request, stored: StoredSite, scenario_id: str, asked: RunAsked) -> RunAnswer:
    site = stored.site
    run = cached_run(site, site.scenario(scenario_id), seed=asked.seed)
    return RunAnswer(
        site_id=stored.id,
        revision=stored.revision,
        summary=summarise(run, hazards=hazards(site), advice=advice_on(run)),
        series=series_of(run) if asked.series else None,
        odds=_odds(request, site, run, asked) if asked.draws else None,
    )


def _odds(request: Request, site: Site, run: Run, asked: RunAsked) -> OddsSummary:
    """The odds of so many draws, those kept in the background where they are the same."""
    scenario = run.scenario
    seed, count = asked.seed, asked.draws or 1
    kept = kept_odds(site, scenario) if seed in {None, scenario.seed} else None
    if kept is None or kept.draws != count:
        draws = draws_while_there(request, site, scenario, count=count, seed=seed)
        kept = odds_of(site, scenario, draws, seed=seed)
    return summarise_odds(site, scenario, with_gas(kept, run))
