"""Weather hour by hour for a scenario, out of a file or pasted rows."""

from __future__ import annotations

import math
from typing import Any

from fastapi import APIRouter
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response

from server.domain.edits import put_scenario
from server.domain.errors import Problem, SiteFileError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.exchange.circuit_block import decoded
from server.exchange.hourly import FIELD, MOST_CHARS, read_hourly
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.drawing.weather_curve import weather_curve
from server.web.edits import try_save
from server.web.forms import typed
from server.web.pages import page_for, redirect, render
from server.web.scenario_form import form_of, scenario_from
from server.web.scenario_list import edit_page

router = APIRouter(prefix="/sites/{site_id}/scenarios")

_WAVE: dict[str, Any] = {"hourly_f": (), "hourly_sun_share": ()}


@router.get("/{scenario_id}/weather-curve")
def show_curve(request: Request, stored: StoredSiteDep, scenario_id: str) -> Response:
    """The curve of what stands in the form; nothing while that cannot be read."""
    scenario = stored.site.scenario(scenario_id)
    values = {**form_of(scenario).values, **typed(request.query_params)}
    try:
        told = scenario_from(values, scenario)
    except SiteFileError:
        return Response(status_code=204)
    page = page_for(request, f"Edit {scenario.name}", stored=stored, said="")
    curve = weather_curve(told)
    return render(page, "scenarios/_weathercurve.html", scenario=scenario, curve=curve)


@router.post("/{scenario_id}/weather")
def set_weather(
    request: Request, store: StoreDep, stored: StoredSiteDep, scenario_id: str, data: FormDep
) -> Response:
    """Take the weather from a table, or go back to the daily wave."""
    scenario = stored.site.scenario(scenario_id)
    values = typed(data)
    wave = values.get("act") == "wave"

    def edit(site: Site) -> Site:
        changes = _WAVE if wave else _told(data, scenario)
        weather = scenario.weather.model_copy(update=changes)
        return put_scenario(site, scenario.model_copy(update={"weather": weather}))

    form = try_save(store, stored, values, edit, label=f"Weather of {scenario.name}")
    if form is not None:
        return edit_page(request, stored, scenario, form_of(scenario), hourly=form)
    said = "Coldest and warmest are used again." if wave else "The run follows this table."
    return redirect(request, f"/sites/{stored.id}/scenarios/{scenario_id}/edit#hourly", said=said)


def _told(data: FormData, scenario: Scenario) -> dict[str, Any]:
    text = _text(data)
    if not text.strip():
        raise SiteFileError((Problem(FIELD, "Choose a file or paste its rows."),))
    hours = math.ceil(scenario.span_h) + 1
    found = read_hourly(text, start=scenario.start, hours=hours)
    return {"hourly_f": found.temps_f, "hourly_sun_share": found.sun_share}


def _text(data: FormData) -> str:
    upload = data.get("weather_file")
    if isinstance(upload, UploadFile) and upload.filename:
        return decoded(upload.file.read(MOST_CHARS)).replace("\x00", "")
    pasted = data.get("weather_text")
    return pasted.replace("\x00", "") if isinstance(pasted, str) else ""
