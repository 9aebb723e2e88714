"""Full-load amps of a motor by the table of its horsepower."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from itertools import pairwise

from server.rules.tables import read_toml

_COLUMN_V = {120.0: 115, 208.0: 208, 240.0: 230}
"""The column of the table for the volts a motor is fed at (430.6(A)(1)). [V]"""
_SAME_HP = 0.01
_FINEST = 8
"""No plate has a finer part of a horsepower (common practice, no source)."""
_ON_PLATE = re.compile(
    r"(?:(?P<whole>\d{1,2})(?:\s*-\s*|\s+))?(?P<over>\d{1,2})\s*/\s*(?P<under>[1-9]\d?)"
)
_UNIT = re.compile(r"\s*(?:hp|h\.p\.|horsepower)\s*$", re.IGNORECASE)
_DECIMALS = 4


def table_full_load_a(horsepower: float, fed_v: float) -> float | None:
    """Full-load amps of a single-phase motor by Table 430.248, None for a size not in it. [A]

    ``fed_v`` is 120, 208 or 240.

    >>> table_full_load_a(1.0, 240.0), table_full_load_a(1.0, 208.0), table_full_load_a(0.9, 240.0)
    (8.0, 8.8, None)
    """
    table = read_toml("motors")
    column = table["table"]["volts"].index(_COLUMN_V[fed_v])
    for row in table["rows"]:
        if abs(row["hp"] - horsepower) < _SAME_HP:
            return float(row["full_load_a"][column])
    return None


def interpolated_full_load_a(horsepower: float, fed_v: float) -> float | None:
    """Full-load amps by the table, between two of its rows in proportion, None outside it. [A]

    430.6(A)(1) has the two interpolated where one is told and stands between rows.

    >>> interpolated_full_load_a(1.25, 240.0), interpolated_full_load_a(12.0, 240.0)
    (9.0, None)
    """
    exact = table_full_load_a(horsepower, fed_v)
    if exact is not None:
        return exact
    table = read_toml("motors")
    column = table["table"]["volts"].index(_COLUMN_V[fed_v])
    for low, high in pairwise(table["rows"]):
        if low["hp"] < horsepower < high["hp"]:
            share = (horsepower - low["hp"]) / (high["hp"] - low["hp"])
            first, last = low["full_load_a"][column], high["full_load_a"][column]
            return float(first + share * (last - first))
    return None


def largest_hp() -> float:
    """The largest motor of the table. [hp]"""
    return float(read_toml("motors")["rows"][-1]["hp"])


def horsepower_words(horsepower: float) -> str:
    """A motor's horsepower as its plate has it.

    >>> [horsepower_words(hp) for hp in (0.1667, 0.33, 0.5, 1.5, 7.5, 3.0)]
    ['1/6', '1/3', '1/2', '1-1/2', '7-1/2', '3']
    """
    whole, rest = divmod(horsepower, 1.0)
    part = Fraction(rest).limit_denominator(_FINEST)
    if not part or part == 1 or abs(float(part) - rest) > _SAME_HP:
        return f"{horsepower:g}"
    return f"{whole:.0f}-{part}" if whole else str(part)


def horsepower_number(text: str) -> str:
    """A motor's horsepower as a plate has it, as a number; what is no part of one stays as typed.

    >>> [horsepower_number(t) for t in ("1/2", "½", "1-1/2 HP", "1 1/2", "1½", "7.5", "1/0", "big")]
    ['0.5', '0.5', '1.5', '1.5', '1.5', '7.5', '1/0', 'big']
    """
    spaced = "".join(
        f" {c}" if unicodedata.decomposition(c).startswith("<fraction>") else c for c in text
    )
    plain = unicodedata.normalize("NFKC", spaced).replace("\N{FRACTION SLASH}", "/")
    plain = _UNIT.sub("", plain).strip()
    found = _ON_PLATE.fullmatch(plain)
    if not found:
        return plain if _UNIT.search(text) else text
    part = Fraction(int(found["over"]), int(found["under"]))
    return f"{round(float(int(found['whole'] or 0) + part), _DECIMALS):g}"
