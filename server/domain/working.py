"""How a figure was worked out, carried by the figure itself."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Term:
    """One input of a figure: what it is, how much, in what unit, and where it came from."""

    name: str
    value: float
    unit: str
    source: str = ""


@dataclass(frozen=True)
class Working:
    """A figure with the inputs, formula and source behind it."""

    title: str
    value: float
    unit: str
    formula: str
    terms: tuple[Term, ...] = ()
    source: str = ""
