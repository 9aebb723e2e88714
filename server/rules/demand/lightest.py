"""Which of the sheets of an element counts in one switch position."""

from __future__ import annotations

from collections.abc import Sequence

from server.rules.demand.farm import FOR_NEW_WORK, by_part_v
from server.rules.demand.ratings import ElementKind
from server.rules.demand.worksheet import Worksheet

BY_ITSELF = ("full", "managed")
"""Methods of what transfers to a set without a hand."""


def counted_a(kind: ElementKind, sheet: Worksheet) -> float:
    """Amps by which the sheets of an element are compared. [A]

    The 25 % more of what runs three hours is of devices and conductors: a set itself is held to
    what it is asked for (702.4).
    """
    return sheet.leg_a if kind == "generator" else sheet.needed_a


def lightest(kind: ElementKind, sheets: Sequence[Worksheet]) -> Worksheet | None:
    """The lightest sheet permitted of those of one position, None where there is none.

    Where farm buildings hang on it, that of Part V, which asks for them to be worked out so
    (220.100). A method that may be used only once it is told that a service is of a dwelling of its
    own (220.82(A)) waits for that. A sheet that lacks an answer counts for less by that alone, so
    one that lacks none goes before it. On a set, what transfers by itself counts in full or as
    managed, whichever is less; what a hand selects, with that beside it, goes before it.
    """
    new = by_part_v([s for s in sheets if s.method in FOR_NEW_WORK and not s.if_told])
    ways = [new] if new else [[s for s in sheets if s.method in BY_ITSELF]]
    if not new:
        ways.append([s for s in sheets if s.method == "selected"])

    def amps(sheet: Worksheet) -> float:
        return counted_a(kind, sheet)

    found = [min([s for s in way if s.complete] or way, key=amps) for way in ways if way]
    return max(found, key=amps, default=None)
