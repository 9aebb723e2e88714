"""Limits that are the same along one way: the same rating, carrying the same at the same minute."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from server.simulate.results import LimitResult

_SAME_A = 0.05


@dataclass(frozen=True)
class Folded:
    """A limit, and those the current meets besides it that are the same in every figure."""

    result: LimitResult
    others: tuple[LimitResult, ...]

    @property
    def along(self) -> str:
        """That the same limit comes again along the way, by name; empty where it does not."""
        if not self.others:
            return ""
        times = "twice" if len(self.others) == 1 else f"{len(self.others) + 1} times"
        names = "; ".join(r.point.name for r in self.others)
        return f"the same {self.result.point.leg_rating_a:g} A {times} along the way: also {names}"


def folded(results: Iterable[LimitResult]) -> tuple[Folded, ...]:
    """Limits in their order, the first of those alike with the others behind it.

    Alike: the same rating and kind of count, and the same worst amps of both legs (to 0.05 A) at
    the same minute. A limit that carries nothing, or of a neutral, stays alone.
    """
    groups: dict[tuple[object, ...], list[LimitResult]] = {}
    for result in results:
        first, second = result.legs
        alone = result.worst.peak_a <= 0.0 or result.point.kind == "feeder_neutral"
        key = (
            result.point.id if alone else "",
            round(result.point.leg_rating_a, 1),
            result.point.counts,
            result.worst.at,
            *(round(leg.peak_a / _SAME_A) for leg in (first, second)),
        )
        groups.setdefault(key, []).append(result)
    return tuple(Folded(found[0], tuple(found[1:])) for found in groups.values())
