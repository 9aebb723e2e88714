"""A circuit as a form, and the edits a circuit form makes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from server.domain.base import MINUTES_MOST
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.edits import free_spaces, new_id, with_changes
from server.domain.errors import Problem, SiteFileError
from server.domain.site import Site
from server.web.appliance_form import of_kind, with_zone_for
from server.web.forms import Form, checked, flat, nested

BATTERY_H = "own_battery_h"
"""Its own battery as people tell it; the document counts it in minutes, as gaps are."""
OPTIONAL = (
    "half",
    "shed_order",
    "energy_group_id",
    "allowed_gap_min",
    "multiwire_partner_id",
    "wire_size",
    "plug_outlets",
    "photo",
)
TEXTS = ("name", "area", "note")
ALIASES = {"spaces": "space", "own_battery_min": BATTERY_H}

_FIELDS = frozenset(Circuit.model_fields) - {"id", "spaces", "appliances", "own_battery_min"}


def blank_form(panel_id: str, kind_id: str = "") -> Form:
    """A new circuit, with what is usual for the kind of appliance it will feed."""
    circuit = Circuit(id="new", name="new", panel_id="new", spaces=(1,))
    values = flat(circuit.model_dump(mode="json", include=set(_FIELDS)))
    values |= {"name": "", "panel_id": panel_id, "space": "", "kind": "", BATTERY_H: ""}
    return filled_from_kind(Form({**values, "kind": kind_id}))


def form_of(circuit: Circuit) -> Form:
    """A saved circuit as a form."""
    values = flat(circuit.model_dump(mode="json", include=set(_FIELDS)))
    own_min = circuit.own_battery_min
    battery_h = "" if own_min is None else f"{own_min / 60.0:.10g}"
    return Form({**values, "space": str(circuit.spaces[0]), BATTERY_H: battery_h})


def filled_from_kind(form: Form) -> Form:
    """The form with the poles, breaker and class usual for its kind; a typed name stays."""
    kind = KINDS.get(form.value("kind"))
    if kind is None:
        return form
    usual = {
        "poles": "2" if kind.volts == 240 else "1",
        "breaker_a": f"{kind.breaker_a:g}",
        "continuous": "on" if kind.continuous else "off",
        "load_class": kind.load_class,
    }
    name = form.value("name")
    usual_names = {other.name for other in KINDS.values()}
    usual["name"] = name if name and name not in usual_names else kind.name
    return Form({**form.values, **usual})


def circuit_from(values: Mapping[str, str], site: Site, base: Circuit | None) -> Circuit:
    """The circuit that was typed, over the saved one it began from.

    An empty space takes the first free place of the panel; a 2-pole breaker takes the space given
    and the one under it. A new circuit gets one appliance of the chosen kind, if any.

    Raises
    ------
    SiteFileError   With the problems, named by field.
    """
    mine = {name: text for name, text in values.items() if name in _FIELDS}
    document = nested(mine, optional=OPTIONAL, texts=TEXTS)
    document["own_battery_min"] = _battery_min(values, base)
    document["poles"] = poles = 2 if document.get("poles") == "2" else 1
    if base is not None:
        document |= {"id": base.id, "appliances": base.appliances, "photo": base.photo}
    else:
        document |= _new_parts(values, site, str(document.get("name", "")))
    problems: tuple[Problem, ...] = ()
    try:
        document["spaces"] = _spaces(values, poles, site, document["id"])
    except SiteFileError as error:
        problems = error.problems
        document["spaces"] = (1,) if poles == 1 else (1, 3)
    try:
        circuit = checked(Circuit, document)
    except SiteFileError as error:
        raise SiteFileError((*problems, *map(_in_hours, error.problems))) from error
    if problems:
        raise SiteFileError(problems)
    return circuit


def _in_hours(problem: Problem) -> Problem:
    """A problem of the battery's minutes told in the hours that its field asks for."""
    if problem.field != "own_battery_min" or "permitted" not in problem.message:
        return problem
    most_h = MINUTES_MOST / 60.0
    return Problem(problem.field, f"This must be 0 to {most_h:g} h.")


def _battery_min(values: Mapping[str, str], base: Circuit | None) -> Any:
    """Minutes of the own battery; what is no figure goes on as it is, to be refused beside it."""
    if BATTERY_H not in values:
        return base.own_battery_min if base else None
    hours = nested({BATTERY_H: values[BATTERY_H]}, optional=(BATTERY_H,))[BATTERY_H]
    try:
        return None if hours is None else float(hours) * 60.0
    except ValueError:
        return hours


def _new_parts(values: Mapping[str, str], site: Site, name: str) -> dict[str, Any]:
    circuit_id = new_id(name, set(site.name_of))
    kind = KINDS.get(values.get("kind", ""))
    if kind is None:
        return {"id": circuit_id}
    appliance_id = new_id(kind.id, taken_ids(site) | {circuit_id})
    return {"id": circuit_id, "appliances": (of_kind(kind, appliance_id, site),)}


def taken_ids(site: Site) -> set[str]:
    """Every id in use on the site, appliances included."""
    return set(site.name_of) | {a.id for c in site.circuits for a in c.appliances}


def _spaces(values: Mapping[str, str], poles: int, site: Site, circuit_id: str) -> tuple[int, ...]:
    text = values.get("space", "")
    if text:
        if not (text.isascii() and text.isdecimal()):
            raise SiteFileError((Problem("space", "Write one whole number, such as 12."),))
        return _in_panel(values, int(text), poles, site)
    panel = site.panel_by_id.get(values.get("panel_id", ""))
    if panel is None:
        raise SiteFileError((Problem("panel_id", "Choose the panel this breaker is in."),))
    free = free_spaces(site, panel, leaving=frozenset({circuit_id}))
    for space in sorted(free):
        if poles == 1:
            return (space,)
        if space + 2 in free:
            return (space, space + 2)
    need = "two free spaces under each other" if poles == 2 else "a free space"
    raise SiteFileError((Problem("space", f"{panel.name} does not have {need}. Free one first."),))


def _in_panel(values: Mapping[str, str], space: int, poles: int, site: Site) -> tuple[int, ...]:
    """The spaces of a breaker at this one; refused by the number that its panel has."""
    panel = site.panel_by_id.get(values.get("panel_id", ""))
    last = space if poles == 1 else space + 2
    if panel is not None and not 1 <= space <= last <= panel.spaces:
        of_two = "" if poles == 1 else ", the upper one of its two"
        upper = panel.spaces - (last - space)
        words = f"{panel.name} has {panel.spaces} spaces: give 1 to {upper}{of_two}."
        raise SiteFileError((Problem("space", words),))
    return (space,) if poles == 1 else (space, last)


def with_circuit(site: Site, circuit: Circuit) -> Site:
    """The site with this circuit added or replaced, and its shared neutral entered on both.

    Raises
    ------
    SiteFileError   When the site cannot take it.
    """
    for appliance in circuit.appliances:
        site = with_zone_for(site, appliance)
    partner_id = circuit.multiwire_partner_id

    def settled(other: Circuit) -> Circuit:
        if other.id == circuit.id:
            return circuit
        if other.id == partner_id:
            return other.model_copy(update={"multiwire_partner_id": circuit.id})
        former = other.multiwire_partner_id
        if former is not None and former in {circuit.id, partner_id}:
            return other.model_copy(update={"multiwire_partner_id": None})
        return other

    circuits = tuple(map(settled, site.circuits))
    if circuit.id not in site.circuit_by_id:
        circuits = (*circuits, circuit)
    return with_changes(site, circuits=circuits)
