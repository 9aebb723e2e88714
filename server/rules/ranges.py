"""Refusing a figure that cannot be computed with, and naming the permitted range."""

from __future__ import annotations

import math

from server.domain.errors import InputError


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
