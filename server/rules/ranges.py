"""Refusing a figure that cannot be computed with, and naming the permitted range."""

from __future__ import annotations

import math
from dataclasses import dataclass

from server.domain.errors import InputError


@dataclass(frozen=True)
class Range:
    """What a figure may be, ends included."""

    low: float
    high: float
    unit: str = ""
    whole: bool = False

    @property
    def words(self) -> str:
        """The range in a sentence.

        >>> Range(0, 20_000, "ft").words, Range(1, 6, whole=True).words
        ('0 to 20,000 ft', '1 to 6, whole')
        """
        unit = f" {self.unit}" if self.unit else ""
        low, high = (f"{end:,g}".replace("-", "−") for end in (self.low, self.high))
        return f"{low} to {high}{unit}{', whole' if self.whole else ''}"

    def holds(self, value: float) -> bool:
        """Whether a figure lies in it.

        >>> Range(1, 6, whole=True).holds(2.5), Range(1, 6).holds(6)
        (False, True)
        """
        inside = math.isfinite(value) and self.low <= value <= self.high
        return inside and (not self.whole or value == int(value))


def within(value: float, low: float, high: float, *, field: str, unit: str = "") -> float:
    """The value when it lies in its range, ends included.

    >>> within(3, 0, 10, field="run_ft")
    3

    Raises
    ------
    InputError   Outside the range or not a number; the message names the range.
    """
    if not math.isfinite(value) or not low <= value <= high:
        words = f" {unit}" if unit else ""
        raise InputError(
            f"{field.replace('_', ' ')} must lie between {low:g} and {high:g}{words}; "
            f"{value:g} was given.",
            field=field,
        )
    return value
