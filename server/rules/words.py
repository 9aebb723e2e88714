"""Figures in sentences, one way everywhere."""

from __future__ import annotations

from server.domain.text import listed
from server.rules.ocpd import standard_ratings_a

__all__ = [
    "MOST_DIGITS",
    "NONE_SO_LARGE",
    "a_rating",
    "amps",
    "btu_words",
    "listed",
    "percent",
    "percent_over",
]

NONE_SO_LARGE = (
    f": no standard rating is so large, {standard_ratings_a()[-1]:,.0f} A is the largest. See "
    "first whether the watts of a load have a digit too many."
)
"""How a mend goes on where no device can be named."""

SAME_SHARE = 1e-9
"""Within so much of a limit a share is at it: a drop of 3 % to the digit is no more than 3 %."""
MOST_DIGITS = 4
"""How far a share is told where it lies just past its limit."""


def percent(share: float, digits: int = 0) -> str:
    """A share as per cent.

    >>> percent(0.25), percent(0.0389, 2)
    ('25 %', '3.89 %')
    """
    return f"{share * 100:.{digits}f} %"


def percent_over(share: float, limit: float, digits: int = 0) -> str:
    """A share as per cent, with as many digits as tell it from a limit that it passes.

    >>> percent_over(0.0389, 0.03, 1), percent_over(0.03004, 0.03, 1), percent_over(0.02, 0.03)
    ('3.9 %', '3.004 %', '2 %')
    >>> percent_over(0.030000000000000002, 0.03, 2)
    '3.00 %'
    """
    while (
        share > limit + SAME_SHARE
        and digits < MOST_DIGITS
        and round(share * 100, digits) <= limit * 100
    ):
        digits += 1
    return percent(share, digits)


def amps(value: float) -> str:
    """Amps to one decimal, whole ones without.

    >>> amps(58.9038), amps(100.0)
    ('58.9 A', '100 A')
    """
    return f"{round(value, 1):g} A"


def a_rating(value: float) -> str:
    """A rating with the article it is spoken with.

    >>> [a_rating(v) for v in (20, 80, 11, 110, 800, 18)]
    ['a 20 A', 'an 80 A', 'an 11 A', 'a 110 A', 'an 800 A', 'an 18 A']
    """
    words = f"{value:,g} A"
    whole = words.removesuffix(" A").partition(".")[0]
    return f"{'an' if words.startswith('8') or whole in ('11', '18') else 'a'} {words}"


def btu_words(value: float) -> str:
    """Btu/h to three digits.

    >>> btu_words(376577.0)
    '377,000'
    """
    return f"{float(f'{value:.3g}'):,.0f}"
