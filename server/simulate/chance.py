"""In how many of many draws something happened, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

Z95 = 1.959963984540054
"""Two-sided 95 % point of the normal distribution."""


@dataclass(frozen=True)
class Chance:
    """In how many of so many draws something happened."""

    hits: int
    draws: int

    @property
    def share(self) -> float:
        """Hits over draws."""
        return self.hits / self.draws

    @property
    def standard_error(self) -> float:
        """Of the share, as a binomial count: sqrt(p (1 - p) / n).

        >>> round(Chance(20, 200).standard_error, 4)
        0.0212
        """
        return math.sqrt(self.share * (1.0 - self.share) / self.draws)

    @property
    def between(self) -> tuple[float, float]:
        """Where the true share lies, with 95 % confidence.

        Wilson's interval, which says something at 0 and at n too. Source: E. B. Wilson, "Probable
        inference, the law of succession, and statistical inference", JASA 22 (1927), from memory.

        >>> [round(x, 4) for x in Chance(0, 200).between]
        [0.0, 0.0188]
        """
        n, p, zz = self.draws, self.share, Z95 * Z95
        middle = (p + zz / (2.0 * n)) / (1.0 + zz / n)
        half = Z95 / (1.0 + zz / n) * math.sqrt(p * (1.0 - p) / n + zz / (4.0 * n * n))
        return max(0.0, middle - half), min(1.0, middle + half)


def out_of(chance: Chance) -> str:
    """A chance in words, with where the true one lies.

    >>> out_of(Chance(3, 200)), out_of(Chance(0, 200))
    ('in 3 out of 200 draws (likely 0.5 to 4.3 %)', 'in none out of 200 draws (likely 0 to 1.9 %)')
    """
    return f"in {chance.hits or 'none'} out of {draws_words(chance.draws)} ({_likely(chance)})"


def _likely(chance: Chance) -> str:
    low, high = (100.0 * edge for edge in chance.between)
    return f"likely {_short(low)} to {_short(high)} %"


def in_draws(chance: Chance) -> str:
    """A chance beside others of the same draws: where they all agree, `agreed_words` say how sure.

    >>> in_draws(Chance(3, 200)), in_draws(Chance(200, 200)), in_draws(Chance(0, 200))
    ('in 3 of 200 draws (likely 0.5 to 4.3 %)', 'in every draw', 'in no draw')
    """
    if chance.hits in (0, chance.draws):
        return "in every draw" if chance.hits else "in no draw"
    return f"in {chance.hits} of {draws_words(chance.draws)} ({_likely(chance)})"


def agreed_words(draws: int) -> str:
    """How sure it is what every draw, or none, has.

    >>> agreed_words(200)
    'Of 200 draws: what comes in every draw is likely 98 to 100 %, what in none 0 to 1.9 %.'
    """
    every, none = (_likely(Chance(hits, draws)) for hits in (draws, 0))
    return (
        f"Of {draws_words(draws)}: what comes in every draw is {every}, what in none "
        f"{none.removeprefix('likely ')}."
    )


def draws_words(count: int) -> str:
    """How many draws.

    >>> draws_words(1), draws_words(200)
    ('1 draw', '200 draws')
    """
    return "1 draw" if count == 1 else f"{count} draws"


def _short(percent: float) -> str:
    return f"{percent:.0f}" if percent >= 10.0 or percent < 0.05 else f"{percent:.1f}"
