"""The findings sheet: everything the rules and the last runs say, to filter and open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.finding import Finding, Severity
from server.domain.site import CodeEdition, Site
from server.simulate.run import cached_run
from server.web.code_choice import CODE_CAUTIONS, EDITIONS, chosen_edition, report_of
from server.web.deps import StoredSiteDep
from server.web.pages import page_for, render

router = APIRouter(prefix="/sites/{site_id}")

SEVERITIES: tuple[Severity, ...] = get_args(Severity)


@dataclass(frozen=True)
class Found:
    """A finding with the name of what it is about and where to mend it."""

    finding: Finding
    about: str
    href: str


def all_found(site: Site, site_id: str, edition: CodeEdition) -> tuple[Found, ...]:
    """Findings of the rules and of every scenario's run, blocking first, each once."""
    found = list(report_of(site, edition).findings)
    for scenario in site.scenarios:
        found += cached_run(site, scenario).findings
    unique: dict[tuple[str, str, str], Finding] = {}
    for one in found:
        unique.setdefault((one.code, one.element_id, one.mend), one)
    ordered = sorted(unique.values(), key=lambda f: SEVERITIES.index(f.severity))
    return tuple(
        Found(f, site.name_of.get(f.element_id, site.name), _where(site, site_id, f.element_id))
        for f in ordered
    )


def _where(site: Site, site_id: str, element_id: str) -> str:
    if element_id in site.circuit_by_id:
        return f"/sites/{site_id}/circuits/{element_id}"
    return f"/sites/{site_id}/supply"


@router.get("/findings")
def findings(
    request: Request,
    stored: StoredSiteDep,
    edition: str = "",
    severity: str = "",
    find: str = "",
) -> Response:
    """Every finding of the site, by severity and by words."""
    chosen = chosen_edition(stored.site, edition)
    everything = all_found(stored.site, stored.id, chosen)
    wanted = next((s for s in SEVERITIES if s == severity), None)
    words = find.strip().casefold()
    shown = tuple(
        f
        for f in everything
        if (wanted is None or f.finding.severity == wanted)
        and words in f"{f.about} {f.finding.text} {f.finding.section}".casefold()
    )
    page = page_for(
        request, "Findings", sheet="findings", stored=stored, caution_keys=CODE_CAUTIONS
    )
    return render(
        page,
        "findings/findings.html",
        everything=everything,
        shown=shown,
        severities=SEVERITIES,
        severity=wanted or "",
        find=find[:80],
        report=report_of(stored.site, chosen),
        editions=EDITIONS,
        chosen=chosen,
    )
