"""The run page of a scenario, its minute inspector, its plot data and its series to take away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, TypeVar, cast
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse

from server.advise.advice import advice_on
from server.advise.fuel_sooner import to_bring_for
from server.advise.outage_plan import outage_plan
from server.advise.pressure import against_pressure
from server.advise.together import must_not_run_together
from server.advise.volts_together import together_words
from server.domain.errors import NotFoundError
from server.domain.managers import unmanaged, unmanaged_words
from server.simulate.harms import harms
from server.simulate.must_serve import must_serve
from server.simulate.results import Run
from server.simulate.run import cached_run
from server.simulate.series import series_csv
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web import run_page
from server.web.deps import StoredSiteDep
from server.web.drawing.gauge import Gauge, gauges
from server.web.drawing.strip import day_cells
from server.web.figures import day_time
from server.web.house import read_minute
from server.web.minute import inspect
from server.web.odds_view import odds_view
from server.web.overview import run_findings, verdict_of_run
from server.web.pages import Page, page_for, render, render_text
from server.web.plot_data import plot_data, plot_steps
from server.web.relief import relief_view
from server.web.run_charts import Shown, charts, lanes, shown_stretch, whole_run
from server.web.run_levels import levels_view
from server.web.run_picture import picture
from server.web.scenario_choice import run_cautions
from server.web.waits import harm_first

router = APIRouter(prefix="/sites/{site_id}/scenarios/{scenario_id}")

Kept = TypeVar("Kept")


@dataclass(frozen=True)
class Asked:
    """What an address asks to see: a minute, a limit, and a stretch of time."""

    at: str = ""
    point: str = ""
    begin: Annotated[str, Query(alias="from")] = ""
    to: str = ""
    relief: str = ""


AskedDep = Annotated[Asked, Depends()]


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


def _time(text: str) -> datetime | None:
    """A local time of an address, or None."""
    try:
        return datetime.fromisoformat(text.strip()).replace(tzinfo=None)
    except ValueError:
        return None


def _stretch_words(run: Run, shown: Shown) -> str:
    begin = run.scenario.start + timedelta(seconds=shown.from_s)
    end = run.scenario.start + timedelta(seconds=shown.to_s)
    return f"{day_time(begin)} to {fmt.when(end)}"


def _zoom_links(run: Run, shown: Shown, step: int, point_id: str) -> dict[str, str]:
    """Query of the page for each way to look at more or less of the run, empty where it ends."""
    length = shown.last - shown.first
    middle = (shown.first + shown.last) / 2
    focus = step + 0.5 if shown.first <= step < shown.last else middle
    ways = {
        "in": shown.around(focus, length / 2),
        "out": shown.around(middle, length * 2),
        "earlier": shown.around(middle - length / 2, length),
        "later": shown.around(middle + length / 2, length),
        "all": shown.around(run.steps / 2, run.steps),
    }

    def query(to: Shown) -> str:
        begin, end = (
            fmt.field_time(run.scenario.start + timedelta(seconds=s)) for s in (to.from_s, to.to_s)
        )
        at = fmt.field_time(run.time_of(step))
        return urlencode({"at": at, "point": point_id, "from": begin, "to": end})

    return {name: "" if to == shown else query(to) for name, to in ways.items()}


def _once(run: Run, name: str, make: Callable[[], Kept]) -> Kept:
    """What is the same at every look at a run: made at the first and kept with it."""
    if name not in run.aside:
        run.aside[name] = make()
    return cast("Kept", run.aside[name])


def _peaks(page: Page, run: Run, found: tuple[Gauge, ...]) -> str:
    hours = run_page.hourly(run, found)
    return render_text(page, "scenarios/_peaks.html", gauges=found, hours=hours)


def _whole(page: Page, run: Run, found: tuple[Gauge, ...]) -> str:
    """The plots of the whole run for print, without a cursor."""
    shown = whole_run(run)
    drawn = {
        "shown": shown,
        "shown_words": _stretch_words(run, shown),
        "charts": charts(run, found, shown, run.steps),
        "lanes": lanes(run),
    }
    return render_text(page, "scenarios/_charts.html", view=drawn)


@router.get("")
def run_sheet(
    request: Request, stored: StoredSiteDep, scenario_id: str, asked: AskedDep
) -> Response:
    """The run: plots of a stretch of time, the minute taken apart, the tables behind them."""
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
        return render(
            page, "scenarios/run.html", scenario=scenario, view=None, relief=None, fmt=fmt
        )
    step, problem = _step(run, asked.at)
    found = gauges(run)
    worst = run.verdict.worst
    main = next((g for g in found if worst and worst.point.bus_id == g.id), found[0])
    stretches, stretch_count = _once(run, "stretches", lambda: run_page.stretches(run))
    shown = shown_stretch(run, step, _time(asked.begin), _time(asked.to))
    now = inspect(run, step, asked.point)
    advice = advice_on(run)
    view = {
        "verdict": verdict_of_run(run),
        "bring": to_bring_for(run),
        "days": day_cells(run, main, step=step),
        "day_gauge": main,
        "shown": shown,
        "shown_words": _stretch_words(run, shown),
        "whole": "" if shown.whole else _once(run, "whole", lambda: _whole(page, run, found)),
        "charts": charts(run, found, shown, step),
        "lanes": lanes(run),
        "zoom": _zoom_links(run, shown, step, now.point_id),
        "minute": now,
        "problem": problem,
        "stretches": stretches,
        "findings": run_findings(run),
        "stretch_count": stretch_count,
        "gauges": found,
        "peaks": _once(run, "peaks", lambda: _peaks(page, run, found)),
        "dark": run_page.went_dark(run),
        "held": run_page.held_off(run),
        "unmanaged": unmanaged_words(unmanaged(run.site)),
        "positions": run_page.positions_held(run),
        "sources": run_page.sources(run),
        "events": run.events,
        "plan": outage_plan(run),
        "together": must_not_run_together(run),
        "trips": advice.trips,
        "starts": advice.starts,
        "against_pressure": against_pressure(run),
        "volts": advice.volts,
        "volts_together": tuple(together_words(advice.volts, advice.starts)),
        "tank_gas": advice.tank_gas,
        "gas": advice.gas,
        "tried": asked.relief != "",
        "limits": "over" if run.verdict.over else worst.status if worst else "within",
        "harms": harms(run),
        "must_serve": must_serve(run),
        "harm_first": harm_first(run),
        "levels": levels_view(run),
        "odds": odds_view(site, scenario),
    }
    relief = relief_view(run, asked.point) if asked.relief else None
    return render(page, "scenarios/run.html", scenario=scenario, view=view, relief=relief, fmt=fmt)


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
def plot(stored: StoredSiteDep, scenario_id: str) -> Response:
    """What the plot draws with: names, limits, dead stretches and lanes of supply."""
    data = plot_data(_run(stored, scenario_id))
    return JSONResponse(data, headers={"Cache-Control": "no-store"})


@router.get("/plot.bin")
def steps(stored: StoredSiteDep, scenario_id: str) -> Response:
    """Amps of every bus, leg and step, as the plot reads them."""
    return Response(
        plot_steps(_run(stored, scenario_id)),
        media_type="application/octet-stream",
        headers={"Cache-Control": "no-store"},
    )


@router.get("/series.csv")
def series(stored: StoredSiteDep, scenario_id: str) -> Response:
    """Every step of the run as a table to take away."""
    run = _run(stored, scenario_id)
    return StreamingResponse(
        series_csv(run),
        media_type="text/csv; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="{stored.id}-{run.scenario.id}.csv"',
            "Cache-Control": "no-store",
        },
    )


@router.get("/picture.svg")
def picture_svg(stored: StoredSiteDep, scenario_id: str, asked: AskedDep) -> Response:
    """The plots of a stretch of the run as a picture to take away."""
    run = _run(stored, scenario_id)
    step, _ = _step(run, asked.at)
    shown = shown_stretch(run, step, _time(asked.begin), _time(asked.to))
    return Response(
        picture(stored, run, shown, step, _stretch_words(run, shown)),
        media_type="image/svg+xml",
        headers={
            "Content-Disposition": f'attachment; filename="{stored.id}-{run.scenario.id}.svg"',
            "Cache-Control": "no-store",
        },
    )
