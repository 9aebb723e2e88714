"""The harm clock: how long after the power fails each harm comes, and which circuit was dead.

An item is listed only where the site has what it speaks of. It is read off a run: nothing here
moves a figure of it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.catalogue import KINDS, HarmOf
from server.domain.lengths import span_words
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.working import Term, Working
from server.simulate.fuel_need import FuelNeed
from server.simulate.results import Flows, Run, Watched
from server.simulate.served import Served, Span, counted
from server.simulate.verdict import moment

if TYPE_CHECKING:
    from server.simulate.hours_before import HoursBefore

LEAST_RECOVERY_S = 3600.0

HarmKind = Literal[
    "room_cold",
    "room_hot",
    "pipes",
    "food",
    "water",
    "tank_cold",
    "sump",
    "internet",
    "medical",
    "fuel",
    "oil",
]


@dataclass(frozen=True)
class Harm:
    """One harm of a run.

    ``at`` and ``hours`` into the outage are None where it is not reached. ``why`` says which
    circuit was dead, or what else brought it; ``nearest`` how near the run came to it. ``clause``
    says it inside a sentence; ``given`` is what is not known and must be so for it to come.
    ``spans`` are the stretches of a harm that passes when power is back [s]; without ``by_power``
    no power of the house would keep it off.
    """

    kind: HarmKind
    element_id: str
    what: str
    at: datetime | None
    hours: float | None
    why: str
    nearest: str
    working: Working
    clause: str = ""
    given: str = ""
    spans: tuple[Span, ...] = ()
    by_power: bool = True

    @property
    def reached(self) -> bool:
        """Whether it comes in this run."""
        return self.at is not None


@dataclass(frozen=True)
class Place:
    """An appliance, and the row of its circuit and of its load."""

    appliance: Appliance
    circuit: int
    load: int


@dataclass(frozen=True)
class Seen:
    """What the clock reads of one draw of many, named and shaped as in a run."""

    site: Site
    scenario: Scenario
    served: Served
    watched: tuple[Watched, ...]
    level: NDArray[np.float32]
    zone_f: NDArray[np.float32]
    own_room_f: NDArray[np.float32]
    own_room_units: tuple[str, ...]
    flows: Flows
    fuel: tuple[FuelNeed, ...] = ()
    before: HoursBefore | None = None

    @property
    def steps(self) -> int:
        """Number of output steps."""
        return self.scenario.steps


@dataclass(frozen=True)
class HarmClock:
    """What every harm needs of a run, looked up once."""

    run: Run | Seen

    @cached_property
    def places(self) -> tuple[Place, ...]:
        """Every appliance of the site in the order of its loads."""
        pairs = [
            (c, a) for c, circuit in enumerate(self.run.site.circuits) for a in circuit.appliances
        ]
        return tuple(Place(a, c, i) for i, (c, a) in enumerate(pairs))

    @cached_property
    def levels(self) -> dict[str, NDArray[np.float32]]:
        """What is watched of each appliance that stores something, at each step's end."""
        pairs = zip(self.run.watched, self.run.level, strict=True)
        return {watched.appliance_id: row for watched, row in pairs}

    def of(self, harm: HarmOf) -> tuple[Place, ...]:
        """Appliances whose kind can do this harm."""
        return tuple(
            p
            for p in self.places
            if (kind := KINDS.get(p.appliance.kind)) is not None and kind.harm == harm
        )

    @cached_property
    def _names(self) -> Counter[str]:
        return Counter(place.appliance.name for place in self.places)

    def name(self, place: Place) -> str:
        """An appliance's name, with its circuit's where several share it."""
        name = place.appliance.name
        if self._names[name] == 1:
            return name
        circuit = self.run.site.circuits[place.circuit].name
        return circuit if name.casefold() in circuit.casefold() else f"{name} on {circuit}"

    @cached_property
    def first_s(self) -> float:
        """When the first outage begins, no earlier than the run. [s]"""
        return max(0.0, min(span[0] for span in self.run.served.outages))

    @property
    def span_s(self) -> float:
        """Length of the run. [s]"""
        return self.run.steps * float(self.run.scenario.step_s)

    def of_outage(self, at_s: float, circuits: Iterable[int] = ()) -> bool:
        """Whether an instant falls into an outage or its recovery, or into what it left dead.

        Recovery takes as long as the outage did, and an hour at least: our own choice. Later a
        circuit still dead, and not only held off, counts as the outage’s.
        """
        for begin, end in self.run.served.outages:
            if begin <= at_s <= end + max(end - begin, LEAST_RECOVERY_S):
                return True
        after = self.run.served.outage_at(at_s) is not None
        return after and any(self._left_dead(circuit, at_s) for circuit in circuits)

    def _left_dead(self, circuit: int, at_s: float) -> bool:
        served = self.run.served
        dark = any(a - 1e-6 <= at_s <= b + 1e-6 for a, b in served.dark(circuit))
        return dark and not served.held_off(circuit, at_s)

    def time(self, at_s: float) -> datetime:
        """Local time of an instant of the run, to the second."""
        return self.run.scenario.start + timedelta(seconds=round(at_s))

    def dead_at(self, circuit: int, at_s: float) -> Span | None:
        """The span without power that an instant falls into, None where it has power. [s]"""
        spans = self.run.served.dark(circuit)
        return next((s for s in spans if s[0] - 1e-6 <= at_s <= s[1] + 1e-6), None)

    def dead_words(self, circuit: int, at_s: float) -> str:
        """That a circuit is dead, and since when; empty where it has power."""
        span = self.dead_at(circuit, at_s)
        if span is None:
            return ""
        held = self.run.served.held_off(circuit, min(at_s, span[1] - 1e-3))
        how = "held off" if held else "dead"
        return f"{self.run.site.circuits[circuit].name} {how} since {self._since(span[0])}"

    def dead_in_all(self, circuit: int, at_s: float, regain: float) -> str:
        """The same of what counts its hours without power, where several gaps make them up.

        ``regain`` is what an hour with power gives back. [h]
        """
        spans = counted(self.run.served.dark_ever(circuit), regain=regain, at_s=at_s)
        now = self.dead_words(circuit, at_s)
        if len(spans) < 2 or not now:
            return now
        dark_min = sum(b - a for a, b in spans) / 60.0
        return (
            f"{self.run.site.circuits[circuit].name} {span_words(dark_min)} without power in "
            f"{len(spans)} gaps since {self._since(spans[0][0])}"
        )

    def _since(self, begin_s: float) -> str:
        outage = self.run.served.outage_at(begin_s)
        known_s = float(self.run.served.edge_s[0])
        if begin_s <= known_s and outage is not None and outage[0] < known_s < outage[1]:
            begin_s = outage[0]
        return moment(self.time(begin_s))

    def harm(
        self,
        kind: HarmKind,
        element_id: str,
        what: str,
        at_s: float | None,
        *,
        formula: str,
        terms: tuple[Term, ...],
        source: str,
        why: str = "",
        nearest: str = "",
        clause: str = "",
        given: str = "",
        spans: tuple[Span, ...] = (),
        by_power: bool = True,
    ) -> Harm:
        """An item, its hours counted from the outage that it falls into or follows.

        What came before the run is told of its start.
        """
        hours = None
        if at_s is not None:
            at_s = max(at_s, 0.0)
            outage = self.run.served.outage_at(at_s)
            hours = max(0.0, at_s - (outage[0] if outage is not None else at_s)) / 3600.0
        working = Working(
            title=what,
            value=math.inf if hours is None else hours,
            unit="h",
            formula=formula,
            terms=terms,
            source=source,
        )
        at = None if at_s is None else self.time(at_s)
        return Harm(
            kind,
            element_id,
            what,
            at,
            hours,
            why if at else "",
            nearest,
            working,
            clause,
            given,
            spans,
            by_power,
        )
