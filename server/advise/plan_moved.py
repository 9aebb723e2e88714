"""Until when somebody who needs a device is moved, where fuel is what ends its power."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta

from server.advise.plan_fuel import fuel_ends
from server.domain.topology import sources_of
from server.simulate.results import Run
from server.simulate.verdict import moment

EVENING_H = 18
"""Hour by which somebody is moved, where power ends in the night (common practice, no source)."""

LEAD_H = 2.0
"""To move somebody, or get a battery or a bottle, before it is needed (common practice, no
source). [h]"""

_NIGHT_H = (20, 8)
_NEAR_S = 90.0


def fuel_end(run: Run, row: int, begins: Collection[datetime]) -> datetime | None:
    """The first end of fuel that keeps a circuit dark in one of the gaps that begin then.

    Of sets that can feed it alone. A set stopped for service may find nothing left to start on, so
    the end may come later.
    """
    above = sources_of(run.site, run.site.circuits[row])
    ends_s = sorted(
        (at - run.scenario.start).total_seconds()
        for generator in run.site.generators
        if generator.id in above
        for at in fuel_ends(run, generator)
    )
    gaps_s = [(at - run.scenario.start).total_seconds() for at in begins]
    dark = [(a, b) for a, b in run.served.dark(row) if any(a - 1.0 <= g <= b + 1.0 for g in gaps_s)]
    for end_s in ends_s:
        if any(a - _NEAR_S <= end_s <= b for a, b in dark):
            return run.scenario.start + timedelta(seconds=round(end_s))
    return None


def moved_by(run: Run, by: datetime, ends: datetime | None, first: datetime) -> datetime:
    """The moment by which somebody is moved: by daylight where the fuel ends in the night.

    Where roads are closed nobody is moved once the outage, which begins at ``first``, is there.
    """
    if ends is None:
        return max(by, first)
    if run.scenario.cut_off:
        return max(run.scenario.start, first - timedelta(hours=LEAD_H))
    return max(min(by, _evening(ends)), first)


def _evening(ends: datetime) -> datetime:
    begin, end = _NIGHT_H
    if end <= ends.hour < begin:
        return ends - timedelta(hours=LEAD_H)
    day = ends if ends.hour >= begin else ends - timedelta(days=1)
    return day.replace(hour=EVENING_H, minute=0, second=0, microsecond=0)


def reason(ends: datetime | None) -> str:
    """Why it is told so early."""
    return "" if ends is None else f" The fuel ends about {moment(ends)}."
