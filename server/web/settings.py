"""A site's own figures, and the ratings of its supply."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.edits import with_changes
from server.domain.site import Site
from server.domain.topology import bus_of_panel
from server.store.cards import StoredSite
from server.web import words
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.forms import Form, flat, nested, typed
from server.web.pages import page_for, redirect, render

router = APIRouter(prefix="/sites/{site_id}")

SITE_FIELDS = (
    "name",
    "place",
    "code_edition",
    "people",
    "floor_area_ft2",
    "design_low_f",
    "design_high_f",
    "amendments",
    "tariff",
    "note",
)
SITE_OPTIONAL = (
    "floor_area_ft2",
    "import_per_kwh",
    "export_per_kwh",
    "fuel_per_unit",
    "heat_setback_f",
    "cool_setback_f",
)
SITE_TEXTS = ("name", "note", "time_zone", "reason")


@dataclass(frozen=True)
class Rating:
    """One figure of a part of the supply that the form can change."""

    name: str
    label: str
    unit: str = "A"
    optional: bool = False
    options: words.Options = ()
    tick: bool = False


SUPPLY: Mapping[str, tuple[Rating, ...]] = {
    "services": (
        Rating("main_a", "Main"),
        Rating("meter_socket_a", "Meter socket", optional=True),
        Rating("fault_current_a", "Fault current", optional=True),
    ),
    "generators": (
        Rating("rated_kw", "Rated", "kW"),
        Rating("rated_kva", "Apparent", "kVA", optional=True),
        Rating("breaker_a", "Its breaker", optional=True),
        Rating("receptacle_a", "Receptacle", optional=True),
        Rating("cord_a", "Cord", optional=True),
        Rating("inlet_a", "Inlet", optional=True),
        Rating("start_kva_limit", "Largest start", "kVA", optional=True),
        Rating("fuel", "Fuel", "", options=words.FUELS),
        Rating("figure_source", "Figures", "", options=words.FIGURE_SOURCES),
        Rating("neutral_bonded", "Neutral bonded at the set", "", tick=True),
    ),
    "transfer_switches": (
        Rating("rating_a", "Rating"),
        Rating("transfer_delay_s", "Transfer delay", "s"),
        Rating("return_delay_min", "Return delay", "min"),
        Rating("switches_neutral", "Switches the neutral", "", tick=True),
    ),
    "double_throws": (
        Rating("rating_a", "Rating"),
        Rating("resting", "Rests on", "", options=words.RESTING),
        Rating("switches_neutral", "Switches the neutral", "", tick=True),
    ),
    "panels": (
        Rating("rating_a", "Bus rating"),
        Rating("main_a", "Own main", optional=True),
        Rating("spaces", "Spaces", ""),
        Rating("floor_area_ft2", "Lights and plugs of", "ft²", optional=True),
        Rating("neutral_bonded", "Neutral bonded here", "", tick=True),
    ),
    "feeders": (
        Rating("breaker_a", "Breaker", optional=True),
        Rating("ampacity_a", "Conductors", optional=True),
        Rating("neutral_ampacity_a", "Neutral", optional=True),
    ),
    "solar": (
        Rating("dc_kw", "Panels", "kW dc"),
        Rating("ac_kw", "Inverter", "kW ac"),
        Rating("breaker_a", "Breaker"),
    ),
}
TITLES = {
    "services": "Services",
    "generators": "Generators",
    "transfer_switches": "Transfer switches",
    "double_throws": "Double-throw switches",
    "panels": "Panels",
    "feeders": "Feeders",
    "solar": "Solar",
}


def supply_cautions(site: Site) -> tuple[str, ...]:
    """Keys of the cautions that entering this supply needs."""
    keys = ["planning-aid", "live-parts", "bond", "grounding"]
    if site.generators:
        keys += ["backfeed", "exhaust", "co-alarms", "fuel"]
        fuels = {g.fuel for g in site.generators}
        keys += ["propane"] * ("propane" in fuels) + ["gas"] * ("natural_gas" in fuels)
        keys += ["siting"] * any(not g.portable for g in site.generators)
    if site.double_throws:
        keys.append("throwing")
    if site.solar:
        keys.append("solar")
    return tuple(keys)


def _with_revision(form: Form, stored: StoredSite) -> Form:
    if form.value("revision"):
        return form
    return replace(form, values={**form.values, "revision": str(stored.revision)})


def settings_page(request: Request, stored: StoredSite, form: Form) -> Response:
    """The form of the site's own figures."""
    page = page_for(
        request,
        "Site settings",
        sheet="circuits",
        stored=stored,
        said=None if request.method == "GET" else "",
        back=f"/sites/{stored.id}/settings",
    )
    return render(
        page,
        "sites/settings.html",
        status_code=status_of(form),
        form=_with_revision(form, stored),
        words=words,
    )


@router.get("/settings")
def show_settings(request: Request, stored: StoredSiteDep) -> Response:
    """The site's name, place, people, code edition, zones and prices."""
    return settings_page(request, stored, Form(_settings(stored.site)))


def _settings(site: Site) -> dict[str, str]:
    return flat(site.model_dump(mode="json", include={*SITE_FIELDS, "zones"}))


@router.post("/settings")
def change_settings(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Save the site's own figures."""
    values = typed(data)

    def edit(site: Site) -> Site:
        mine = {n: t for n, t in values.items() if n.split(".")[0] in {*SITE_FIELDS, "zones"}}
        document = nested(mine, optional=SITE_OPTIONAL, texts=SITE_TEXTS)
        return with_changes(site, **document)

    form = try_save(
        store,
        stored,
        values,
        edit,
        label="Change the site settings",
        saved=_settings(stored.site),
    )
    if form is not None:
        return settings_page(request, stored, form)
    return redirect(request, f"/sites/{stored.id}/settings", said="Saved the site settings.")


def supply_page(request: Request, stored: StoredSite, form: Form) -> Response:
    """The form of the ratings of sources, switches, panels and feeders."""
    page = page_for(
        request,
        "Supply",
        sheet="circuits",
        stored=stored,
        caution_keys=supply_cautions(stored.site),
        said=None if request.method == "GET" else "",
        back=f"/sites/{stored.id}/supply",
    )
    return render(
        page,
        "sites/supply.html",
        status_code=status_of(form),
        form=_with_revision(form, stored),
        site=stored.site,
        supply=SUPPLY,
        titles=TITLES,
        bus_by_panel=bus_of_panel(stored.site),
        words=words,
    )


@router.get("/supply")
def show_supply(request: Request, stored: StoredSiteDep) -> Response:
    """Sources, switches, panels and feeders with their ratings."""
    return supply_page(request, stored, Form(_ratings(stored.site)))


def _ratings(site: Site) -> dict[str, str]:
    whole = site.model_dump(mode="json", include=set(SUPPLY))
    return flat(
        {
            name: [{r.name: part[r.name] for r in ratings} for part in whole[name]]
            for name, ratings in SUPPLY.items()
        }
    )


@router.post("/supply")
def change_supply(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Save the ratings."""
    values = typed(data)

    def edit(site: Site) -> Site:
        changes: dict[str, Any] = {}
        for name, ratings in SUPPLY.items():
            parts = []
            for i, part in enumerate(getattr(site, name)):
                known = {r.name: values.get(f"{name}.{i}.{r.name}") for r in ratings}
                told = {n: t for n, t in known.items() if t is not None}
                empty = {r.name: None for r in ratings if r.optional and told.get(r.name) == ""}
                parts.append(part.model_dump() | nested(told) | empty)
            changes[name] = tuple(parts)
        return with_changes(site, **changes)

    form = try_save(
        store,
        stored,
        values,
        edit,
        label="Change the supply ratings",
        saved=_ratings(stored.site),
    )
    if form is not None:
        return supply_page(request, stored, form)
    return redirect(request, f"/sites/{stored.id}/supply", said="Saved the supply ratings.")
