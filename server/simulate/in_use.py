"""Hours in which what must be served on a circuit is in use; a gap is counted only over them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.behaviour import Hourly
from server.domain.catalogue import KINDS, away_share
from server.domain.circuit import Circuit
from server.domain.scenario import Scenario
from server.domain.site import Site

Span = tuple[float, float]
HOUR_S, DAY_S = 3600.0, 86_400.0


@dataclass(frozen=True)
class WantedGap:
    """A stretch without power of which ``wanted_s`` are wanted, the first from ``begin_s`` on.

    What has no power all the while does not fill its battery between two nights, so hours of rest
    within a stretch are left out of it and do not end it. [s]
    """

    begin_s: float
    end_s: float
    wanted_s: float

    def after(self, wait_s: float, quiet: tuple[Span, ...]) -> float:
        """The instant in it by which so much of it was wanted. [s]

        >>> WantedGap(0.0, 100.0, 50.0).after(45.0, ((40.0, 90.0),))
        95.0
        """
        return let_out(self.begin_s + wait_s, rests_in(((self.begin_s, self.end_s),), quiet))


def decides(circuit: Circuit) -> tuple[Appliance, ...]:
    """The appliances for which a circuit must be served: medical devices on it, else all."""
    kinds = [(a, KINDS.get(a.kind)) for a in circuit.appliances]
    devices = tuple(a for a, kind in kinds if kind and kind.harm == "medical")
    return devices or circuit.appliances


def quiet_spans(site: Site, scenario: Scenario) -> dict[int, tuple[Span, ...]]:
    """Spans of a scenario in which a must-serve circuit is not in use, by the circuit's row. [s]

    A circuit has them where everything it must be served for goes by hours of the day and asks for
    nothing in some, such as what is worn at night. The minutes by which such a thing may begin
    early or end late (its ``spread_min``) count as in use, and so does all that goes by anything
    but the clock. With nobody there what goes by the hour is as in its lowest hour, and what is
    for people alone is not in use.
    """
    found: dict[int, tuple[Span, ...]] = {}
    for row, circuit in enumerate(site.circuits):
        things = decides(circuit)
        devices = any((kind := KINDS.get(a.kind)) and kind.harm == "medical" for a in things)
        if circuit.load_class != "must_serve" and not devices:
            continue
        spans = quiet_of(things, scenario)
        if spans is not None:
            found[row] = spans
    return found


def quiet_of(things: tuple[Appliance, ...], scenario: Scenario) -> tuple[Span, ...] | None:
    """Spans of a scenario in which none of these is in use, None where one never rests. [s]

    Beside a device that never rests, one that is worn at night rests by day all the same.
    """
    nobody = scenario.people == 0
    used = [a for a in things if not (nobody and away_share(a) == 0.0)]
    hourly = [a.behaviour for a in used if isinstance(a.behaviour, Hourly)]
    if not things or len(hourly) < len(used):
        return None
    wanted = np.zeros(24, dtype=np.bool_)
    for behaviour in hourly:
        shares = np.array(behaviour.shares)
        wanted |= (np.full(24, shares.min()) if nobody else shares) > 0.0
    if wanted.all():
        return None
    spread_s = max((b.spread_min for b in hourly), default=0.0) * 60.0
    return _quiet(wanted, spread_s, scenario)


def _quiet(wanted: NDArray[np.bool_], spread_s: float, scenario: Scenario) -> tuple[Span, ...]:
    span_s, before_s = scenario.steps * float(scenario.step_s), scenario.lead_s
    if not wanted.any():
        return ((-before_s, span_s),)
    start = scenario.start
    clock_s = start.hour * HOUR_S + start.minute * 60.0 + start.second
    found: list[Span] = []
    hour = -24 * (1 + math.ceil(before_s / DAY_S))
    while hour * HOUR_S < clock_s + span_s:
        last = hour
        while not wanted[last % 24]:
            last += 1
        if last > hour and wanted[(hour - 1) % 24]:
            begin = max(hour * HOUR_S + spread_s - clock_s, -before_s)
            end = min(last * HOUR_S - spread_s - clock_s, span_s)
            if end > begin:
                found.append((begin, end))
        hour = max(last, hour + 1)
    return tuple(found)


def dark_spans(edge_s: NDArray[np.float64], live: NDArray[np.bool_]) -> tuple[Span, ...]:
    """Spans of one circuit without power to use, in order and never touching. [s]

    >>> dark_spans(np.array([0.0, 5.0, 9.0, 12.0]), np.array([True, False, False]))
    ((5.0, 12.0),)
    """
    found: list[Span] = []
    for segment in np.flatnonzero(~live):
        begin, end = float(edge_s[segment]), float(edge_s[segment + 1])
        if found and found[-1][1] == begin:
            found[-1] = (found[-1][0], end)
        else:
            found.append((begin, end))
    return tuple(found)


def wanted_gaps(dark: tuple[Span, ...], quiet: tuple[Span, ...]) -> tuple[WantedGap, ...]:
    """Each stretch without power with what of it is wanted; those of which nothing is left out.

    >>> wanted_gaps(((0.0, 100.0), (200.0, 210.0)), ((40.0, 90.0), (195.0, 220.0)))
    (WantedGap(begin_s=0.0, end_s=100.0, wanted_s=50.0),)
    >>> wanted_gaps(((50.0, 100.0),), ((40.0, 90.0),))
    (WantedGap(begin_s=90.0, end_s=100.0, wanted_s=10.0),)
    """
    found = []
    for begin, end in dark:
        wanted_s = end - begin - sum(b - a for a, b in rests_in(((begin, end),), quiet))
        if wanted_s > 1e-6:
            first = next((b for a, b in quiet if a <= begin < b), begin)
            found.append(WantedGap(first, end, wanted_s))
    return tuple(found)


def rests_in(dark: tuple[Span, ...], quiet: tuple[Span, ...]) -> tuple[Span, ...]:
    """The parts of stretches without power in which nothing is wanted, in order. [s]

    >>> rests_in(((0.0, 50.0), (60.0, 90.0)), ((40.0, 70.0),))
    ((40.0, 50.0), (60.0, 70.0))
    """
    both = [(max(a, c), min(b, d)) for a, b in dark for c, d in quiet]
    return tuple(sorted((a, b) for a, b in both if b > a))


def pressed(dark: tuple[Span, ...], rests: tuple[Span, ...]) -> tuple[Span, ...]:
    """Stretches without power by a clock that stands still in their rests. [s]

    >>> pressed(((0.0, 50.0), (60.0, 90.0)), ((40.0, 50.0), (60.0, 70.0)))
    ((0.0, 40.0), (50.0, 70.0))
    """

    def told(at_s: float) -> float:
        return at_s - sum(min(at_s, b) - a for a, b in rests if a < at_s)

    return tuple((told(a), told(b)) for a, b in dark if told(b) > told(a))


def let_out(at_s: float, rests: tuple[Span, ...]) -> float:
    """An instant of that clock by the clock of the scenario. [s]

    >>> let_out(45.0, ((40.0, 50.0), (60.0, 70.0))), let_out(55.0, ((40.0, 50.0), (60.0, 70.0)))
    (55.0, 75.0)
    """
    for begin, end in rests:
        if at_s > begin + 1e-6:
            at_s += end - begin
    return at_s
