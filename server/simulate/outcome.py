"""Sums a run up: worst minute of every limit, how circuits fared, energy by bus and source."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from server.domain.base import LEGS
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import sources_above, without_neutral
from server.simulate.flows import StepFlows
from server.simulate.held import Span, Stretches
from server.simulate.in_use import dark_spans, pressed, rests_in, wanted_gaps
from server.simulate.leg_stats import leg_stats
from server.simulate.results import (
    CircuitService,
    LegPeak,
    LimitPoint,
    LimitResult,
    Status,
)
from server.simulate.served import past

Floats = NDArray[np.float64]

_POLES_WITH_NEUTRAL = 3
_AT_ONCE = 1e12


def status_of(percent: float) -> Status:
    """``over`` past the limit, ``close`` past 80 % of it, else ``within``.

    >>> [status_of(p) for p in (80.0, 80.1, 100.0, 100.1)]
    ['within', 'close', 'close', 'over']
    """
    if percent > 100.0 + 1e-6:
        return "over"
    return "close" if percent > 80.0 + 1e-6 else "within"


def summarise_limits(
    site: Site,
    scenario: Scenario,
    points: tuple[LimitPoint, ...],
    amps: NDArray[np.float32],
    flows: StepFlows,
) -> tuple[LimitResult, ...]:
    """The worst one-minute mean of every leg of every limit point, and who made it up."""
    steps_per_min = max(1, 60 // scenario.step_s)
    steps = amps.shape[2]
    stats = leg_stats(
        amps,
        np.array([p.leg_rating_a for p in points], dtype=np.float64),
        np.array([p.kind == "feeder_neutral" for p in points], dtype=np.bool_),
        steps_per_min,
        scenario.step_s / 60.0,
    )
    unknown = parallel_neutrals(site) | without_neutral(site)

    def moment(block: float) -> timedelta:
        return timedelta(seconds=block * steps_per_min * scenario.step_s)

    found: list[LimitResult] = []
    for point, rows in zip(points, stats.tolist(), strict=True):
        peaks = []
        for leg, (peak_a, block, over_80, over_100, steady) in zip(LEGS, rows, strict=False):
            first = int(block) * steps_per_min
            peaks.append(
                LegPeak(
                    leg=leg,
                    peak_a=peak_a,
                    at=scenario.start + moment(block),
                    percent=100.0 * peak_a / point.leg_rating_a,
                    minutes_over_80=over_80,
                    minutes_over_100=over_100,
                    steady_a=steady,
                    contributors=flows.contributors(
                        point.id, leg, first, steps=min(steps_per_min, steps - first)
                    )
                    if peak_a > 0.8 * point.leg_rating_a
                    else (),
                )
            )
        hidden = point.element_id in unknown
        found.append(
            LimitResult(
                point=point,
                legs=(peaks[0], peaks[1]),
                neutral_peak_a=None if hidden else rows[2][0],
                neutral_at=None if hidden else scenario.start + moment(rows[2][1]),
                status=status_of(max(p.percent for p in peaks)),
            )
        )
    return tuple(found)


def parallel_neutrals(site: Site) -> frozenset[str]:
    """Elements whose neutral amps cannot be told.

    Where a double-throw joins the neutrals of both its feeds without switching them, return
    current divides between the two ways up to where they meet.
    """
    hidden: set[str] = set()
    for throw in site.double_throws:
        if throw.switches_neutral and throw.poles == _POLES_WITH_NEUTRAL:
            continue
        if any(f.no_neutral for f in site.feeders_into.get(throw.id, ())):
            continue
        ways = [_way_up(site, throw.id, side) for side in ("normal", "backed_up")]
        if sources_above(site, throw.id) and all(ways):
            hidden |= {throw.id} | (ways[0] ^ ways[1])
    return frozenset(hidden)


def _way_up(site: Site, element_id: str, to_input: str | None) -> set[str]:
    """Every element and feeder above one input, by any switch position."""
    found: set[str] = set()
    first = site.feeder_into(element_id, to_input)
    waiting = [] if first is None else [first]
    while waiting:
        feeder = waiting.pop()
        if feeder.id not in found:
            found |= {feeder.id, feeder.from_id}
            waiting += site.feeders_into.get(feeder.from_id, ())
    return found


def continuous_findings(limits: tuple[LimitResult, ...]) -> tuple[Finding, ...]:
    """A finding for each device that carried more than 80 % for three hours on end."""
    found = []
    for result in limits:
        held = max(leg.steady_a for leg in result.legs)
        rating = result.point.leg_rating_a
        if result.point.continuous_rule and held > 0.8 * rating:
            found.append(
                Finding(
                    code="continuous-over-80",
                    severity="warning",
                    element_id=result.point.element_id,
                    text=(
                        f"{result.point.name} carried {held:.1f} A for three hours without a "
                        f"break: more than 80 % of {rating:g} A."
                    ),
                    mend="Run less at once, or have an electrician size it for continuous load.",
                    section="210.20(A), 215.3",
                    source=(
                        "NEC: an overcurrent device carries the noncontinuous load plus "
                        "125 % of the continuous load (three hours or more)."
                    ),
                )
            )
    return tuple(found)


def circuit_service(
    site: Site,
    stretches: Stretches,
    *,
    unserved: NDArray[np.float64],
    quiet: Mapping[int, tuple[Span, ...]],
) -> tuple[CircuitService, ...]:
    """How every circuit fared, in the hours before a run that begins inside an outage too.

    quiet : by circuit                  When what must be served on it is not in use. [s]
    unserved : (circuits,)              Time of want. [s]
    """
    live, fed, segment_s = stretches.live, stretches.fed, stretches.length_s
    held = stretches.spans
    unserved_min = unserved / 60.0
    dead_min = (~fed * segment_s[:, None]).sum(axis=0) / 60.0
    gaps_min = longest_gaps_s(live, segment_s) / 60.0
    waits_min = longest_waits_s(site, stretches, quiet) / 60.0
    dark_min = (~live * segment_s[:, None]).sum(axis=0) / 60.0
    edge_s = stretches.edge_s
    before = np.vstack((np.ones((1, live.shape[1]), dtype=np.bool_), live[:-1]))
    times = (before & ~live).sum(axis=0)
    found = []
    for i, circuit in enumerate(site.circuits):
        gap, dark, dark_times = float(gaps_min[i]), float(dark_min[i]), int(times[i])
        if i in quiet:
            counted = wanted_gaps(dark_spans(edge_s, live[:, i]), quiet[i])
            gap = max((one.wanted_s for one in counted), default=0.0) / 60.0
            dark, dark_times = sum(one.wanted_s for one in counted) / 60.0, len(counted)
        allowed = bears_min(circuit)
        found.append(
            CircuitService(
                circuit_id=circuit.id,
                name=circuit.name,
                unserved_min=float(unserved_min[i]),
                dead_min=float(dead_min[i]),
                longest_gap_min=gap,
                gap_exceeded=waits_too_long(
                    circuit, float(waits_min[i]), unserved_min=float(unserved_min[i])
                ),
                dark_min=dark,
                dark_times=dark_times,
                bears_min=allowed,
                device=medical_device(circuit),
                what=served_on(circuit),
                drawn_min=float(waits_min[i]) if counts_by_battery(circuit) else gap,
                held_min=sum(end - begin for begin, end in held.get(i, ())) / 60.0,
                times_held=len(held.get(i, ())),
                in_use_only=i in quiet,
                battery_min=circuit.battery_waited_on_min,
            )
        )
    return tuple(found)


def medical_device(circuit: Circuit) -> str:
    """Name of a medical device on a circuit, empty where there is none."""
    kinds = ((a.name, KINDS.get(a.kind)) for a in circuit.appliances)
    return next((name for name, kind in kinds if kind and kind.harm == "medical"), "")


def served_on(circuit: Circuit) -> str:
    """What on a must-serve circuit does harm when dark, else what is of that class by its kind."""
    if circuit.load_class != "must_serve":
        return ""
    if harmed := harmed_on(circuit):
        return harmed
    kinds = ((a.name, KINDS.get(a.kind)) for a in circuit.appliances)
    return next((name for name, kind in kinds if kind and kind.load_class == "must_serve"), "")


def harmed_on(circuit: Circuit) -> str:
    """The first thing on a circuit whose want of power does harm, empty where nothing does."""
    kinds = ((a.name, KINDS.get(a.kind)) for a in circuit.appliances)
    return next((name for name, kind in kinds if kind is not None and kind.harm), "")


def bears_min(circuit: Circuit) -> float | None:
    """Longest gap a circuit can wait, None where nothing sets one. [min]

    A medical device sets one whatever the class of its circuit.
    """
    return circuit.least_gap_min if medical_device(circuit) else circuit.gap_min


def waits_too_long(circuit: Circuit, waited_min: float, *, unserved_min: float) -> bool:
    """Whether a circuit is without power longer than it can wait.

    What only heats or cools rooms is not where it asked for nothing all the while, as in mild
    weather: the limits of its rooms judge it.
    """
    allowed = bears_min(circuit)
    if allowed is None or waited_min <= allowed + 1e-9:
        return False
    of_rooms = bool(circuit.appliances) and all(
        a.behaviour.model == "room" for a in circuit.appliances
    )
    return not of_rooms or unserved_min > 0.0


def longest_gaps_s(
    live: NDArray[np.bool_], segment_s: NDArray[np.float64], *, regain: float | Floats = _AT_ONCE
) -> NDArray[np.float64]:
    """Longest stretch of each circuit without supply, from (segments, circuits): (circuits,). [s].

    ``regain`` is what a second with power gives back of the seconds without, all of them where
    nothing is said.

    >>> live = np.array([[True, False], [False, False], [True, True], [False, False]])
    >>> longest_gaps_s(live, np.array([60.0, 5.0, 30.0, 8.0])).tolist()
    [8.0, 65.0]
    >>> longest_gaps_s(live, np.array([60.0, 5.0, 2.0, 8.0]), regain=0.5).tolist()
    [12.0, 72.0]
    """
    best, current = np.zeros(live.shape[1]), np.zeros(live.shape[1])
    for has_power, length_s in zip(live, segment_s, strict=True):
        left = np.maximum(current - length_s * regain, 0.0)
        current = np.where(has_power, left, current + length_s)
        np.maximum(best, current, out=best)
    return best


def longest_waits_s(
    site: Site, stretches: Stretches, quiet: Mapping[int, tuple[Span, ...]]
) -> Floats:
    """What is held to the gap that each circuit bears, (circuits,). [s]

    The longest gap; where an own battery bears it, the most that all gaps together took out of the
    battery, filled at its rate between them. Hours without power in which nothing on it is in use,
    ``quiet`` by circuit, neither count nor fill it. Source: balance of one store of charge.
    """
    regain = np.full(len(site.circuits), _AT_ONCE)
    for i, circuit in enumerate(site.circuits):
        own = circuit.own_battery
        if own is not None and counts_by_battery(circuit):
            regain[i] = own.lasts_min / own.fills_min
    live, edge_s = stretches.live, stretches.edge_s
    waits_s = longest_gaps_s(live, stretches.length_s, regain=regain)
    for i, rests in quiet.items():
        dark = dark_spans(edge_s, live[:, i])
        spans = pressed(dark, rests_in(dark, rests))
        most_h = past(spans, limit_h=np.inf, regain=float(regain[i]), end_s=float(edge_s[-1]))[1]
        waits_s[i] = most_h * 3600.0
    return waits_s


def counts_by_battery(circuit: Circuit) -> bool:
    """Whether it is its own battery that bears a gap, and no gap that a person allows."""
    return circuit.allowed_gap_min is None and circuit.own_battery is not None
