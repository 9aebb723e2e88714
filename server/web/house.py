"""The house at one minute of a run: who feeds whom, amps at each point, the way through time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.errors import NotFoundError
from server.domain.topology import BusKind
from server.simulate.results import LimitResult, Run
from server.simulate.run import cached_run
from server.web import format as fmt
from server.web.deps import StoredSiteDep
from server.web.drawing.gauge import Gauge, gauges
from server.web.drawing.moment import Moment
from server.web.drawing.oneline import one_line
from server.web.drawing.oneline_parts import OneLine
from server.web.drawing.strip import Strip, over_starts, run_strip
from server.web.pages import page_for, render
from server.web.scenario_choice import chosen_scenario

router = APIRouter(prefix="/sites/{site_id}")


@dataclass(frozen=True)
class Hour:
    """The minute the house is drawn at, and where to go from it."""

    at: datetime
    title: str
    is_worst: bool
    back: str
    on: str
    next_over: str
    field: str
    first: str
    last: str
    step: int
    steps: int


@dataclass(frozen=True)
class Feed:
    """What feeds one bus at the minute drawn, and since when."""

    bus: str
    kind: BusKind
    words: str
    dead: bool


@dataclass(frozen=True)
class HouseView:
    """The house at one minute."""

    hour: Hour
    strips: tuple[Strip, Strip] | None
    strip_name: str
    line: OneLine
    feeds: tuple[Feed, ...]


def worst_step(run: Run) -> int:
    """The step that decides the verdict; the first where none does."""
    worst = run.verdict.worst
    return run.step_of(worst.worst.at) if worst else 0


def house_view(site_id: str, run: Run, at: str) -> HouseView:
    """The house at the minute written in ``at``, or at the worst of the run."""
    worst = worst_step(run)
    asked = read_minute(at, run)
    step = worst if asked is None else run.step_of(asked)
    gauge = _gauge_for(run, run.verdict.worst)
    strips = None
    if gauge is not None:
        strips = (
            run_strip(run, gauge, step=step),
            run_strip(run, gauge, step=step, width=358.0),
        )
    return HouseView(
        hour=_hour(site_id, run, gauge, step, is_worst=step == worst),
        strips=strips,
        strip_name=gauge.name if gauge else "",
        line=one_line(Moment(run, step)),
        feeds=_feeds(run, step),
    )


def _feeds(run: Run, step: int) -> tuple[Feed, ...]:
    """What feeds every bus at a step. Handles of one set are told together by what feeds them."""
    found = []
    for row, bus in enumerate(run.buses):
        source = run.bus_source[row]
        now = int(source[step])
        first = step
        while first > 0 and int(source[first - 1]) == now:
            first -= 1
        since = f" since {fmt.short_when(run.time_of(first))}" if first > 0 else " since the start"
        name = f"fed by {run.source_names[now]}" if now >= 0 else "dead"
        found.append(Feed(bus.name, bus.kind, f"{name}{since}", now < 0))
    return tuple(found)


@router.get("/house")
def show_house(
    request: Request, stored: StoredSiteDep, scenario: str = "", at: str = "", step_at: str = ""
) -> Response:
    """The house at one minute, alone."""
    chosen = chosen_scenario(stored.site, scenario)
    if chosen is None or not stored.site.panels:
        raise NotFoundError("There is nothing to draw yet: no panel, or no scenario.")
    run = cached_run(stored.site, chosen)
    page = page_for(request, "House", stored=stored, scenario=chosen, said="")
    view = house_view(stored.id, run, asked_minute(run, at, step_at))
    return render(page, "overview/_house.html", view=view, chosen=chosen, fmt=fmt)


def asked_minute(run: Run, at: str, step_at: str) -> str:
    """A minute in words of an address; ``step_at`` is a number of steps from the start."""
    text = step_at.strip()
    if text.isascii() and text.isdecimal() and len(text) < 8:
        return fmt.field_time(run.time_of(min(int(text), run.steps - 1)))
    return at


def read_minute(text: str, run: Run) -> datetime | None:
    """A minute from an address or a form; None where it is not a time. Clipped to the run."""
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return run.time_of(run.step_of(at.replace(tzinfo=None)))


def _gauge_for(run: Run, worst: LimitResult | None) -> Gauge | None:
    found = gauges(run)
    if worst is not None:
        for gauge in found:
            if worst.point.id == gauge.point_id or worst.point.bus_id == gauge.id:
                return gauge
    backed = (g for g in found if g.kind == "backed_up")
    return next(backed, found[0] if found else None)


def _hour(site_id: str, run: Run, gauge: Gauge | None, step: int, *, is_worst: bool) -> Hour:
    at = run.time_of(step)

    def link(to: int) -> str:
        query = {"scenario": run.scenario.id, "at": fmt.field_time(run.time_of(to))}
        return f"/sites/{site_id}?{urlencode(query)}#house"

    starts = over_starts(gauge) if gauge else ()
    later = next((s for s in starts if s > step), starts[0] if starts else None)
    minute = max(1, 60 // run.scenario.step_s)
    return Hour(
        at=at,
        title=fmt.when(at),
        is_worst=is_worst,
        back=link(max(step - minute, 0)),
        on=link(min(step + minute, run.steps - 1)),
        next_over=link(later) if later is not None and later != step else "",
        field=fmt.field_time(at),
        first=fmt.field_time(run.scenario.start),
        last=fmt.field_time(run.scenario.end - timedelta(seconds=run.scenario.step_s)),
        step=step,
        steps=run.steps,
    )
