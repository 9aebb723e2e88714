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
    low, high = (100.0 * edge for edge in chance.between)
    return (
        f"in {chance.hits or 'none'} out of {draws_words(chance.draws)} "
        f"(likely {_short(low)} to {_short(high)} %)"
    )


def draws_words(count: int) -> str:
    """How many draws.

    >>> draws_words(1), draws_words(200)
    ('1 draw', '200 draws')
    """
    return "1 draw" if count == 1 else f"{count} draws"


def _short(percent: float) -> str:
    return f"{percent:.0f}" if percent >= 10.0 or percent < 0.05 else f"{percent:.1f}"
