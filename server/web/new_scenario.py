"""The page of ready-made scenarios: twelve kinds of day, what each proves and what it asks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.edits import free_name, new_id, put_scenario
from server.domain.errors import Problem, SiteFileError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.asks import Ask
from server.simulate.templates import TEMPLATES, Template, template
from server.store.cards import StoredSite
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, problems_of, typed, with_problems
from server.web.pages import page_for, redirect, render
from server.web.scenario_choice import entry_cautions

router = APIRouter(prefix="/sites/{site_id}/scenarios")

PLAIN = "plain-day"


@dataclass(frozen=True)
class Offer:
    """A kind of day on this site. ``names`` are the fields of its questions."""

    template: Template
    asks: tuple[tuple[str, Ask], ...]
    lacks: str
    has_one: bool


def _today() -> date:
    return datetime.now(UTC).date()


def _field(template_id: str, key: str) -> str:
    return f"{template_id}.{key}"


def offers(site: Site, start: date) -> tuple[Offer, ...]:
    """Every kind of day, with its questions and what the house lacks for it."""
    names = {s.name for s in site.scenarios}
    return tuple(
        Offer(
            one,
            tuple((_field(one.id, ask.key), ask) for ask in one.asks(site, start)),
            _lacks(site, one.id),
            one.name in names,
        )
        for one in TEMPLATES
    )


_SHOP = frozenset({"table-saw", "dust-collector", "air-compressor"})
_NEEDS_SET = frozenset({"three-night-gale", "late-fuel", "generator-wont-start"})


def _lacks(site: Site, template_id: str) -> str:
    """What a day is about that this house does not have, in a sentence."""
    appliances = [a for c in site.circuits for a in c.appliances]
    cars = sum(a.behaviour.model == "charger" for a in appliances)
    if template_id == "full-house-two-cars" and cars < 2:
        return "No car charges here yet." if cars == 0 else "One car charges here."
    if template_id == "workshop-day" and not any(a.kind in _SHOP for a in appliances):
        return "No saw, collector or compressor is entered here yet."
    if template_id == "medical-night" and not any(
        c.load_class == "must_serve" for c in site.circuits
    ):
        return "No circuit is must-serve here yet."
    if template_id == "bright-spring-day" and not site.solar:
        return "No solar is entered here yet."
    if template_id in _NEEDS_SET and not site.generators:
        return "No generator is entered here yet."
    if template_id == "late-fuel" and all(g.tank is None for g in site.generators):
        return "No tank is entered here: gas from a pipe never comes late."
    return ""


def _page(request: Request, stored: StoredSite, form: Form | None = None) -> Response:
    start = _today()
    found = offers(stored.site, start)
    page = page_for(
        request,
        "New scenario",
        sheet="scenarios",
        stored=stored,
        caution_keys=entry_cautions(stored.site, None),
        back=f"/sites/{stored.id}/scenarios/new",
        said=None if form is None else "",
    )
    defaults = {name: ask.default for offer in found for name, ask in offer.asks}
    defaults["revision"] = str(stored.revision)
    shown = Form(defaults) if form is None else replace(form, values=defaults | dict(form.values))
    return render(
        page,
        "scenarios/new.html",
        status_code=200 if form is None else status_of(form),
        form=shown,
        offers=found,
        plain=PLAIN,
        asked=shown.value("template"),
    )


@router.get("/new")
def show_new(request: Request, stored: StoredSiteDep) -> Response:
    """The kinds of day to pick from."""
    return _page(request, stored)


def plain_day() -> Scenario:
    """Twenty-four hours from midnight with the utility on."""
    midnight = datetime.now(UTC).replace(tzinfo=None, hour=0, minute=0, second=0, microsecond=0)
    return Scenario(id="day", name="A day", start=midnight, span_h=24)


@router.post("/new")
def add(request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep) -> Response:
    """Build the chosen kind of day from the answers, save it and show its run."""
    values = typed(data)
    site = stored.site
    wanted = values.get("template", "") or PLAIN
    try:
        made = plain_day() if wanted == PLAIN else _built(site, wanted, values)
    except SiteFileError as error:
        problems = tuple(replace(p, field=_field(wanted, p.field)) for p in problems_of(error))
        return _page(request, stored, with_problems(values, problems))
    scenario = made.model_copy(
        update={
            "id": new_id(made.id, {s.id for s in site.scenarios} | {"new"}),
            "name": free_name(made.name, {s.name for s in site.scenarios}),
        }
    )
    said = f"Add scenario {scenario.name}"
    form = try_save(store, stored, values, lambda s: put_scenario(s, scenario), label=said)
    if form is not None:
        return _page(request, stored, form)
    end = "/edit" if wanted == PLAIN else ""
    return redirect(request, f"/sites/{stored.id}/scenarios/{scenario.id}{end}", said=said)


def _built(site: Site, template_id: str, values: dict[str, str]) -> Scenario:
    chosen = template(template_id)
    start = _today()
    asks = chosen.asks(site, start)
    given = {ask.key: values.get(_field(template_id, ask.key), ask.default) for ask in asks}
    emptied = tuple(Problem(ask.key, _asked_again(ask)) for ask in asks if not given[ask.key])
    if emptied:
        raise SiteFileError((*emptied, *_wrong_besides(chosen, site, start, given)))
    return chosen.build(site, start=start, given=given)


def _wrong_besides(
    chosen: Template, site: Site, start: date, given: dict[str, str]
) -> tuple[Problem, ...]:
    """What else cannot be read, so that all of it is said at once."""
    try:
        chosen.build(site, start=start, given=given)
    except SiteFileError as error:
        return error.problems
    return ()


def _asked_again(ask: Ask) -> str:
    """What is said beside a question whose answer was taken out; none is taken in its place."""
    if ask.kind == "number":
        return f"Write a number, such as {ask.default}."
    return "Write a day." if ask.kind == "date" else "Choose one of the list."
