"""How long a pump of a pit waits: no longer than its pit held in the run, whatever was typed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import floor, inf

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.pit_over import PitOver
from server.simulate.results import CircuitService


def waited_by_pits(
    site: Site,
    scenario: Scenario,
    service: tuple[CircuitService, ...],
    pits: tuple[PitOver, ...],
    dark_of: Callable[[int], Iterable[tuple[float, float]]],
) -> tuple[CircuitService, ...]:
    """The same, a pump waiting no longer than its pit held in this run from when its power went.

    In whole minutes, never rounded up. Whether its gap is too long is left to the pit, that is
    judged by its spill. ``dark_of`` gives the stretches without power of a row of circuits. [s]
    """
    at_s = {p.appliance_id: (p.at - scenario.start).total_seconds() for p in pits}
    found = []
    for row, (circuit, fared) in enumerate(zip(site.circuits, service, strict=True)):
        held_min = [
            float(floor((at_s[a.id] - begin + 0.5) / 60.0))
            for a in circuit.appliances
            if a.id in at_s
            for begin, end in dark_of(row)
            if begin - 1.0 <= at_s[a.id] <= end + 1.0
        ]
        least_min = min(held_min, default=inf)
        shorter = fared.bears_min is not None and least_min < fared.bears_min
        found.append(replace(fared, bears_min=max(least_min, 0.0)) if shorter else fared)
    return tuple(found)
