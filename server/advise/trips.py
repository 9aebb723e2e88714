"""What the breakers of a run do: hold, may trip, must have tripped. The run itself trips none."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.domain.base import Leg
from server.domain.errors import InputError
from server.domain.working import Term, Working
from server.rules.tables import read_toml
from server.rules.trip_band import TripTime, must_trip_within
from server.simulate.results import LimitPoint, PointKind, Run

BREAKERS: frozenset[PointKind] = frozenset(
    {
        "service_main",
        "panel_main",
        "feeder_breaker",
        "generator_breaker",
        "circuit_breaker",
    }
)
"""Limit points that are breakers."""

Answer = Literal["may", "must"]

_LEGS: tuple[Leg, Leg] = ("L1", "L2")


@dataclass(frozen=True)
class Trip:
    """One leg of a breaker past its rating.

    ``answer`` is ``may`` (it may trip from ``at`` on, or never) or ``must`` (it has tripped by
    ``at`` at the latest, and may have from ``over_from``). ``multiple`` is the worst one-minute
    mean over its rating, ``held_min`` the longest stretch at or past what decides.
    """

    point_id: str
    name: str
    rating_a: float
    leg: Leg
    answer: Answer
    over_from: datetime
    at: datetime
    multiple: float
    held_min: float
    working: Working


def trips_of(run: Run) -> tuple[Trip, ...]:
    """Every breaker past its rating in this run, those that must trip first. The rest hold."""
    found = []
    for row, point in enumerate(run.points):
        if point.kind in BREAKERS:
            legs = run.amps[row, :2].astype(np.float64) / point.leg_rating_a
            each = [
                _trip(run, point, leg, multiples)
                for leg, multiples in zip(_LEGS, legs, strict=True)
                if multiples.max() > 1.0
            ]
            if each:
                found.append(min(each, key=_by_leg))
    return tuple(sorted(found, key=lambda t: (t.answer == "may", -t.multiple)))


def _by_leg(trip: Trip) -> tuple[bool, datetime | float, float]:
    """Of two legs of a breaker the one that must open it, the sooner first; else the fuller."""
    must = trip.answer == "must"
    return not must, trip.at if must else -trip.multiple, -trip.multiple


def _trip(run: Run, point: LimitPoint, leg: Leg, multiples: NDArray[np.float64]) -> Trip:
    step_min = run.scenario.step_s / 60.0
    over_from, held_min = run.time_of(int((multiples > 1.0).argmax())), _longest(multiples > 1.0)[1]
    answer: Answer = "may"
    at, decides = over_from, None
    try:
        times = must_trip_within(rating_a=point.leg_rating_a)
    except InputError:
        times = ()
    for time in times:
        first, steps = _first_of(multiples >= time.multiple, time.minutes / step_min)
        if first is not None:
            by = run.time_of(first) + timedelta(minutes=time.minutes)
            if answer == "may" or by < at:
                answer, at, decides, held_min = "must", by, time, steps
    return Trip(
        point_id=point.id,
        name=point.name,
        rating_a=point.leg_rating_a,
        leg=leg,
        answer=answer,
        over_from=over_from,
        at=at,
        multiple=float(multiples.max()),
        held_min=held_min * step_min,
        working=_working(point, times, decides, float(multiples.max())),
    )


def _runs(on: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First steps and lengths of the stretches without a break."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], on, [False]))))
    return edges[::2], edges[1::2] - edges[::2]


def _longest(on: NDArray[np.bool_]) -> tuple[int, int]:
    first, length = _runs(on)
    longest = int(length.argmax())
    return int(first[longest]), int(length[longest])


def _first_of(on: NDArray[np.bool_], steps: float) -> tuple[int | None, int]:
    """The first stretch of at least so many steps: where it begins, and its length."""
    first, length = _runs(on)
    for begin, count in zip(first.tolist(), length.tolist(), strict=True):
        if count >= steps:
            return begin, count
    return None, 0


def _working(
    point: LimitPoint, times: tuple[TripTime, ...], decides: TripTime | None, multiple: float
) -> Working:
    table = read_toml("breakers")["table"]
    terms = [Term("rating", point.leg_rating_a, "A", "")]
    terms += [
        Term(f"must open at {100 * t.multiple:.0f} % within", t.minutes, "min", t.status)
        for t in times
    ]
    return Working(
        title=f"{point.name}, worst minute over its rating",
        value=multiple,
        unit="",
        formula="amps ÷ rating; up to 1 it holds, from there to 1.35 it may trip or hold, past "
        "that it must open within the time for its size",
        terms=tuple(terms),
        source=f"{table['section']}, {decides.status if decides else table['status']}",
    )
