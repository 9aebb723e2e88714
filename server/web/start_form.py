"""The guided start as a form: its fields by step, and the choices that its text holds.

All that was said is carried through every step in the form itself, so that the browser's back and
forward lose nothing and no half-made house is stored.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, get_args

from server.advise.begin.choices import (
    MOST_BATTERY_H,
    WAYS,
    Choices,
    Thing,
    is_medical,
    offered_kinds,
)
from server.advise.begin.cylinders import CYLINDERS
from server.domain.catalogue import Kind
from server.domain.errors import Problem, SiteFileError
from server.web.forms import Form, checked, nested, with_problems
from server.web.start_mains import FIELDS as MAIN_FIELDS
from server.web.start_mains import OTHER, at_main, put_mains, written_beside

Step = Literal["feed", "sources", "things", "forgotten"]
STEPS: tuple[Step, ...] = get_args(Step)
STEP_NAMES: Mapping[Step, str] = {
    "feed": "How it is fed",
    "sources": "Sources",
    "things": "Rooms and appliances",
    "forgotten": "What people forget",
}
FIELDS: Mapping[Step, tuple[str, ...]] = {
    "feed": ("way",),
    "sources": (
        "name",
        "place_name",
        *MAIN_FIELDS,
        "generator_kw",
        "generator_other_kw",
        "fuel",
        "tank_gal",
        "changeover",
        "solar",
    ),
    "things": ("climate", "people", "floor_area_ft2", "bedrooms", "bathrooms", "seen"),
    "forgotten": (),
}
DEFAULTS: Mapping[str, str] = {
    "name": "My house",
    "solar": "none",
    "people": "3",
    "bedrooms": "3",
    "bathrooms": "2",
}
HAVE, MANY, MUST, BATTERY = "have.", "many.", "must.", "battery."
_BY_KIND = (HAVE, MANY, MUST, BATTERY)
"""What a field that is asked of one kind of appliance begins with."""
_UNKNOWN = "unknown"


def step_named(text: str) -> Step:
    """The step of an address; the first where it names none."""
    return next((step for step in STEPS if step == text), "feed")


def begun_form(values: Mapping[str, str]) -> dict[str, str]:
    """What was said so far, with what a form begins with, and what nearly every house has."""
    known = {name for names in FIELDS.values() for name in names}
    said = {n: t for n, t in values.items() if n in known or n.startswith(_BY_KIND)}
    found = {**DEFAULTS, **written_beside(said)}
    if "seen" not in said:
        found |= {f"{HAVE}{kind.id}": "on" for kind in offered_kinds() if kind.usual}
    return found


def carried(values: Mapping[str, str], step: Step) -> dict[str, str]:
    """What a step does not ask itself and takes along, without what says nothing."""
    own = FIELDS[step]
    shown = {"things": (HAVE, MANY), "forgotten": (MUST, BATTERY)}.get(step, ())
    return {
        name: text
        for name, text in values.items()
        if text
        and name not in own
        and not name.startswith(shown)
        and text != DEFAULTS.get(name)
        and not (name.startswith(MANY) and text == "1")
        and (text != "off" or name.startswith(MUST))
    }


def choices_from(values: Mapping[str, str]) -> Choices:
    """The choices that were made.

    Raises
    ------
    SiteFileError   With the problems, named by field of the form.
    """
    plain = nested({n: t for n, t in values.items() if not n.startswith(_BY_KIND)})
    if plain.get("way") not in WAYS:
        raise SiteFileError((Problem("way", "Choose the drawing that comes nearest."),))
    plain.pop("seen", None)
    document: dict[str, Any] = {name: text for name, text in plain.items() if text != ""}
    solar = document.pop("solar", "none")
    document["solar"] = solar != "none"
    if solar not in {"none", _UNKNOWN}:
        document["solar_kw"] = solar
    document["name"] = plain.get("name", "")
    problems = [
        *put_mains(document),
        *_other_size(document),
        *_tank(document),
        *_emptied(plain),
    ]
    things, miscounted = _things(values)
    problems += miscounted
    document["things"] = things
    try:
        made = checked(Choices, document)
    except SiteFileError as error:
        found = [_at_field(problem, values) for problem in error.problems]
        raise SiteFileError((*problems, *found)) from error
    if problems:
        raise SiteFileError(tuple(problems))
    return made


def _things(values: Mapping[str, str]) -> tuple[list[dict[str, Any]], list[Problem]]:
    things: list[dict[str, Any]] = []
    problems: list[Problem] = []
    for kind in offered_kinds():
        if values.get(f"{HAVE}{kind.id}") != "on":
            continue
        thing: dict[str, Any] = {"kind_id": kind.id, "must": _must(values, kind)}
        text = values.get(f"{MANY}{kind.id}", "1")
        if text.isascii() and text.isdecimal() and 1 <= int(text) <= 20:
            thing["count"] = int(text)
        else:
            message = "Write how many there are, from 1 to 20."
            problems.append(Problem(f"{MANY}{kind.id}", message))
        hours = values.get(f"{BATTERY}{kind.id}", "")
        if hours and is_medical(kind):
            try:
                thing["battery_h"] = checked(
                    Thing, {"kind_id": kind.id, "battery_h": hours}
                ).battery_h
            except SiteFileError:
                message = f"Write hours, from 0 to {MOST_BATTERY_H}, or leave it empty."
                problems.append(Problem(f"{BATTERY}{kind.id}", message))
        things.append(thing)
    return things, problems


def _must(values: Mapping[str, str], kind: Kind) -> bool | None:
    """What was said of a kind; None where nobody was asked."""
    return {"on": True, "off": False}.get(values.get(f"{MUST}{kind.id}", ""))


def _other_size(document: dict[str, Any]) -> list[Problem]:
    """Put a size that was written in the place of the one that is picked."""
    written = document.pop("generator_other_kw", "")
    picked = document.get("generator_kw", "")
    if picked == OTHER and not written:
        del document["generator_kw"]
        return [Problem("generator_other_kw", "Write the kilowatts on its plate, 1 to 150.")]
    if written and picked not in {"", OTHER, written}:
        said = "A size is picked beside this: pick “another size” there, or empty this field."
        return [Problem("generator_other_kw", said)]
    if written:
        document["generator_kw"] = written
    return []


def _emptied(plain: Mapping[str, Any]) -> list[Problem]:
    """How many of a thing, where the usual number was taken out and none put in its place."""
    return [
        Problem(name, f"Write how many there are, such as {DEFAULTS[name]}.")
        for name in ("people", "bedrooms", "bathrooms")
        if plain.get(name) == ""
    ]


def _tank(document: dict[str, Any]) -> list[Problem]:
    """Put gallons in the place of cylinders, and refuse a tank that does not fit the fuel."""
    picked, fuel = document.get("tank_gal", ""), document.get("fuel", "")
    cylinders = CYLINDERS.get(picked)
    if picked and fuel == "natural_gas":
        del document["tank_gal"]
        said = "Natural gas comes by pipe and has no tank: pick the first line, or another fuel."
        return [Problem("tank_gal", said)]
    if cylinders is None:
        return []
    document["tank_gal"], document["vessels"] = str(cylinders.tank_gal), str(cylinders.count)
    if not fuel:
        document["fuel"] = "propane"
    elif fuel != "propane":
        said = f"Cylinders hold propane, and the fuel is {fuel}: pick one or the other."
        return [Problem("tank_gal", said)]
    return []


def _at_field(problem: Problem, values: Mapping[str, str]) -> Problem:
    """A problem at the field that was typed in."""
    if problem.field == "generator_kw" and values.get("generator_other_kw"):
        return Problem("generator_other_kw", problem.message)
    if problem.field == "solar_kw":
        return Problem("solar", problem.message)
    return at_main(problem, values)


def step_of(name: str) -> Step:
    """The step that asks for a field."""
    if name.startswith((HAVE, MANY)):
        return "things"
    if name.startswith((MUST, BATTERY)):
        return "forgotten"
    return next((step for step in STEPS if name in FIELDS[step]), "things")


def first_to_mend(values: Mapping[str, str], error: SiteFileError) -> tuple[Step, Form]:
    """The first step with something to mend, and its form."""
    steps = [step_of(problem.field) for problem in error.problems]
    first = min(steps, key=STEPS.index)
    mine = [p for p, at in zip(error.problems, steps, strict=True) if at == first]
    asked = [*FIELDS[first], *(p.field for p in mine)]
    mine.sort(key=lambda p: asked.index(p.field))
    return first, with_problems(dict.fromkeys(FIELDS[first], "") | dict(values), tuple(mine))


def wrong_before(values: Mapping[str, str], step: Step) -> tuple[Step, Form] | None:
    """The first step before this one with something to mend, and its form; None when all is well.

    What a step has not asked yet has a usual answer, so nothing later can be wrong. The last step
    draws the house, so what it asks itself has to be right as well.
    """
    if step == "feed":
        return None
    try:
        choices_from(values)
    except SiteFileError as error:
        first, form = first_to_mend(values, error)
        if step == STEPS[-1] or STEPS.index(first) < STEPS.index(step):
            return first, form
    return None
