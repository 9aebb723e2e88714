"""Stops of sets in a run: those its scenario names, and those for oil that the run itself makes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.simulate.results import Run
from server.simulate.timeline import FOR_OIL

_SETTLES_S = 60.0
"""What lies so near to the begin of a stop belongs to it. [s]"""

_NEAR_S = 1.0


@dataclass(frozen=True)
class ServiceStop:
    """Sets that are stopped together; ``for_oil`` where they have run their interval by then."""

    start: datetime
    end: datetime
    set_ids: tuple[str, ...]
    for_oil: bool = False

    @property
    def minutes(self) -> float:
        """How long it lasts. [min]"""
        return (self.end - self.start).total_seconds() / 60.0


def stops_made(run: Run) -> tuple[ServiceStop, ...]:
    """Every stop of a run by the clock, sets that stop and start again together as one."""
    found: dict[tuple[datetime, datetime, bool], set[str]] = {}
    for stop in run.scenario.generator_stops:
        ids = {g.id for g in run.site.generators if stop.is_of(g.id)}
        found.setdefault((stop.start, stop.end, False), set()).update(ids)
    lasts = timedelta(minutes=run.scenario.oil_stop_min or 0.0)
    for at, set_id in _oil_begins(run) if lasts else ():
        found.setdefault((at, at + lasts, True), set()).add(set_id)
    in_order = [g.id for g in run.site.generators]
    return tuple(
        ServiceStop(start, end, tuple(i for i in in_order if i in found[start, end, oil]), oil)
        for start, end, oil in sorted(found)
    )


def _oil_begins(run: Run) -> Iterable[tuple[datetime, str]]:
    """When the run stops a set for its oil, and which, as its log and the engine have it."""
    for event in run.events:
        at_s = (event.at - run.scenario.start).total_seconds()
        for generator in run.site.generators:
            stops_then = any(abs(b - at_s) < _NEAR_S for _, b in run.served.running[generator.id])
            if event.text == f"{generator.name} {FOR_OIL}" and stops_then:
                yield event.at, generator.id


def loses_power(run: Run, row: int, stop: ServiceStop) -> bool:
    """Whether a circuit has power up to a stop, and none once it has begun."""
    begin_s = (stop.start - run.scenario.start).total_seconds()
    dark = run.served.dark(row)
    stands = any(a <= begin_s + _SETTLES_S < b for a, b in dark)
    return stands and not any(a <= begin_s - _SETTLES_S < b for a, b in dark)


def stop_of(run: Run, row: int, at: datetime) -> ServiceStop | None:
    """The stop that has taken the power of a circuit and is not over at a moment, if any does."""
    return next(
        (s for s in stops_made(run) if s.start <= at <= s.end and loses_power(run, row, s)), None
    )
