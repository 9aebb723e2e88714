"""The wiring bench: one run of wire by itself, in as many segments as it has."""

from __future__ import annotations

from math import floor
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.rules.editions import Rulebook, site_rules, table_cite
from server.rules.tables import raceway_kind
from server.rules.wiring.ampacity import both_degrees
from server.rules.wiring.drop import drop_within
from server.rules.wiring.feeder import FeederWiring
from server.rules.wiring.ground import hair_words
from server.rules.wiring.piece import MOST_PIECES
from server.rules.wiring.service import Use, figure_for
from server.rules.words import a_rating, percent_over
from server.web import bench_fields as fields_of
from server.web import format as fmt
from server.web.bench_form import read_bench
from server.web.code_choice import CODE_CAUTIONS, EDITIONS, chosen_edition
from server.web.deps import StoredSiteDep
from server.web.forms import typed
from server.web.pages import is_partial, page_for, render

router = APIRouter(prefix="/sites/{site_id}")


def bench_link(site_id: str, wired: FeederWiring, edition: str) -> str:
    """The address of the bench with a feeder on it, as it is now.

    Its load is cut to a tenth of an ampere, so that one held to its device does not pass it.
    """
    run = wired.advice.run if wired.advice else None
    told: dict[str, str] = {"edition": edition}
    if run is not None:
        brief_a, held_a = _cut(run.noncontinuous_a), _cut(run.continuous_a)
        neutral_a = min(_cut(run.neutral_a or 0.0), brief_a + held_a)
        told |= {
            "noncontinuous_a": f"{brief_a:.1f}",
            "continuous_a": f"{held_a:.1f}",
            "volts": f"{run.volts:g}",
            "device_a": f"{run.device_a:g}" if run.device_a else "",
            "terminal_c": str(run.terminal_c or ""),
            "neutral_a": f"{neutral_a:.1f}" if neutral_a else "",
            "use": "service" if run.service else "",
            "whole_dwelling": "on" if run.whole_dwelling else "",
            "full_rated": "on" if run.full_rated else "",
            "ground_metal": run.ground_metal,
        }
    if wired.start_a and wired.start_volts == wired.volts:
        told["start_a"] = f"{wired.start_a:g}"
    for at, one in enumerate(wired.segments[:MOST_PIECES]):
        segment = one.segment
        told |= {
            fields_of.piece_name(at, name): text
            for name, text in (
                ("run_ft", f"{segment.run_ft:g}"),
                ("size", segment.size),
                ("metal", segment.metal),
                ("sets", str(segment.sets)),
                ("letters", segment.insulation.upper()),
                ("kind", (raceway_kind(segment.raceway) or "") if segment.raceway else ""),
                ("trade_size", segment.raceway_trade_size),
                ("ambient_f", "" if segment.ambient_f is None else f"{segment.ambient_f:g}"),
                ("current_carrying", str(segment.current_carrying or "")),
                ("place", "wet" if segment.wet else ""),
            )
        }
    return f"/sites/{site_id}/wiring/bench?{urlencode({k: v for k, v in told.items() if v})}"


def _cut(amps: float) -> float:
    return floor(amps * 10 + 1e-6) / 10


_USES: dict[str, Use] = {"branch": "branch", "receptacles": "receptacles", "service": "service"}


def bench_cites(rules: Rulebook, *, use: Use) -> dict[str, str]:
    """The section each part of the answer stands on, by what the run is."""

    def section(name: str) -> str:
        return rules.figure(name).cite.section

    def of_run(name: str) -> str:
        return figure_for(name, use, rules).cite.section

    def table(name: str) -> str:
        return table_cite(name, rules.edition).section

    return {
        "dwelling": section("dwelling_share"),
        "carries": f"{table('ampacity')}, {section('terminal_60_up_to_a')}",
        "bundling": table("bundling"),
        "ambient": table("ambient"),
        "neutral": of_run("neutral_size"),
        "ground": of_run("ground_size"),
        "design": of_run("feeder_wire"),
        "electrode": table("electrode"),
        "fill": f"{section('fill_more')}, {table('raceways')}",
        "nipple": section("fill_nipple"),
        "rounding": section("fill_round_up_at"),
        "jam": section("jam_least"),
        "bends": section("bends_between_pulls_deg"),
        "box_straight": section("box_straight_factor"),
        "box_angle": section("box_angle_factor"),
        "drop": of_run("drop_run_advice"),
    }


@router.get("/wiring/bench")
def bench(request: Request, stored: StoredSiteDep, edition: str = "") -> Response:
    """The bench and what stands on it; as a fragment, the answer alone."""
    site = stored.site
    chosen = chosen_edition(site, edition)
    rules, _ = site_rules(site, chosen)
    told = {k: v[:80] for k, v in typed(request.query_params).items() if v}
    values = {k: v for k, v in told.items() if k in fields_of.LABELS}
    root = f"/sites/{stored.id}/wiring/bench"
    page = page_for(
        request,
        "Wiring bench",
        sheet="wiring",
        stored=stored,
        caution_keys=CODE_CAUTIONS,
    )
    partial = is_partial(request)
    own = {"edition": chosen} if chosen != site.code_edition else {}
    address = f"{root}?{urlencode(values | own)}" if values or own else root
    return render(
        page,
        "wiring/_bench.html" if partial else "wiring/bench.html",
        headers={"HX-Replace-Url": address} if partial else None,
        oob=partial,
        bench=read_bench(values, rules),
        rules=rules,
        cites=bench_cites(rules, use=_USES.get(values.get("use", ""), "feeder")),
        total_advice=rules.value("drop_total_advice"),
        drop_within=drop_within,
        bends_most=rules.value("bends_between_pulls_deg"),
        fahrenheit=both_degrees,
        fields_of=fields_of,
        example=f"{root}?{urlencode(dict(fields_of.EXAMPLE) | own | {'example': 'on'})}",
        is_example=told.get("example") == "on",
        root=root,
        editions=EDITIONS,
        chosen=chosen,
        fmt=fmt,
        a_rating=a_rating,
        percent_over=percent_over,
        hair_words=hair_words,
    )
