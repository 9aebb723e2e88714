"""What a change made better or worse, limit by limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from server.simulate.results import LimitPoint, LimitResult, Run

Change = Literal["mended", "better", "same", "worse", "broken"]
_NOTICED_PERCENT = 0.5


@dataclass(frozen=True)
class LimitChange:
    """One limit before and after. ``before`` or ``after`` is None where the point came or went."""

    point: LimitPoint
    before: LimitResult | None
    after: LimitResult | None
    change: Change


def compare(before: Run, after: Run) -> tuple[LimitChange, ...]:
    """Every limit of either run, in the order of ``after``, then those that went."""
    old = {r.point.id: r for r in before.limits}
    new = {r.point.id: r for r in after.limits}
    found = [
        LimitChange(r.point, old.get(r.point.id), r, _change(old.get(r.point.id), r))
        for r in after.limits
    ]
    found += [
        LimitChange(r.point, r, None, _change(r, None))
        for r in before.limits
        if r.point.id not in new
    ]
    return tuple(found)


def _change(before: LimitResult | None, after: LimitResult | None) -> Change:
    was_over = before is not None and before.status == "over"
    is_over = after is not None and after.status == "over"
    if was_over != is_over:
        return "mended" if was_over else "broken"
    gap = (after.worst.percent if after else 0.0) - (before.worst.percent if before else 0.0)
    if abs(gap) < _NOTICED_PERCENT:
        return "same"
    return "worse" if gap > 0 else "better"
