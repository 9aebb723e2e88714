"""A part of the supply as a form, and the part that a form holds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from server.domain.current_path import GROUPS, SupplyGroup, SupplyPart
from server.domain.errors import Problem, SiteFileError
from server.domain.panel import Panel
from server.domain.supply import FuelTank, Generator, SolarArray
from server.domain.told import still_told
from server.web.forms import Form, checked_with, flat, nested
from server.web.percents import percents_of, shares_in
from server.web.segment_fields import unknown_wire
from server.web.supply_fields import ASKS, OPTIONAL, TEXTS, Asks

TWO_POLE = 2
_NUMBERS = ("poles",)
_RANGE = re.compile(r"([0-9]{1,3})(?:-([0-9]{1,3}))?")
_ROW = re.compile(r"\w+\.\d{1,3}\.\w+")
_ALWAYS_CHOSEN = ("metal", "ground_metal", "leg", "wet")
_WIRING = ("from_id", "to_id", "to_input", "panel_id")


def form_of(group: SupplyGroup, part: SupplyPart) -> Form:
    """A part of the supply as a form; its ends are added by whoever draws them."""
    document = part.model_dump(mode="json", exclude={"id", "told", *_WIRING})
    if "spaces" in document and not isinstance(part, Panel):
        document["spaces"] = document["spaces"][0] if document["spaces"] else None
    if isinstance(part, Panel):
        document["tandem_spaces"] = spaces_text(part.tandem_spaces)
    values = flat(document)
    if group == "generators" and values.pop("tank", None) is not None:
        values |= {f"tank.{name}": "" for name in FuelTank.model_fields}
    return Form(percents_of(values, ASKS[group].percents))


def spaces_text(spaces: tuple[int, ...]) -> str:
    """Space numbers as a person lists them.

    >>> spaces_text((13, 14, 15, 20))
    '13-15, 20'
    """
    runs: list[list[int]] = []
    for space in sorted(set(spaces)):
        if runs and runs[-1][-1] == space - 1:
            runs[-1].append(space)
        else:
            runs.append([space])
    return ", ".join(f"{r[0]}-{r[-1]}" if len(r) > 1 else str(r[0]) for r in runs)


def spaces_in(text: str) -> tuple[int, ...]:
    """Space numbers out of a list that a person typed.

    >>> spaces_in("13-15, 20")
    (13, 14, 15, 20)

    Raises
    ------
    SiteFileError   When something in it is not a space number.
    """
    found: list[int] = []
    plain = re.sub(r"\s*-\s*", "-", text.replace("–", "-").strip())
    for piece in re.split(r"[,;\s]+", plain):
        match = _RANGE.fullmatch(piece)
        if piece and match is None:
            message = f"“{piece[:20]}” is no space. Write numbers and ranges, such as 17-24, 30."
            raise SiteFileError((Problem("tandem_spaces", message),))
        if match:
            found += range(int(match[1]), int(match[2] or match[1]) + 1)
    return tuple(dict.fromkeys(found))


def compacted(group: SupplyGroup, values: Mapping[str, str]) -> dict[str, str]:
    """The form text with empty rows of its lists taken out and the rest moved up.

    A choice alone fills no row, for it always has a value.

    >>> compacted("feeders", {"segments.0.metal": "copper", "segments.1.run_ft": "7"})
    {'segments.0.run_ft': '7'}
    """
    result = dict(values)
    for name in ASKS[group].lists:
        rows: dict[int, dict[str, str]] = {}
        for key in [k for k in result if k.startswith(f"{name}.")]:
            step, _, last = key.removeprefix(f"{name}.").partition(".")
            if step.isdecimal() and last.isidentifier():
                rows.setdefault(int(step), {})[last] = result.pop(key)
        filled = [
            row
            for _, row in sorted(rows.items())
            if any(text for last, text in row.items() if last not in _ALWAYS_CHOSEN)
        ]
        for i, row in enumerate(filled):
            result |= {f"{name}.{i}.{last}": text for last, text in row.items()}
    return result


def part_from(group: SupplyGroup, values: Mapping[str, str], base: Mapping[str, Any]) -> SupplyPart:
    """The part that was typed, over the fields of ``base`` that no question asks for.

    Raises
    ------
    SiteFileError   With the problems, named by field.
    """
    asks = ASKS[group]
    wanted = {ask.name for ask in asks.all}
    mine = {
        name: text
        for name, text in values.items()
        if name in wanted or (_ROW.fullmatch(name) and name.partition(".")[0] in asks.lists)
    }
    mine, wrong = shares_in(mine, asks.percents)
    problems = list(wrong)
    document = nested(mine, optional=OPTIONAL, texts=TEXTS)
    for name in asks.lists:
        rows = document.setdefault(name, [])
        document[name] = [{k: v for k, v in row.items() if v != ""} for row in rows]
    for at, row in enumerate(document.get("segments", ())):
        if row.get("terminal_c") in ("60", "75"):
            row["terminal_c"] = int(row["terminal_c"])
        problems += unknown_wire(at, row)
    for name in _NUMBERS:
        text = str(document.get(name, ""))
        if text.isascii() and text.isdecimal():
            document[name] = int(document[name])
    if group == "generators":
        _settle_tank(document)
        problems += _unanswered(document)
    if group == "panels" and "tandem_spaces" in document:
        try:
            document["tandem_spaces"] = spaces_in(str(document["tandem_spaces"]))
        except SiteFileError as error:
            problems += error.problems
            document["tandem_spaces"] = ()
    elif group != "panels" and "spaces" in document:
        document["spaces"] = _two_pole(str(document["spaces"]), problems)
    part = checked_with(problems, GROUPS[group], {**base, **document})
    if isinstance(part, Generator | SolarArray):
        kept = still_told({name: base.get(name) for name in part.told}, part)
        return part.model_copy(update={"told": kept})
    return part


NOT_CHOSEN = ""
"""What a question holds that a new part is asked without an answer to begin with."""

_MUST_CHOOSE = {
    "portable": "Choose whether it is fixed or wheeled out.",
    "start": "Choose whether it starts by itself. One that is wheeled out is started by hand.",
}


def asked_of_new(group: SupplyGroup) -> Asks:
    """The questions of a new part: what only its owner knows begins without an answer.

    How a set stands and starts decides who has to be there in an outage.
    """
    asks = ASKS[group]
    if group != "generators":
        return asks
    everyday = tuple(
        replace(ask, options=((NOT_CHOSEN, "choose one"), *ask.options))
        if ask.name in _MUST_CHOOSE
        else ask
        for ask in asks.everyday
    )
    return replace(asks, everyday=everyday)


def form_of_new(group: SupplyGroup, part: SupplyPart) -> Form:
    """A new part as a form, with what must be chosen left open."""
    form = form_of(group, part)
    if group != "generators":
        return form
    return replace(form, values={**form.values, **dict.fromkeys(_MUST_CHOOSE, NOT_CHOSEN)})


def _unanswered(document: dict[str, Any]) -> list[Problem]:
    """Questions of a set left open, each told at its field; they are taken out of the document."""
    left = [name for name in _MUST_CHOOSE if document.get(name) == NOT_CHOSEN]
    for name in left:
        del document[name]
    return [Problem(name, _MUST_CHOOSE[name]) for name in left]


def _settle_tank(document: dict[str, Any]) -> None:
    """No capacity is no tank; shares left empty are the usual ones."""
    tank = document.get("tank")
    if not isinstance(tank, dict) or not tank.get("capacity_gal"):
        document["tank"] = None
    else:
        document["tank"] = {name: text for name, text in tank.items() if text != ""}


def _two_pole(text: str, problems: list[Problem]) -> tuple[int, ...]:
    if not text:
        return ()
    if not (text.isascii() and text.isdecimal()):
        problems.append(Problem("spaces", "Write one whole number, such as 12."))
        return ()
    return int(text), int(text) + TWO_POLE
