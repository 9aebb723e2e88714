"""The overview sheet: the verdict, the house at one minute, and every limit at its worst."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from server.advise.advice import advice_on, judged
from server.advise.fuel_words import gal_words, therms_words
from server.advise.together import SetTogether, must_not_run_together
from server.domain.finding import Finding
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import can_move
from server.domain.working import Working
from server.rules.demand.left_off import left_off
from server.rules.hazards import hazards
from server.simulate.background import kept_odds
from server.simulate.must_serve import must_serve
from server.simulate.results import LimitResult, Run
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web.against import (
    Against,
    against,
    drawn_against,
    graver,
    house_against,
    past_rating,
)
from server.web.confirm import guesses
from server.web.deps import StoredSiteDep
from server.web.elsewhere import Elsewhere, elsewhere_beside
from server.web.house import Hour, HouseView, asked_minute, house_view, worst_step
from server.web.limit_table import (
    LimitGroup,
    Who,
    breaker_limits,
    limit_groups,
    who_was_on,
    workings,
)
from server.web.pages import page_for, render, render_text
from server.web.relief import step_view
from server.web.scenario_choice import chosen_scenario, run_cautions
from server.web.some_runs import some_runs
from server.web.without import Without, answer_words, goes_without, verdict_status

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
    """The verdict cut where its first sentence ends, so that the answer can stand out.

    ``also`` is what fails besides, each in a sentence or two; ``notes`` what the answer rests on.
    """

    status: str
    answer: str
    rest: str
    also: tuple[str, ...]
    notes: str
    without: Without


@dataclass(frozen=True)
class OverviewView:
    """Everything the overview shows for one run."""

    verdict: VerdictWords
    facts: tuple[Fact, ...]
    together: tuple[SetTogether, ...]
    house: HouseView
    worst: LimitResult | None
    who: Who | None
    groups: tuple[LimitGroup, ...]
    breakers_within: int
    workings: tuple[Working, ...]
    board_words: str

    @property
    def hour(self) -> Hour:
        """The minute the house is drawn at."""
        return self.house.hour


@router.get("")
def overview(
    request: Request,
    stored: StoredSiteDep,
    scenario: str = "",
    *,
    at: str = "",
    step: str = "",
    step_at: str = "",
) -> Response:
    """The overview of a site under one scenario, drawn at its worst minute or at ``at``.

    With ``step`` the next step stands in it at once, for a browser without script.
    """
    site = stored.site
    chosen = chosen_scenario(site, scenario)
    ready = chosen is not None and bool(site.panels)
    run = cached_run(site, chosen) if ready and chosen else None
    found, past = all_findings(site, run), past_rating(site)
    stands = against(run, found, past) if run else Against()
    title = "Overview"
    if run is not None and chosen is not None:
        answer = answer_words(run, stands.clauses[:1]).rstrip(".")
        title = f"{chosen.name}: {answer[:1].lower()}{answer[1:]}"
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
        view=overview_view(stored.id, run, asked_minute(run, at, step_at), stands) if run else None,
        step=step_view(site, run.scenario) if run and step else None,
        elsewhere=_elsewhere(stored, chosen, some_runs(site, cells=0)) if run else None,
        sets_off=left_off(site),
        past_rating=past,
        confirm=guesses(stored.id, site, run),
        findings=found,
        fmt=fmt,
    )


@router.get("/elsewhere")
def elsewhere(request: Request, stored: StoredSiteDep, scenario: str = "") -> Response:
    """The other scenarios with their answers, run where that is quick, as a fragment."""
    chosen = chosen_scenario(stored.site, scenario)
    page = page_for(request, "Other scenarios", stored=stored, scenario=chosen, said="")
    found = _elsewhere(stored, chosen, some_runs(stored.site), asked=True)
    text = render_text(page, "_elsewhere.html", elsewhere=found) if found else ""
    return HTMLResponse(text, headers={"Cache-Control": "no-store", "Vary": "HX-Request"})


def _elsewhere(
    stored: StoredSite, chosen: Scenario | None, runs: Mapping[str, Run], *, asked: bool = False
) -> Elsewhere | None:
    root, site = f"/sites/{stored.id}", stored.site
    return elsewhere_beside(
        site,
        chosen,
        runs,
        address=f"{root}/elsewhere?scenario={chosen.id if chosen else ''}",
        page_of=lambda scenario_id: f"{root}?scenario={scenario_id}",
        asked=asked,
        barred=bool(house_against(site, all_findings(site, None), past_rating(site))),
    )


def all_findings(site: Site, run: Run | None) -> tuple[Finding, ...]:
    """Findings of the site and of the run, blocking first, each once."""
    return _in_order((*hazards(site), *(run_findings(run) if run else ())))


def run_findings(run: Run) -> tuple[Finding, ...]:
    """What a run found, and what follows from it, blocking first, each once."""
    return _in_order((*run.findings, *advice_on(run).findings))


def _in_order(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    unique = {(f.code, f.element_id, f.text): f for f in found}
    return tuple(sorted(unique.values(), key=lambda f: _SEVERITY[f.severity]))


def overview_view(site_id: str, run: Run, at: str, stands: Against | None = None) -> OverviewView:
    """The view of one run at the minute written in ``at``, or at its worst."""
    worst = run.verdict.worst
    breakers = breaker_limits(run)
    return OverviewView(
        verdict=verdict_words(run, stands),
        facts=facts(run),
        together=must_not_run_together(run),
        house=house_view(site_id, run, at),
        worst=worst,
        who=who_was_on(run, worst.point.id, worst_step(run), small_a=1.0) if worst else None,
        groups=limit_groups(run, kept_odds(run.site, run.scenario)),
        breakers_within=sum(r.status == "within" for r in breakers),
        workings=workings(run),
        board_words=_board_words(run),
    )


def _board_words(run: Run) -> str:
    """What the board is opened for: moves only where there is another panel to move to."""
    if not can_move(run.site):
        return "Choose what runs in an outage" if run.site.generators else "See the bus"
    return "Move a circuit" if run.verdict.over else "Try another assignment"


def verdict_words(run: Run, stands: Against | None = None) -> VerdictWords:
    """The run's sentence with its first words apart, and what goes without beside it.

    ``stands`` is what the page shows against it; draws that were made already where None is given.
    """
    stands = stands or drawn_against(run)
    verdict, doubt = judged(run), advice_on(run).doubt
    but = "But " if doubt and verdict.fits else ""
    return VerdictWords(
        status=graver(verdict_status(run), stands.status),
        answer=answer_words(run, stands.clauses),
        rest=verdict.rest,
        also=verdict.faults[1:],
        notes=" ".join((f"{but}{doubt}", *verdict.notes)).strip(),
        without=goes_without(run),
    )


def verdict_of_run(run: Run) -> VerdictWords:
    """The words of the run page, those of the overview: what blocks the house, the code, draws."""
    return verdict_words(run, against(run, all_findings(run.site, run), past_rating(run.site)))


def facts(run: Run) -> tuple[Fact, ...]:
    """The strip of facts under the verdict."""
    return (
        _must_serve(run),
        *_generators(run),
        _guesses(run.site),
        *_throws(run.site, run.scenario),
    )


def _must_serve(run: Run) -> Fact:
    ids = [c for c in run.site.circuits if c.load_class == "must_serve"]
    if not ids:
        return Fact("Must-serve circuits", "none", "", "give each circuit its class")
    dark = must_serve(run).dark
    if not dark:
        return Fact("A must-serve circuit is dark", "never", "", fmt.count(len(ids), "circuit"))
    figure, _, unit = fmt.duration(dark[0].longest_min).partition(" ")
    words = [dark[0].device or dark[0].name]
    if dark[0].times > 1:
        words.append(f"{fmt.duration(dark[0].dark_min)} in all")
    if dark[0].why:
        words.append(
            f"from {fmt.short_when(fmt.to_the_minute(dark[0].longest_at))}, {dark[0].since_words}"
        )
    if dark[0].too_long:
        words.append("longer than it can wait")
    if len(dark) > 1:
        words.append(f"{len(dark) - 1} more")
    name = "Longest time a must-serve circuit is dark"
    if dark[0].in_use_only:
        name = "Must-serve without power, in hours of use"
    return Fact(name, figure, unit, ", ".join(words))


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
        note = "a line is guessed" if result.fuel_guess else "by the points of its sheet"
        if generator.tank is not None:
            tank = generator.tank
            there = gal_words(tank.capacity_gal * tank.fill_share)
            reserve = gal_words(tank.capacity_gal * tank.reserve_share)
            note = f"of {there} when full, {reserve} of it a reserve"
        if generator.fuel == "natural_gas":
            note = f"{therms_words(result.fuel_used.value)} as a bill has it; {note}"
        name = f"{generator.fuel.replace('_', ' ').capitalize()} used"
        used = result.fuel_used.value
        figure = fmt.number(used, 0 if used >= 1000 else 1)
        found.append(Fact(name, figure, result.fuel_used.unit, note, result.fuel_guess))
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
