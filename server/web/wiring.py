"""The wiring sheet: the feeder schedule, and a bench for one run of wire."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter
from pydantic import TypeAdapter, ValidationError
from starlette.requests import Request
from starlette.responses import Response

from server.domain.errors import InputError, Problem
from server.domain.problems import problems_in
from server.domain.site import CodeEdition, Site
from server.rules.editions import site_rules, table_cite
from server.rules.ranges import Range
from server.rules.wiring.run import RANGES, Run, RunAnswer
from server.rules.wiring.sizing import size_run
from server.rules.words import a_rating
from server.web import format as fmt
from server.web.code_choice import CODE_CAUTIONS, EDITIONS, chosen_edition, report_of
from server.web.deps import StoredSiteDep
from server.web.format import listed
from server.web.forms import Form, nested, with_problems
from server.web.pages import is_partial, page_for, render

router = APIRouter(prefix="/sites/{site_id}")

BENCH_START: Mapping[str, str] = {
    "run_ft": "150",
    "noncontinuous_a": "40",
    "continuous_a": "0",
    "start_a": "0",
    "metal": "copper",
    "volts": "240",
    "power_factor": "1",
    "drop_percent": "3",
    "reckoning": "dc",
    "device_a": "",
    "terminal_c": "",
    "sets": "1",
    "letters": "THWN-2",
    "ambient_c": "30",
    "current_carrying": "3",
    "conduit": "pvc",
    "neutral_a": "",
}
METALS = (("copper", "copper"), ("aluminum", "aluminum"))
RECKONINGS = (
    ("dc", "dc resistance"),
    ("impedance", "impedance at the power factor"),
    ("both", "the larger of both"),
)
TERMINALS = (("", "by 110.14(C)"), ("60", "60 °C"), ("75", "75 °C"))
CONDUITS = (("pvc", "PVC"), ("aluminum", "aluminum"), ("steel", "steel"))
INSULATIONS = tuple((n, n) for n in ("THWN-2", "XHHW-2", "THWN", "NM-B"))
WHOLE = (("", "no"), ("on", "yes: all of one dwelling, from 100 A to 400 A"))
OPTIONAL = ("device_a", "terminal_c", "neutral_a", "drop_percent")
SHARE = RANGES["drop_share"]
FIGURES: Mapping[str, Range] = {
    **{name: permitted for name, permitted in RANGES.items() if name != "drop_share"},
    "drop_percent": Range(SHARE.low * 100, SHARE.high * 100, "%"),
}
CHOICES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "metal": METALS,
    "reckoning": RECKONINGS,
    "terminal_c": TERMINALS,
    "conduit": CONDUITS,
    "letters": INSULATIONS,
    "whole_dwelling": WHOLE,
}

_RUN: TypeAdapter[Run] = TypeAdapter(Run)


def _typed_wrong(values: Mapping[str, str]) -> tuple[Problem, ...]:
    """Every field that is unknown or out of range, each with what it may be."""
    found = []
    for name, permitted in FIGURES.items():
        text = values.get(name, "").strip().replace(",", "")
        if not text and name in OPTIONAL:
            continue
        try:
            fits = permitted.holds(float(text))
        except ValueError:
            fits = False
        if not fits:
            found.append(Problem(name, f"Write a number: {permitted.words}."))
    for name, options in CHOICES.items():
        if values.get(name, "") not in {value for value, _ in options}:
            words = listed([w for _, w in options])
            found.append(Problem(name, f"Choose one of these: {words}."))
    return tuple(found)


def bench_answer(values: Mapping[str, str], site: Site) -> tuple[Form, RunAnswer | None]:
    """The bench as typed, and its answer when it can be worked out."""
    if problems := _typed_wrong(values):
        return with_problems(values, problems), None
    document: dict[str, Any] = nested(
        {k: v for k, v in values.items() if k in {*BENCH_START, "whole_dwelling"}},
        optional=OPTIONAL,
        texts=("letters",),
    )
    document["whole_dwelling"] = document.get("whole_dwelling") == "on"
    percent = document.pop("drop_percent", None)
    document["drop_share"] = None if percent is None else float(percent) / 100.0
    try:
        answer = size_run(_RUN.validate_python(document), site_rules(site)[0])
    except ValidationError as error:
        problems = problems_in(error)
    except InputError as error:
        problems = (Problem(error.field, str(error)),)
    else:
        return Form(values), answer
    aliases = {"drop_share": "drop_percent", "insulation": "letters", "size": "run_ft"}
    return with_problems(values, problems, aliases=aliases), None


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
    }


@router.get("/wiring")
def wiring(request: Request, stored: StoredSiteDep, edition: str = "") -> Response:
    """The feeder schedule and the bench; as a fragment, the bench's answer alone."""
    site = stored.site
    chosen = chosen_edition(site, edition)
    typed = {k: v[:40] for k, v in request.query_params.items()}
    values = {**BENCH_START, **typed}
    form, answer = bench_answer(values, site.model_copy(update={"code_edition": chosen}))
    page = page_for(request, "Wiring", sheet="wiring", stored=stored, caution_keys=CODE_CAUTIONS)
    template = "wiring/_bench.html" if is_partial(request) else "wiring/wiring.html"
    return render(
        page,
        template,
        report=report_of(site, chosen),
        cites=_sections(site, chosen),
        feeders={f.id: f for f in site.feeders},
        names=site.name_of,
        form=form,
        answer=answer,
        editions=EDITIONS,
        chosen=chosen,
        choices=CHOICES,
        fmt=fmt,
        a_rating=a_rating,
    )
