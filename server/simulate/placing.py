"""Where the run that is shown stands among the other draws of its scenario."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LEVEL_A = 0.05
"""Peaks closer than this read alike to a tenth of an amp and count as level. [A]"""


@dataclass(frozen=True)
class Placing:
    """The peak of one draw at one limit beside those of the others. [A]

    ``higher``, ``level`` and ``lower`` are how many of the other draws peak higher, alike to a
    tenth of an amp, and lower; they sum to all others.
    """

    peak_a: float
    higher: int
    level: int
    lower: int

    @property
    def others(self) -> int:
        """How many draws it is compared with."""
        return self.higher + self.level + self.lower


def placing(
    number: NDArray[np.int64], peaks_a: NDArray[np.floating], *, shown: int = 0
) -> Placing | None:
    """Place one draw among the others.

    Parameters
    ----------
    number : (draws,)    Numbers of the draws.
    peaks_a : (draws,)   Peak of each. [A]
    shown : int          The draw to place; draw 0 is the one that a run shows.

    Returns
    -------
    Placing or None   None where that draw is not among them, or is the only one.

    >>> found = placing(np.arange(5), np.array([20.0, 30.0, 20.02, 10.0, 40.0]))
    >>> (found.higher, found.level, found.lower)
    (2, 1, 1)
    """
    at = np.flatnonzero(number == shown)
    if at.size == 0 or len(number) < 2:
        return None
    gap_a = np.delete(peaks_a, at[0]).astype(np.float64) - float(peaks_a[at[0]])
    higher, lower = int((gap_a >= LEVEL_A).sum()), int((gap_a <= -LEVEL_A).sum())
    return Placing(float(peaks_a[at[0]]), higher, len(gap_a) - higher - lower, lower)


def placing_words(found: Placing, name: str) -> str:
    """The placing in a sentence; ``name`` is the limit it is of.

    >>> placing_words(Placing(61.2, 119, 2, 78), "Main")
    'The run shown peaks at 61.2 A at Main: milder than 60 % of the other draws (119 of 199), \
level with 2 and heavier than 78.'
    """
    start = f"The run shown peaks at {found.peak_a:.1f} A at {name}"
    if found.level == found.others:
        return f"{start}, as every other draw does."
    if not found.higher:
        level = f", {found.level} the same" if found.level else ""
        return f"{start}: none of the other {found.others} draws peaks higher{level}."
    rest = [f"level with {found.level}"] if found.level else []
    rest += [f"heavier than {found.lower}"] if found.lower else []
    share = f"{_percent(found.higher, found.others)} % of the other draws"
    tail = f", {' and '.join(rest)}" if rest else ""
    return f"{start}: milder than {share} ({found.higher} of {found.others}){tail}."


def _percent(part: int, whole: int) -> int:
    """Rounded, but 100 only for all of them and 0 only for none."""
    if part in (0, whole):
        return 100 * part // whole
    return min(max(round(100 * part / whole), 1), 99)
