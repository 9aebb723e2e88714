"""The overview sheet: the verdict, the house at one minute, and every limit at its worst."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.advise.advice import advice_on
from server.domain.finding import Finding
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.working import Working
from server.rules.hazards import hazards
from server.simulate.background import kept_odds
from server.simulate.results import LimitResult, Run
from server.simulate.run import cached_run
from server.web import format as fmt
from server.web.confirm import guesses
from server.web.deps import StoredSiteDep
from server.web.drawing.gauge import Gauge, gauges
from server.web.drawing.moment import Moment
from server.web.drawing.oneline import one_line
from server.web.drawing.oneline_parts import OneLine
from server.web.drawing.strip import Strip, over_starts, run_strip
from server.web.limit_table import (
    LimitGroup,
    Who,
    breaker_limits,
    limit_groups,
    who_was_on,
    workings,
)
from server.web.pages import page_for, render
from server.web.relief import step_view
from server.web.scenario_choice import chosen_scenario, run_cautions
from server.web.without import Without, answer_words, goes_without

router = APIRouter(prefix="/sites/{site_id}")

_SEVERITY = {"blocking": 0, "warning": 1, "note": 2}


@dataclass(frozen=True)
class Fact:
    """One figure of the facts strip. ``guess`` prints it in italics behind an ≈."""

    name: str
    figure: str
    unit: str
    note: str
    guess: bool = False


@dataclass(frozen=True)
class VerdictWords:
    """The verdict cut where its first sentence ends, so that the answer can stand out."""

    status: str
    answer: str
    rest: str
    detail: str
    without: Without


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


@dataclass(frozen=True)
class OverviewView:
    """Everything the overview shows for one run."""

    verdict: VerdictWords
    facts: tuple[Fact, ...]
    hour: Hour
    strips: tuple[Strip, Strip] | None
    strip_name: str
    line: OneLine
    worst: LimitResult | None
    who: Who | None
    groups: tuple[LimitGroup, ...]
    breakers_within: int
    workings: tuple[Working, ...]


@router.get("")
def overview(
    request: Request, stored: StoredSiteDep, scenario: str = "", at: str = "", step: str = ""
) -> Response:
    """The overview of a site under one scenario, drawn at its worst minute or at ``at``.

    With ``step`` the next step stands in it at once, for a browser without script.
    """
    site = stored.site
    chosen = chosen_scenario(site, scenario)
    ready = chosen is not None and bool(site.panels)
    run = cached_run(site, chosen) if ready and chosen else None
    title = "Overview"
    if run is not None and chosen is not None:
        title = f"{chosen.name}: {'fits' if run.verdict.fits else 'does not fit'}"
    page = page_for(
        request,
        title,
        sheet="overview",
        stored=stored,
        scenario=chosen,
        caution_keys=run_cautions(site, chosen, over=bool(run and run.verdict.over)),
    )
    return render(
        page,
        "overview/overview.html",
        site=site,
        chosen=chosen,
        view=overview_view(stored.id, run, at) if run else None,
        step=step_view(site, run.scenario) if run and step else None,
        confirm=guesses(stored.id, site),
        findings=all_findings(site, run),
        fmt=fmt,
    )


def all_findings(site: Site, run: Run | None) -> tuple[Finding, ...]:
    """Findings of the site and of the run, blocking first, each once."""
    found = [*hazards(site), *(run.findings if run else ())]
    found += advice_on(run).findings if run else ()
    unique = {(f.code, f.element_id, f.text): f for f in found}
    return tuple(sorted(unique.values(), key=lambda f: _SEVERITY[f.severity]))


def overview_view(site_id: str, run: Run, at: str) -> OverviewView:
    """The view of one run at the minute written in ``at``, or at its worst."""
    worst = run.verdict.worst
    worst_step = run.step_of(worst.worst.at) if worst else 0
    asked = read_minute(at, run)
    step = worst_step if asked is None else run.step_of(asked)
    gauge = _gauge_for(run, worst)
    strips = None
    if gauge is not None:
        strips = (
            run_strip(run, gauge, step=step),
            run_strip(run, gauge, step=step, width=358.0),
        )
    breakers = breaker_limits(run)
    return OverviewView(
        verdict=verdict_words(run),
        facts=facts(run),
        hour=_hour(site_id, run, gauge, step, is_worst=step == worst_step),
        strips=strips,
        strip_name=gauge.name if gauge else "",
        line=one_line(Moment(run, step)),
        worst=worst,
        who=who_was_on(run, worst.point.id, worst_step, small_a=1.0) if worst else None,
        groups=limit_groups(run, kept_odds(run.site, run.scenario)),
        breakers_within=sum(r.status == "within" for r in breakers),
        workings=workings(run),
    )


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


def verdict_status(run: Run) -> str:
    """over, close or within, by the verdict and the nearest limit."""
    if not run.verdict.fits:
        return "over"
    worst = run.verdict.worst
    return "close" if worst is not None and worst.status == "close" else "within"


def verdict_words(run: Run) -> VerdictWords:
    """The run's sentence with its first words apart, and what goes without beside it."""
    _, _, rest = run.verdict.sentence.partition(". ")
    return VerdictWords(
        verdict_status(run), answer_words(run), rest, run.verdict.detail, goes_without(run)
    )


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
    )


def facts(run: Run) -> tuple[Fact, ...]:
    """The strip of facts under the verdict."""
    return (
        _must_serve(run),
        *_generators(run),
        _guesses(run.site),
        *_throws(run.site, run.scenario),
    )


def _must_serve(run: Run) -> Fact:
    ids = {c.id for c in run.site.circuits if c.load_class == "must_serve"}
    if not ids:
        return Fact("Must-serve circuits", "none", "", "give each circuit its class")
    longest = max((s for s in run.service if s.circuit_id in ids), key=lambda s: s.longest_gap_min)
    if longest.longest_gap_min <= 0:
        return Fact("Must-serve without supply", "never", "", fmt.count(len(ids), "circuit"))
    figure, _, unit = fmt.duration(longest.longest_gap_min).partition(" ")
    note = f"at most, {longest.name}" + (", too long" if longest.gap_exceeded else "")
    return Fact("Must-serve without supply", figure, unit, note)


def _generators(run: Run) -> tuple[Fact, ...]:
    if not run.site.generators:
        return (Fact("Generator", "none", "", "dead while the utility is out"),)
    sets = [s for s in run.sources if s.kind == "generator"]
    hours = sum(s.run_h for s in sets)
    starts = sum(s.starts for s in sets)
    found = [Fact("Generator runs", fmt.number(hours), "h", fmt.count(starts, "start"))]
    for result in sets:
        if result.fuel_used is None or result.run_h <= 0:
            continue
        generator = next(g for g in run.site.generators if g.id == result.source_id)
        note = "straight-line figure"
        if generator.tank is not None:
            tank = generator.tank
            usable = tank.capacity_gal * max(tank.fill_share - tank.reserve_share, 0)
            note = f"of {fmt.number(usable, 0)} above the reserve"
        name = f"{generator.fuel.replace('_', ' ').capitalize()} used"
        used = result.fuel_used.value
        figure = fmt.number(used, 0 if used >= 1000 else 1)
        found.append(Fact(name, figure, result.fuel_used.unit, note, guess=True))
    return tuple(found)


def _guesses(site: Site) -> Fact:
    guessed = [c for c in site.circuits if any(a.figure_source == "guess" for a in c.appliances)]
    total = len(site.circuits)
    note = "measure these first" if guessed else "every figure has a source"
    return Fact("Circuits with a guess", f"{len(guessed)} of {total}", "", note)


def _throws(site: Site, scenario: Scenario) -> tuple[Fact, ...]:
    if not site.double_throws:
        return ()
    moves = len(scenario.switch_moves)
    names = fmt.listed([d.name for d in site.double_throws])
    return (Fact("Thrown by hand", str(moves), "time" if moves == 1 else "times", names),)
