"""The guided start: how a house is fed, its sources, its rooms, and what people forget."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.advise.begin.choices import WAYS, Choices
from server.advise.begin.site import begin_site
from server.advise.begin.taken import assumed, typicals_taken
from server.domain.circuit import DEFAULT_ALLOWED_GAP_MIN
from server.domain.errors import SiteFileError
from server.domain.site import Site
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web import words
from server.web.deps import FormDep, StoreDep
from server.web.drawing.sketch import CARD, sketch
from server.web.format import duration
from server.web.forms import Form, typed
from server.web.pages import page_for, redirect, render
from server.web.sites import numbered
from server.web.start_form import (
    BATTERY,
    HAVE,
    MANY,
    MUST,
    STEP_NAMES,
    STEPS,
    Step,
    begun_form,
    carried,
    choices_from,
    first_to_mend,
    step_named,
    wrong_before,
)
from server.web.start_mains import mains_asked
from server.web.start_view import (
    CLIMATES,
    CYLINDER_FIGURES,
    asked_again,
    cards,
    found_by,
    rooms,
    source_options,
    stacks,
    tick_words,
    watts_of,
    weighed,
)

router = APIRouter()

FIRST_DAY = "three-day-shutoff"
_TEMPLATES: dict[Step, str] = {
    "feed": "start/feed.html",
    "sources": "start/sources.html",
    "things": "start/things.html",
    "forgotten": "start/forgotten.html",
}
_CAUTIONS: dict[Step, tuple[str, ...]] = {
    "feed": ("planning-aid",),
    "sources": (
        "planning-aid",
        "backfeed",
        "exhaust",
        "co-alarms",
        "siting",
        "fuel",
        "propane",
        "gas",
        "solar",
    ),
    "things": ("planning-aid",),
    "forgotten": ("planning-aid", "medical", "live-parts"),
}


def _page(request: Request, step: Step, form: Form) -> Response:
    values = form.values
    number = STEPS.index(step) + 1
    page = page_for(
        request,
        f"Plan your house, step {number}: {STEP_NAMES[step].lower()}",
        caution_keys=_CAUTIONS[step],
        back="/start",
        said="" if request.method == "POST" else None,
    )
    way = next((w for w in WAYS.values() if w.id == values.get("way")), WAYS["nothing"])
    house: tuple[Choices, Site] | None = None
    urgent, others = weighed(values)
    if step == "forgotten":
        choices = choices_from({n: t for n, t in values.items() if n not in form.problems})
        house = choices, begin_site(choices, today=_today())
    return render(
        page,
        _TEMPLATES[step],
        status_code=422 if form.wrong else 200,
        form=form,
        step=step,
        number=number,
        steps=tuple(STEP_NAMES.items()),
        before=STEPS[number - 2] if number > 1 else None,
        after=STEPS[number] if number < len(STEPS) else None,
        carried=carried(values, step),
        way=way,
        cards=cards(),
        options=source_options(way),
        mains_asked=mains_asked(form),
        tank_hint=f"Natural gas has none. {CYLINDER_FIGURES}",
        climates=CLIMATES,
        rooms=rooms(),
        stacks=stacks(),
        found_by=found_by,
        tick_words=tick_words,
        watts_of=watts_of,
        have=HAVE,
        many=MANY,
        asked=asked_again(values),
        must=MUST,
        battery=BATTERY,
        bears_alone=duration(DEFAULT_ALLOWED_GAP_MIN),
        urgent=urgent,
        others=others,
        house=house[1] if house else None,
        taken=typicals_taken(house[0]) if house else (),
        assumed=assumed(house[0]) if house else (),
        drawing=sketch(house[1]) if house else None,
        small=sketch(house[1], CARD) if house else None,
        words=words,
    )


def _today() -> date:
    return datetime.now(UTC).date()


@router.get("/start")
def show_step(request: Request, step: str = "") -> Response:
    """One step, or the first one before it that needs mending."""
    values = begun_form(typed(request.query_params))
    wanted = step_named(step)
    wrong = wrong_before(values, wanted)
    if wrong is not None:
        return _page(request, *wrong)
    return _page(request, wanted, Form(values))


@router.post("/start")
def make_house(request: Request, store: StoreDep, data: FormDep) -> Response:
    """Save the house that was chosen and show what a bad day does to it."""
    values = begun_form(typed(data))
    try:
        choices = choices_from(values)
        drawn = _drawn_before(store, choices)
        if drawn is not None:
            said = (
                f"{drawn.site.name} stands already, just so: this is it, and no second one was "
                "made. For another house, go back and give it another name."
            )
            return redirect(request, f"/sites/{drawn.id}?scenario={FIRST_DAY}", said=said)
        named = choices.model_copy(update={"name": numbered(store, choices.name)})
        site = begin_site(named, today=_today())
    except SiteFileError as error:
        return _page(request, *first_to_mend(values, error))
    stored = store.create(site, label="Begun by the guided start")
    beside = f"There is a {choices.name} already. " if site.name != choices.name else ""
    said = (
        f"{beside}{site.name} stands, with {len(site.circuits)} circuits. Figures behind ≈ are "
        "guesses: confirm the first of the list below, and the answer gets firmer."
    )
    return redirect(request, f"/sites/{stored.id}?scenario={FIRST_DAY}", said=said)


def _drawn_before(store: SiteStore, choices: Choices) -> StoredSite | None:
    """The house that these choices made already, as long as nobody changed it since.

    The browser's way back leads to the last step again, where the button is one press away.
    """
    named = re.compile(rf"{re.escape(choices.name)}( \d+)?")
    for card in store.list_sites():
        if named.fullmatch(card.name):
            stored = store.get(card.id)
            same = choices.model_copy(update={"name": card.name})
            if stored.site == begin_site(same, today=_today()):
                return stored
    return None
