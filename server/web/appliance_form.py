"""An appliance as a form: filled from its kind, from itself, or from what was typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from server.domain.appliance import Appliance
from server.domain.base import Id, Part
from server.domain.behaviour import Behaviour, RoomUnit, Zone
from server.domain.catalogue import KINDS, Kind
from server.domain.edits import with_changes
from server.domain.site import Site
from server.rules.motor_table import horsepower_number
from server.web.forms import Form, checked, flat, nested

BEHAVIOURS: tuple[type[Part], ...] = get_args(get_args(Behaviour)[0])
OPTIONAL = (
    "horsepower",
    "locked_rotor_a",
    "code_letter",
    "min_circuit_a",
    "max_device_a",
    *(n for b in BEHAVIOURS for n, f in b.model_fields.items() if f.default is None),
)
"""Fields that may be left empty."""
TEXTS = ("name", "note", "code_letter")
ROW_LISTS = ("behaviour.stages", "behaviour.starts", "behaviour.ratings")
HOUSE = Zone(id="house", name="House", loss_btuh_per_f=400, figure_source="guess")
"""The zone a heating or cooling unit gets on a site without one; a guess to be mended."""

_FIELDS = frozenset(Appliance.model_fields) - {"id", "behaviour"}


def blank_form(kind_id: str = "other", site: Site | None = None) -> Form:
    """A new appliance of this kind, with the kind's usual figures as guesses."""
    kind = KINDS.get(kind_id, KINDS["other"])
    return form_of(of_kind(kind, "new", site))


def of_kind(kind: Kind, appliance_id: Id, site: Site | None) -> Appliance:
    """An appliance of this kind; a heating or cooling unit serves the site's first zone."""
    zone = next(iter(site.zones), HOUSE) if site else HOUSE
    return kind.appliance(appliance_id, zone_id=zone.id)


def form_of(appliance: Appliance) -> Form:
    """A saved appliance as a form."""
    return Form(flat(appliance.model_dump(mode="json", exclude={"id"})))


def filled_from_kind(form: Form, site: Site) -> Form:
    """The form with the usual figures of its chosen kind; a name given by hand stays."""
    fresh = blank_form(form.value("kind"), site).values
    ours = {name for name in form.values if name.startswith("behaviour.")} | set(fresh)
    kept = {name: text for name, text in form.values.items() if name not in ours}
    name = form.value("name")
    usual_names = {kind.name for kind in KINDS.values()}
    if name and name not in usual_names:
        fresh = {**fresh, "name": name}
    return Form({**kept, **fresh, "note": form.value("note")})


def with_behaviour(form: Form, model: str, site: Site) -> Form:
    """The form with another behaviour model, beginning from usual settings of that model."""
    kinds = (KINDS.get(form.value("kind")), *KINDS.values())
    source = next((kind for kind in kinds if kind and kind.behaviour.model == model), None)
    if source is None:
        return form
    fresh = flat(of_kind(source, "new", site).behaviour.model_dump(mode="json"), "behaviour.")
    kept = {n: text for n, text in form.values.items() if not n.startswith("behaviour.")}
    return Form({**kept, **fresh})


def compacted(values: Mapping[str, str]) -> dict[str, str]:
    """The form text with empty rows of a list taken out and the rest moved up.

    >>> compacted({"behaviour.starts.0.hour": "", "behaviour.starts.1.hour": "7"})
    {'behaviour.starts.0.hour': '7'}
    """
    result = dict(values)
    for name in ROW_LISTS:
        rows: dict[int, dict[str, str]] = {}
        for key in [k for k in result if k.startswith(f"{name}.")]:
            step, _, last = key.removeprefix(f"{name}.").partition(".")
            if step.isdecimal() and last:
                rows.setdefault(int(step), {})[last] = result.pop(key)
        filled = [rows[i] for i in sorted(rows) if any(rows[i].values())]
        for i, row in enumerate(filled):
            result |= {f"{name}.{i}.{last}": text for last, text in row.items()}
    return result


def appliance_from(values: Mapping[str, str], appliance_id: Id) -> Appliance:
    """The appliance that was typed.

    Raises
    ------
    SiteFileError   With the problems, named by field.
    """
    mine = {
        name: text
        for name, text in values.items()
        if name in _FIELDS or name.startswith("behaviour.")
    }
    if code := mine.get("code_letter"):
        mine["code_letter"] = code.upper()
    if plate := mine.get("horsepower"):
        mine["horsepower"] = horsepower_number(plate)
    document = nested(mine, optional=OPTIONAL, texts=TEXTS)
    for choice in ("volts", "on_pole"):
        if str(document.get(choice, "")).isdecimal():
            document[choice] = int(document[choice])
    behaviour = document.get("behaviour", {})
    if isinstance(behaviour, dict) and behaviour.get("model") == "timed":
        behaviour.setdefault("stages", [])
    return checked(Appliance, {**document, "id": appliance_id})


def with_zone_for(site: Site, appliance: Appliance) -> Site:
    """The site with the zone this appliance serves, where it has none yet."""
    behaviour = appliance.behaviour
    if not isinstance(behaviour, RoomUnit) or site.zones or behaviour.zone_id != HOUSE.id:
        return site
    return with_changes(site, zones=(HOUSE,))
