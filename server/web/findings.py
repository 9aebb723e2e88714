"""The findings sheet: everything the rules and the last runs say, to filter and open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, get_args
from urllib.parse import urlencode

from fastapi import APIRouter, Depends
from starlette.requests import Request
from starlette.responses import Response

from server.advise.advice import advice_on, judged
from server.domain.finding import Finding, Severity
from server.domain.site import CodeEdition, Site
from server.rules.mends.recheck import MENDS
from server.simulate.results import Run
from server.simulate.verdict import ON_THE_CLOCK, dark_sentence, more_dark
from server.web.code_choice import (
    CODE_CAUTIONS,
    EDITIONS,
    chosen_edition,
    rechecked_report_of,
    report_of,
)
from server.web.deps import StoredSiteDep
from server.web.overview import verdict_of_run
from server.web.pages import page_for, render
from server.web.some_runs import some_runs, without_run

router = APIRouter(prefix="/sites/{site_id}")

SEVERITIES: tuple[Severity, ...] = get_args(Severity)


HEADS = {
    "blocking": "Must be cleared first",
    "warning": "At fault",
    "note": "To ask, to read, to allow for",
}
SHEETS = {
    "demand-above-rating": ("demand", "el-", "its demand worksheet"),
    "wire-too-small": ("wiring", "w-", "its row of the feeder schedule"),
    "terminals-asked": ("wiring", "w-", "its row of the feeder schedule"),
    "feeder-ground-asked": ("wiring", "w-", "its row of the feeder schedule"),
    "ground-too-small": ("wiring", "w-", "its row of the feeder schedule"),
    "feeder-tap": ("wiring", "w-", "its row of the feeder schedule"),
    "neutral-too-small": ("wiring", "w-", "its row of the feeder schedule"),
    "loads-without-neutral": ("wiring", "w-", "its row of the feeder schedule"),
    "raceway-too-full": ("wiring", "w-", "its row of the feeder schedule"),
    "drop-above-advice": ("wiring", "w-", "its row of the feeder schedule"),
    "total-drop-above-advice": ("wiring", "w-", "its row of the feeder schedule"),
}


@dataclass(frozen=True)
class Found:
    """A finding with the name of what it is about, where to mend it and where it is worked out.

    ``simulated`` names the scenarios whose runs say it; empty for one of the rules.
    """

    finding: Finding
    anchor: str
    about: str
    href: str
    sheet_href: str = ""
    sheet_words: str = ""
    simulated: tuple[str, ...] = ()

    @property
    def may_be_tried(self) -> bool:
        """Whether a mend of its kind can be worked into a site at all."""
        return not self.simulated and self.finding.code in MENDS

    @property
    def words(self) -> str:
        """All that can be searched for."""
        f = self.finding
        return " ".join((self.about, f.text, f.why, f.mend, f.who, f.rule, f.code, *self.simulated))


@dataclass(frozen=True)
class Simulated:
    """What fails in the simulation of one scenario. ``faults`` is empty where it holds."""

    scenario_id: str
    name: str
    status: str
    answer: str
    faults: tuple[str, ...]

    @property
    def more_harms(self) -> bool:
        """Whether a fault leaves harms to the harm clock of the run."""
        return any(fault.endswith(f"{ON_THE_CLOCK}.") for fault in self.faults)


def simulated(site: Site, runs: Mapping[str, Run]) -> tuple[Simulated, ...]:
    """The scenarios of the site with a run, those with something that fails first."""
    found = []
    for scenario in site.scenarios:
        run = runs.get(scenario.id)
        if run is None:
            continue
        each = [dark_sentence(gap) for gap in run.verdict.gaps]
        counted = {more_dark(run.verdict.gaps[at:]) for at in range(1, len(each))}
        words = verdict_of_run(run)
        said = [fault for fault in judged(run).faults if fault not in counted]
        said += [words for words in each if words not in said]
        if doubt := advice_on(run).doubt:
            said.append(doubt)
        found.append(Simulated(scenario.id, scenario.name, words.status, words.answer, tuple(said)))
    return tuple(sorted(found, key=lambda one: (not one.faults, one.status != "over")))


def all_found(
    site: Site,
    site_id: str,
    edition: CodeEdition,
    runs: Mapping[str, Run],
    *,
    tried: bool = True,
) -> tuple[Found, ...]:
    """Findings of the rules and of the runs by id of scenario, blocking first, each once.

    With ``tried`` each mend is worked into a copy and that is checked again, which takes a while.
    """
    unique: dict[tuple[str, ...], Finding] = {}
    report = rechecked_report_of(site, edition) if tried else report_of(site, edition)
    for one in report.findings:
        unique.setdefault((*one.key, one.mend), one)
    of_rules = set(unique)
    scenarios: dict[tuple[str, ...], dict[str, None]] = {}
    for scenario in site.scenarios:
        run = runs.get(scenario.id)
        if run is None:
            continue
        for one in (*run.findings, *advice_on(run).findings):
            key = (*one.key, one.mend)
            if key not in of_rules:
                unique.setdefault(key, one)
                scenarios.setdefault(key, {})[scenario.name] = None
    ordered = sorted(unique.values(), key=lambda f: SEVERITIES.index(f.severity))
    shown: list[Found] = []
    for finding in ordered:
        name = "-".join(filter(None, ("finding", finding.code, finding.element_id)))
        alike = sum(f.finding.key[:2] == finding.key[:2] for f in shown)
        anchor = f"{name}-{alike + 1}" if alike else name
        of = tuple(scenarios.get((*finding.key, finding.mend), ()))
        shown.append(replace(_placed(finding, anchor, site, site_id, edition), simulated=of))
    return tuple(shown)


def _placed(finding: Finding, anchor: str, site: Site, site_id: str, edition: CodeEdition) -> Found:
    element_id = finding.element_id
    about = site.name_of.get(element_id, site.name)
    href = _where(site, site_id, element_id)
    if finding.code not in SHEETS:
        return Found(finding, anchor, about, href)
    sheet, prefix, words = SHEETS[finding.code]
    there = f"/sites/{site_id}/{sheet}?edition={edition}#{prefix}{element_id}"
    return Found(finding, anchor, about, href, there, words)


def _where(site: Site, site_id: str, element_id: str) -> str:
    if element_id in site.circuit_by_id:
        return f"/sites/{site_id}/circuits/{element_id}"
    return f"/sites/{site_id}/supply"


@dataclass(frozen=True)
class Asked:
    """Which findings a reader asked for."""

    edition: str = ""
    severity: str = ""
    find: str = ""

    @property
    def wanted(self) -> Severity | None:
        """The one severity to show; None for all."""
        return next((s for s in SEVERITIES if s == self.severity), None)

    def of(self, found: tuple[Found, ...]) -> tuple[Found, ...]:
        """Those of the severity whose words hold what was looked for."""
        words = self.find.strip().casefold()
        return tuple(
            f
            for f in found
            if self.wanted in {None, f.finding.severity} and words in f.words.casefold()
        )


AskedDep = Annotated[Asked, Depends(Asked)]


@router.get("/findings")
def findings(request: Request, stored: StoredSiteDep, asked: AskedDep, tried: str = "") -> Response:
    """Every finding of the site, by severity and by words; mends are tried when asked for."""
    chosen = chosen_edition(stored.site, asked.edition)
    runs = some_runs(stored.site)
    everything = all_found(stored.site, stored.id, chosen, runs, tried=bool(tried))
    page = page_for(
        request, "Findings", sheet="findings", stored=stored, caution_keys=CODE_CAUTIONS
    )
    query = {"edition": chosen, "severity": asked.wanted or "", "find": asked.find}
    return render(
        page,
        "findings/findings.html",
        everything=everything,
        shown=asked.of(everything),
        simulated=simulated(stored.site, runs),
        not_run=without_run(stored.site, runs),
        severities=SEVERITIES,
        heads=HEADS,
        severity=asked.wanted or "",
        find=asked.find[:80],
        report=report_of(stored.site, chosen),
        editions=EDITIONS,
        chosen=chosen,
        tried=bool(tried),
        query=urlencode({key: value for key, value in query.items() if value}),
    )


@router.get("/findings/tried")
def mends_tried(request: Request, stored: StoredSiteDep, asked: AskedDep) -> Response:
    """What every mend leads to, for the page that is waiting for it."""
    chosen = chosen_edition(stored.site, asked.edition)
    page = page_for(request, "Findings", stored=stored)
    runs = some_runs(stored.site, cells=0)
    shown = asked.of(all_found(stored.site, stored.id, chosen, runs))
    return render(page, "findings/_tried.html", shown=shown)
