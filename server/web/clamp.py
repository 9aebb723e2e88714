"""Clamp readings: amps read on a leg, beside the run's figure for that time of day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.base import LEGS
from server.domain.edits import new_id, with_changes
from server.domain.errors import EditError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.survey import ClampReading
from server.simulate.clamp import AROUND_MIN, ClampComparison, Running, compare, places
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, checked, nested, typed
from server.web.pages import page_for, redirect, render
from server.web.scenario_choice import chosen_scenario

router = APIRouter(prefix="/sites/{site_id}/survey/clamp")

CAUTIONS = ("planning-aid", "live-parts")


@dataclass(frozen=True)
class ReadingRow:
    """A reading with its comparison, None where the chosen run has nothing to hold it against."""

    reading: ClampReading
    place: str
    comparison: ClampComparison | None
    words: str


def clamp_path(stored: StoredSite) -> str:
    """The address of the readings."""
    return f"/sites/{stored.id}/survey/clamp"


@router.get("")
def readings(request: Request, stored: StoredSiteDep, scenario: str = "") -> Response:
    """All readings beside one scenario, and a form for the next."""
    now = datetime.now(UTC).astimezone().replace(tzinfo=None, second=0, microsecond=0)
    blank = {"at": fmt.field_time(now), "element_id": "", "l1_a": "", "l2_a": ""}
    form = Form(blank | {"neutral_a": "", "note": "", "scenario": scenario})
    return _page(request, stored, form, chosen_scenario(stored.site, scenario))


@router.post("/readings")
def add_reading(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Keep a reading."""
    values = typed(data)
    count = len(stored.site.clamp_readings)

    def edit(site: Site) -> Site:
        mine = {k: v for k, v in values.items() if k in ClampReading.model_fields}
        document = nested(mine, optional=("neutral_a",), texts=("note", "at", "element_id"))
        if document.get("element_id") not in site.name_of:
            raise EditError("Choose a place of this site.", field="element_id")
        taken = {r.id for r in site.clamp_readings}
        reading = checked(ClampReading, document | {"id": new_id("reading", taken)})
        return with_changes(site, clamp_readings=(*site.clamp_readings, reading))

    form = try_save(
        store, stored, values, edit, label="Add a clamp reading", strip=f"clamp_readings.{count}."
    )
    chosen = chosen_scenario(stored.site, values.get("scenario", ""))
    if form is not None:
        return _page(request, stored, form, chosen)
    return redirect(request, _with(stored, chosen), said="Kept the reading.")


@router.post("/readings/{reading_id}/delete")
def delete_reading(
    request: Request, store: StoreDep, stored: StoredSiteDep, reading_id: str, data: FormDep
) -> Response:
    """Delete a reading; undo brings it back."""
    values = typed(data)
    kept = tuple(r for r in stored.site.clamp_readings if r.id != reading_id)
    form = try_save(
        store,
        stored,
        values,
        lambda site: with_changes(site, clamp_readings=kept),
        label="Delete a clamp reading",
    )
    chosen = chosen_scenario(stored.site, values.get("scenario", ""))
    if form is not None:
        return _page(request, stored, form, chosen)
    said = "Deleted the reading. Undo brings it back."
    return redirect(request, _with(stored, chosen), said=said)


def _with(stored: StoredSite, scenario: Scenario | None) -> str:
    return clamp_path(stored) + (f"?scenario={scenario.id}" if scenario else "")


def _page(request: Request, stored: StoredSite, form: Form, scenario: Scenario | None) -> Response:
    site = stored.site
    run = cached_run(site, scenario) if scenario is not None and site.panels else None
    page = page_for(
        request,
        "Clamp readings",
        sheet="survey",
        stored=stored,
        scenario=scenario,
        caution_keys=CAUTIONS,
        said=None if request.method == "GET" else "",
        back=_with(stored, scenario),
    )
    if not form.value("revision"):
        form = replace(form, values={**form.values, "revision": str(stored.revision)})
    rows = []
    for reading in sorted(site.clamp_readings, key=lambda r: r.at, reverse=True):
        compared = compare(run, reading) if run else None
        place = site.name_of.get(reading.element_id, "a place that is gone")
        rows.append(ReadingRow(reading, place, compared, reading_words(compared, scenario)))
    return render(
        page,
        "survey/clamp.html",
        status_code=status_of(form),
        form=form,
        rows=rows,
        places=[(p.element_id, site.name_of[p.element_id]) for p in places(run)] if run else [],
        chosen=scenario,
        around_min=AROUND_MIN,
        fmt=fmt,
    )


def reading_words(compared: ClampComparison | None, scenario: Scenario | None) -> str:
    """What a reading says about the model, in a sentence."""
    if compared is None:
        name = scenario.name if scenario else "Without a scenario there"
        return f"{name} has nothing to hold this against at that time or place."
    off = [leg for leg in compared.legs if leg.fit != "inside"]
    if not off:
        return "Both legs lie where the model has them around that time."
    if compared.running:
        return _running_words(compared.running)
    worst = max(off, key=lambda leg: abs(leg.apart_a))
    if worst.fit == "above":
        return (
            f"{worst.leg} read {fmt.amps(worst.read_a)} A; the model has at most "
            f"{fmt.amps(worst.most_a)} A around that time. Look for a load that is missing, or one "
            "whose figure is too small."
        )
    return (
        f"{worst.leg} read {fmt.amps(worst.read_a)} A; the model has at least "
        f"{fmt.amps(worst.least_a)} A around that time. Look for a load that was off that day, or "
        "one whose figure is too large."
    )


def _running_words(running: Running) -> str:
    on_legs = zip(LEGS, running.amps, strict=True)
    amps = " and ".join(f"{fmt.amps(drawn)} A on {leg}" for leg, drawn in on_legs if drawn)
    less = "Not on" if running.off else "Less of it is on"
    return (
        f"{less} in this run at that time. The reading agrees with {running.name}, which by its "
        f"own figures draws {amps} while it runs."
    )
