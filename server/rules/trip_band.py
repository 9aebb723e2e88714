"""When a breaker holds, may trip and must have tripped: bands, never one curve."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.errors import InputError
from server.rules.tables import read_toml

STEPS = (1.35, 2.0)
"""Multiples of its rating at which a breaker must open within a time of its own."""


@dataclass(frozen=True)
class TripTime:
    """The time within which a breaker of this size must open. ``multiple`` is of its rating."""

    multiple: float
    minutes: float
    status: str


def must_trip_within(*, rating_a: float) -> tuple[TripTime, ...]:
    """The times UL 489 sets for a breaker of this rating, the lowest multiple first.

    Up to its rating it holds. Between that and 135 % it may trip at any time or never.

    >>> [(t.multiple, t.minutes) for t in must_trip_within(rating_a=30)]
    [(1.35, 60.0), (2.0, 2.0)]

    Raises
    ------
    InputError   For a rating the table does not reach.
    """
    table = read_toml("breakers")
    found = []
    for multiple, name in zip(STEPS, ("at_135", "at_200"), strict=True):
        row = next((r for r in table[name] if rating_a <= r["up_to_a"]), None)
        if row is None:
            most = table[name][-1]["up_to_a"]
            raise InputError(f"Trip times are known up to {most} A.", field="rating_a")
        found.append(TripTime(multiple, float(row["minutes"]), str(row["status"])))
    return tuple(found)
