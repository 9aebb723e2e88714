"""What a ready-made scenario asks before it is built, and reading the answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from server.domain.errors import Problem, SiteFileError


@dataclass(frozen=True)
class Ask:
    """One question: only what the house and the season cannot tell.

    ``default`` is what most would answer; a ``number`` lies from ``least`` to ``most``.
    """

    key: str
    label: str
    kind: Literal["number", "choice", "date"]
    default: str
    unit: str = ""
    hint: str = ""
    least: float = 0.0
    most: float = 1_000.0
    choices: tuple[tuple[str, str], ...] = ()


_FIRST_YEAR, _LAST_YEAR = 1901, 2199
"""A day may begin some days before the one that is told, and end after it."""


class Answers:
    """Answers by key. What is left out is answered by its default.

    Raises
    ------
    SiteFileError   When made, if an answer cannot be read; each problem names its question.
    """

    def __init__(self, asks: tuple[Ask, ...], given: Mapping[str, str]) -> None:
        self._text: dict[str, str] = {}
        problems = []
        for ask in asks:
            text = given.get(ask.key, "").strip() or ask.default
            problem = _problem(ask, text)
            if problem:
                problems.append(Problem(ask.key, problem))
            self._text[ask.key] = text
        if problems:
            raise SiteFileError(tuple(problems))

    def number(self, key: str) -> float:
        """A number that was asked for."""
        return float(self._text[key])

    def choice(self, key: str) -> str:
        """The choice that was taken."""
        return self._text[key]

    def day(self, key: str) -> date:
        """A day that was asked for."""
        return date.fromisoformat(self._text[key])


def _problem(ask: Ask, text: str) -> str:
    if ask.kind == "choice":
        known = text in {value for value, _ in ask.choices}
        return "" if known else "Choose one of the list."
    if ask.kind == "date":
        try:
            year = date.fromisoformat(text).year
        except ValueError:
            return "Write a day, such as 2026-11-26."
        told = _FIRST_YEAR <= year <= _LAST_YEAR
        return "" if told else f"Give a year from {_FIRST_YEAR} to {_LAST_YEAR}."
    try:
        value = float(text)
    except ValueError:
        return "Write a number."
    if not text.isascii() or "_" in text:
        return "Write a number in the digits 0 to 9."
    if not ask.least <= value <= ask.most:
        return f"Write a number from {ask.least:g} to {ask.most:g}."
    return ""
