"""The run page of a scenario, its minute inspector, its plot data and its series to take away."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from server.advise.starts import starts_of
from server.domain.errors import NotFoundError
from server.simulate.results import Run
from server.simulate.run import cached_run
from server.simulate.series import series_csv
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web import run_page
from server.web.deps import StoredSiteDep
from server.web.drawing.gauge import gauges
from server.web.drawing.strip import day_cells
from server.web.minute import inspect
from server.web.overview import read_minute, verdict_words
from server.web.pages import page_for, render
from server.web.plot_data import plot_data
from server.web.scenario_choice import run_cautions

router = APIRouter(prefix="/sites/{site_id}/scenarios/{scenario_id}")

Seconds = Annotated[float, Query(allow_inf_nan=False)]


def _run(stored: StoredSite, scenario_id: str) -> Run:
    return cached_run(stored.site, stored.site.scenario(scenario_id))


def _step(run: Run, at: str) -> tuple[int, str]:
    """The step asked for, and what is wrong with how it was asked."""
    worst = run.verdict.worst
    fallback = run.step_of(worst.worst.at) if worst else 0
    if not at.strip():
        return fallback, ""
    asked = read_minute(at, run)
    if asked is None:
        return fallback, "Write a date and time, such as 2026-11-26T17:30."
    return run.step_of(asked), ""


@router.get("")
def run_sheet(
    request: Request, stored: StoredSiteDep, scenario_id: str, at: str = "", point: str = ""
) -> Response:
    """The run: plots of a day, the minute taken apart, and the tables behind them."""
    site = stored.site
    scenario = site.scenario(scenario_id)
    title = scenario.name
    run = cached_run(site, scenario) if site.panels else None
    page = page_for(
        request,
        title,
        sheet="scenarios",
        stored=stored,
        scenario=scenario,
        caution_keys=run_cautions(site, scenario, over=bool(run and run.verdict.over)),
    )
    if run is None:
        return render(page, "scenarios/run.html", scenario=scenario, view=None, fmt=fmt)
    step, problem = _step(run, at)
    found = gauges(run)
    worst = run.verdict.worst
    main = next((g for g in found if worst and worst.point.bus_id == g.id), found[0])
    stretches, stretch_count = run_page.stretches(run)
    view = {
        "verdict": verdict_words(run),
        "days": day_cells(run, main, step=step),
        "day_gauge": main,
        "charts": run_page.day_charts(run, found, step),
        "minute": inspect(run, step, point),
        "problem": problem,
        "stretches": stretches,
        "stretch_count": stretch_count,
        "gauges": found,
        "hours": run_page.hourly(run, found),
        "dark": run_page.went_dark(run),
        "positions": run_page.positions_held(run),
        "sources": run_page.sources(run),
        "events": run.events,
        "starts": starts_of(run),
    }
    return render(page, "scenarios/run.html", scenario=scenario, view=view, fmt=fmt)


@router.get("/minute")
def minute(
    request: Request, stored: StoredSiteDep, scenario_id: str, at: str = "", point: str = ""
) -> Response:
    """The minute inspector alone."""
    run = _run(stored, scenario_id)
    if not run.points:
        raise NotFoundError("This site has no panel yet, so no minute of it can be taken apart.")
    step, problem = _step(run, at)
    page = page_for(request, "Minute", stored=stored, scenario=run.scenario)
    view = {"minute": inspect(run, step, point), "problem": problem}
    return render(page, "scenarios/_inspector.html", view=view, scenario=run.scenario, fmt=fmt)


@router.get("/plot.json")
def plot(
    stored: StoredSiteDep,
    scenario_id: str,
    from_s: Seconds = 0.0,
    to_s: Seconds = 1e9,
    px: Annotated[int, Query(ge=1, le=100_000)] = 1000,
) -> Response:
    """Amps of every bus between two times, at most two points a pixel."""
    run = _run(stored, scenario_id)
    data = plot_data(run, from_s=from_s, to_s=to_s, px=px)
    return JSONResponse(data, headers={"Cache-Control": "no-store"})


@router.get("/series.csv")
def series(stored: StoredSiteDep, scenario_id: str) -> Response:
    """Every step of the run as a table to take away."""
    run = _run(stored, scenario_id)
    return Response(
        series_csv(run),
        media_type="text/csv; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="{stored.id}-{run.scenario.id}.csv"',
            "Cache-Control": "no-store",
        },
    )
