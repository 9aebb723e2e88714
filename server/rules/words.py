"""Figures in sentences, one way everywhere."""

from __future__ import annotations


def percent(share: float, digits: int = 0) -> str:
    """A share as per cent.

    >>> percent(0.25), percent(0.0389, 2)
    ('25 %', '3.89 %')
    """
    return f"{share * 100:.{digits}f} %"


def amps(value: float) -> str:
    """Amps to one decimal, whole ones without.

    >>> amps(58.9038), amps(100.0)
    ('58.9 A', '100 A')
    """
    return f"{round(value, 1):g} A"


def listed(names: list[str]) -> str:
    """Names in a sentence.

    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last
