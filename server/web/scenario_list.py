"""The scenarios of a site: the list, and adding, editing, duplicating and deleting one."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.advise.fuel_words import FuelParts, parts_wanted, short_gal
from server.domain.edits import new_id, put_scenario, remove_scenario
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.run import cached_run, kept_run
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web import words
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.drawing.weather_curve import weather_curve
from server.web.edits import status_of, try_save
from server.web.forms import Form, checked, typed
from server.web.meanwhile import begun_at
from server.web.new_scenario import plain_day
from server.web.overview import verdict_of_run
from server.web.pages import page_for, redirect, render
from server.web.scenario_choice import entry_cautions, run_cautions
from server.web.scenario_form import SPARE, form_of, options_of
from server.web.scenario_outside import told_scenario, with_asked
from server.web.timeline_lanes import lanes

router = APIRouter(prefix="/sites/{site_id}/scenarios")

_MORE_ROWS = "rows"
AGAIN = "again"
"""The field of a form whose scenario is gone: save it as a new one."""


def _list_page(request: Request, stored: StoredSite, form: Form | None = None) -> Response:
    page = page_for(
        request,
        "Scenarios",
        sheet="scenarios",
        stored=stored,
        caution_keys=run_cautions(stored.site, None, over=False),
        back=f"/sites/{stored.id}/scenarios",
        said=None if form is None else "",
    )
    kept = {s.id: kept_run(stored.site, s) for s in stored.site.scenarios}
    return render(
        page,
        "scenarios/list.html",
        status_code=200 if form is None else status_of(form),
        form=form,
        verdicts={key: verdict_of_run(run) for key, run in kept.items() if run is not None},
        fmt=fmt,
    )


@router.get("")
def show_list(request: Request, stored: StoredSiteDep) -> Response:
    """Every scenario of the site."""
    return _list_page(request, stored)


@router.get("/{scenario_id}/verdict")
def show_verdict(request: Request, stored: StoredSiteDep, scenario_id: str) -> Response:
    """The verdict of one scenario, as the cell of its row."""
    scenario = stored.site.scenario(scenario_id)
    page = page_for(request, "Verdict", stored=stored, said="")
    verdict = verdict_of_run(cached_run(stored.site, scenario))
    return render(page, "scenarios/_verdict.html", scenario=scenario, verdict=verdict, late=True)


def _save(
    request: Request,
    store: StoreDep,
    stored: StoredSite,
    values: Mapping[str, str],
    scenario: Scenario,
    *,
    said: str,
) -> Response:
    """Add one scenario and open its form, or say on the list why not."""
    form = try_save(store, stored, values, lambda site: put_scenario(site, scenario), label=said)
    if form is not None:
        return _list_page(request, stored, form)
    return redirect(request, f"/sites/{stored.id}/scenarios/{scenario.id}/edit", said=said)


def _taken(site: Site) -> set[str]:
    return {s.id for s in site.scenarios} | {"new"}


@router.post("/{scenario_id}/duplicate")
def duplicate(
    request: Request, store: StoreDep, stored: StoredSiteDep, scenario_id: str, data: FormDep
) -> Response:
    """Add a copy of a scenario."""
    base = stored.site.scenario(scenario_id)
    name = f"{base.name[:70]}, copy"
    copy = base.model_copy(update={"id": new_id(base.id, _taken(stored.site)), "name": name})
    return _save(request, store, stored, typed(data), copy, said=f"Duplicate scenario {base.name}")


@router.post("/{scenario_id}/delete")
def delete(
    request: Request, store: StoreDep, stored: StoredSiteDep, scenario_id: str, data: FormDep
) -> Response:
    """Delete a scenario; undo brings it back."""
    base = stored.site.scenario(scenario_id)
    said = f"Delete scenario {base.name}"
    form = try_save(
        store, stored, typed(data), lambda site: remove_scenario(site, scenario_id), label=said
    )
    if form is not None:
        return _list_page(request, stored, form)
    return redirect(request, f"/sites/{stored.id}/scenarios", said=f"{said}. Undo brings it back.")


def edit_page(
    request: Request,
    stored: StoredSite,
    scenario: Scenario,
    form: Form,
    *,
    spare: int = SPARE,
    hourly: Form | None = None,
) -> Response:
    """The form of one scenario, and that of its weather hour by hour."""
    page = page_for(
        request,
        f"Edit {scenario.name}",
        sheet="scenarios",
        stored=stored,
        caution_keys=entry_cautions(stored.site, scenario),
        back=f"/sites/{stored.id}/scenarios",
        said=None if request.method == "GET" else "",
    )
    form = begun_at(form, stored.revision)
    opened = request.query_params.get("open", "")
    return render(
        page,
        "scenarios/edit.html",
        status_code=status_of(form if hourly is None else hourly),
        scenario=scenario,
        form=form,
        hourly=hourly or Form({}),
        options=options_of(stored.site),
        lanes=lanes(stored.site, form.values),
        curve=weather_curve(scenario),
        words=words,
        spare=spare,
        usual=SPARE,
        opened=opened,
        wanted=_fuel_wanted(stored.site, scenario) if opened == "deliveries" else None,
        fmt=fmt,
    )


def _fuel_wanted(site: Site, scenario: Scenario) -> FuelParts | None:
    """The fuel to be brought by the run that asked for it; None where no run is at hand."""
    run = kept_run(site, scenario)
    short = (need for need in run.fuel if short_gal(need) > 0.0) if run else iter(())
    return next((parts_wanted(site, need) for need in short), None)


@router.get("/{scenario_id}/edit")
def edit_form(request: Request, stored: StoredSiteDep, scenario_id: str) -> Response:
    """The form of one scenario."""
    scenario = stored.site.scenario(scenario_id)
    return edit_page(request, stored, scenario, form_of(scenario))


@router.post("/{scenario_id}/edit")
def edit(
    request: Request, store: StoreDep, stored: StoredSiteDep, scenario_id: str, data: FormDep
) -> Response:
    """Save a scenario, or show more empty rows when that was asked."""
    values = typed(data)
    scenario = next((s for s in stored.site.scenarios if s.id == scenario_id), None)
    if scenario is None:
        return _save_again(request, store, stored, scenario_id, values)
    if values.get("act") == _MORE_ROWS:
        return edit_page(request, stored, scenario, Form(values), spare=SPARE + 3)
    form = try_save(
        store,
        stored,
        values,
        lambda site: put_scenario(site, told_scenario(values, scenario)),
        label=f"Edit scenario {scenario.name}",
        saved=form_of(scenario).values,
        strip=f"scenarios.{stored.site.scenarios.index(scenario)}.",
    )
    if form is not None:
        return edit_page(request, stored, scenario, with_asked(form, scenario))
    return redirect(
        request, f"/sites/{stored.id}/scenarios/{scenario_id}", said=f"Saved {scenario.name}."
    )


def _save_again(
    request: Request, store: StoreDep, stored: StoredSite, scenario_id: str, values: dict[str, str]
) -> Response:
    """Ask whether what was typed into a scenario that is deleted by now is to be added again."""
    base = checked(Scenario, plain_day().model_dump() | {"id": scenario_id})
    spare = SPARE + 3 if values.get("act") == _MORE_ROWS else SPARE
    if values.get(AGAIN) != "on":
        text = (
            f"{values.get('name') or 'This scenario'} was deleted meanwhile. What you typed stands "
            "here as a new one; save it to add it again, or undo the deletion."
        )
        fresh = {**values, AGAIN: "on", "revision": str(stored.revision)}
        form: Form | None = Form(fresh, others=(text,), stale=True)
    elif values.get("act") == _MORE_ROWS:
        form = Form(values)
    else:
        form = try_save(
            store,
            stored,
            values,
            lambda site: put_scenario(site, told_scenario(values, base)),
            label=f"Add {values.get('name') or 'a scenario'}",
            strip=f"scenarios.{len(stored.site.scenarios)}.",
        )
    if form is not None:
        return edit_page(request, stored, base, with_asked(form, base), spare=spare)
    return redirect(
        request,
        f"/sites/{stored.id}/scenarios/{scenario_id}",
        said=f"Added {values.get('name') or 'the scenario'} again.",
    )
