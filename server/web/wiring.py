"""The wiring sheet: the feeder schedule."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.site import CodeEdition, Site
from server.rules.editions import site_rules, table_cite
from server.rules.wiring.electrodes import (
    copper_at_buildings,
    copper_at_disconnect,
    copper_in_common,
    copper_to_electrodes,
)
from server.web import format as fmt
from server.web.bench import bench_link
from server.web.code_choice import CODE_CAUTIONS, EDITIONS, chosen_edition, report_of
from server.web.deps import StoredSiteDep
from server.web.pages import page_for, render

router = APIRouter(prefix="/sites/{site_id}")


def _sections(site: Site, edition: CodeEdition) -> dict[str, str]:
    """The section each column of the schedule stands on, in this edition."""
    rules, _ = site_rules(site, edition)

    def section(name: str) -> str:
        return rules.figure(name).cite.section

    return {
        "design": section("feeder_wire"),
        "device": section("next_size_up_to_a"),
        "carries": f"{table_cite('ampacity', edition).section}, {section('terminal_60_up_to_a')}",
        "drop": section("drop_run_advice"),
        "neutral": section("neutral_size"),
        "ground": section("ground_size"),
        "dwelling": section("dwelling_share"),
        "service_design": section("service_wire"),
        "service_device": section("service_device"),
        "service_neutral": section("service_neutral"),
        "service_ground": section("service_ground"),
        "building_electrode": section("building_electrode"),
        "electrodes": table_cite("electrode", edition).section,
    }


@router.get("/wiring")
def wiring(request: Request, stored: StoredSiteDep, edition: str = "") -> Response:
    """Every feeder at its calculated load."""
    site = stored.site
    chosen = chosen_edition(site, edition)
    report = report_of(site, chosen)
    rules, _ = site_rules(site, chosen)
    page = page_for(request, "Wiring", sheet="wiring", stored=stored, caution_keys=CODE_CAUTIONS)
    return render(
        page,
        "wiring/wiring.html",
        report=report,
        electrodes={w.feeder_id: copper_to_electrodes(w, rules) for w in report.wiring},
        in_common=copper_in_common(site, report.wiring, rules),
        at_disconnect=copper_at_disconnect(site, report.wiring, rules),
        at_buildings=copper_at_buildings(site, report.wiring, rules),
        cites=_sections(site, chosen),
        feeders={f.id: f for f in site.feeders},
        names=site.name_of,
        bench_link=bench_link,
        editions=EDITIONS,
        chosen=chosen,
        fmt=fmt,
    )
