"""The mains of the guided start: one that is picked, another that is written, an odd one asked.

A figure that is no standard rating is asked once more and then taken: a breaker that can be set,
or an old one, may well have it (240.6(B), (C)).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.advise.begin.choices import WAYS
from server.domain.errors import Problem
from server.rules.standard_ratings import socket_words
from server.web.figures import plain
from server.web.forms import Form, figure_text
from server.web.odd_rating import odd_rating

OTHER = "other"
"""The choice that says a figure is written beside it."""
LEAST_A, MOST_A = 15, 4_000
_READ = (
    "Read the handle once more. If it does say so, or is one that can be set (NEC 240.6(B) and "
    "(C)), press again: it is taken as it is, and the findings go on asking."
)


@dataclass(frozen=True)
class Main:
    """A main by its fields: ``name`` is picked, ``other`` written, ``again`` was asked already."""

    name: str
    other: str
    again: str
    offered_a: tuple[float, ...]


FIRST = Main("service_a", "other_main_a", "main_again_a", (60, 100, 125, 150, 200, 400))
SECOND = Main(
    "second_service_a",
    "other_second_main_a",
    "second_main_again_a",
    (60, 100, 125, 150, 200),
)
MAINS = (FIRST, SECOND)
FIELDS = tuple(name for main in MAINS for name in (main.name, main.other, main.again))


def written_beside(values: Mapping[str, str]) -> dict[str, str]:
    """The values, with a rating that no list has written beside it instead.

    >>> written_beside({"service_a": "137"})
    {'service_a': 'other', 'other_main_a': '137'}
    >>> written_beside({"service_a": "200"})
    {'service_a': '200'}
    """
    found = dict(values)
    for main in MAINS:
        picked = found.get(main.name, "")
        listed = {"", OTHER, *(f"{a:g}" for a in main.offered_a)}
        if picked not in listed and not found.get(main.other):
            found |= {main.name: OTHER, main.other: picked}
    return found


def put_mains(document: dict[str, Any]) -> list[Problem]:
    """Put what was written in the place of what is picked; what is wrong or odd about it."""
    way = WAYS.get(document.get("way", ""))
    problems: list[Problem] = []
    for main in MAINS:
        picked = document.pop(main.name, "")
        written = document.pop(main.other, "")
        again = document.pop(main.again, "")
        if main is SECOND and (way is None or not way.second_meter):
            continue
        if picked == OTHER and not written:
            said = f"Write the amps on its handle, {LEAST_A} to {plain(MOST_A)}."
            problems.append(Problem(main.other, said))
            continue
        if written and picked not in {"", OTHER, written}:
            said = "A rating is picked beside this: pick “another size” there, or empty this field."
            problems.append(Problem(main.other, said))
            continue
        told = written or picked
        if not told:
            continue
        document[main.name] = told
        odd = "" if told == again else _odd(told)
        if odd:
            problems.append(Problem(main.other, odd))
    return problems


def mains_asked(form: Form) -> dict[str, str]:
    """What a form carries along of the odd mains that it asks about, or asked about before."""
    found: dict[str, str] = {}
    for main in MAINS:
        written, problem = form.value(main.other), form.problem(main.other)
        asked = bool(problem) and problem == _odd(figure_text(written))
        found[main.again] = written if asked else form.value(main.again)
    return found


def at_main(problem: Problem, values: Mapping[str, str]) -> Problem:
    """A problem at the field of a main that was written in."""
    for main in MAINS:
        if problem.field == main.name and values.get(main.other):
            return Problem(main.other, problem.message)
    return problem


def _odd(text: str) -> str:
    """What to say of a main that is no standard one and can be told."""
    said = odd_rating(text)
    if not said or not LEAST_A <= float(text) <= MOST_A:
        return ""
    return " ".join(filter(None, (said, socket_words(float(text)), _READ)))
