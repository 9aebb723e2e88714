"""What a run returns: arrays for plots, and summaries that carry their own explanation."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from server.domain.base import Leg
from server.domain.finding import Finding
from server.domain.lengths import WithoutPower
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import Bus
from server.domain.working import Working
from server.simulate.fuel_need import FuelNeed
from server.simulate.harm_told import HarmTold
from server.simulate.pit_over import PitOver
from server.simulate.served import Served

if TYPE_CHECKING:
    from server.simulate.hours_before import HoursBefore

FloatArray = NDArray[np.float32]

Status = Literal["within", "close", "over"]
PointKind = Literal[
    "meter_socket",
    "service_main",
    "panel_bus",
    "panel_main",
    "feeder_breaker",
    "feeder_conductor",
    "feeder_neutral",
    "transfer_switch",
    "double_throw",
    "generator",
    "generator_breaker",
    "receptacle",
    "cord",
    "inlet",
    "solar_breaker",
    "circuit_breaker",
]


@dataclass(frozen=True)
class LimitPoint:
    """A place where current is compared with a rating.

    ``bus_id`` is the bus it belongs to (None for what several buses share). ``leg_rating_a`` is
    the limit of each leg; ``working`` shows where it comes from. ``counts`` is ``net`` where solar
    is taken off, ``gross`` for branch amps alone. ``continuous_rule`` is whether 80 % for three
    hours is a finding here (it is not for generators or 100 % rated devices).
    """

    id: str
    name: str
    kind: PointKind
    element_id: str
    bus_id: str | None
    leg_rating_a: float
    working: Working
    counts: Literal["net", "gross"] = "net"
    continuous_rule: bool = True


@dataclass(frozen=True)
class Contributor:
    """An appliance that was on. ``amps_a`` is its share along the total, so shares sum to it."""

    circuit_id: str
    circuit_name: str
    appliance_id: str
    appliance_name: str
    amps_a: float


@dataclass(frozen=True)
class LegPeak:
    """The worst one-minute mean of one leg at one limit point."""

    leg: Leg
    peak_a: float
    at: datetime
    percent: float
    minutes_over_80: float
    minutes_over_100: float
    steady_a: float
    """Highest amps held for three hours without a break (0 where the run is shorter)."""
    contributors: tuple[Contributor, ...]


@dataclass(frozen=True)
class LimitResult:
    """A limit point with its worst minutes. ``worst`` is the leg with the higher per cent."""

    point: LimitPoint
    legs: tuple[LegPeak, LegPeak]
    neutral_peak_a: float | None
    neutral_at: datetime | None
    status: Status

    @property
    def worst(self) -> LegPeak:
        """The leg nearer to (or further past) its limit."""
        return max(self.legs, key=lambda leg: leg.percent)


@dataclass(frozen=True)
class BusResult:
    """Energy taken by one bus, and how long it was dead."""

    bus: Bus
    energy_kwh: float
    dead_min: float


@dataclass(frozen=True)
class SourceResult:
    """Energy through one source; ``out_kwh`` is exported. ``fuel_guess``: its burn is not read."""

    source_id: str
    name: str
    kind: Literal["service", "generator", "solar"]
    in_kwh: float
    out_kwh: float
    run_h: float
    starts: int
    fuel_used: Working | None
    fuel_guess: bool = False


@dataclass(frozen=True)
class CircuitService(WithoutPower):
    """How a circuit fared.

    ``unserved_min`` are minutes in which something on it asked for power and got none (the energy
    it went without is ``not_had.energy_not_had``); ``longest_gap_min`` is the longest of the
    ``dark_times`` stretches without power to use and ``dark_min`` all of them together;
    ``drawn_min`` is the longest gap too, or where its own battery bears it the most that all of
    them took out of that. ``gap_exceeded`` compares it with ``bears_min``, the gap its class or a
    medical device on it allows (None where nothing sets one). ``device`` names that device, empty
    where there is none; ``what`` is what must be served. ``dead_min`` is without power at the
    breaker, ``held_min`` how long, and ``times_held`` how often, a load manager held it off while
    it had supply; what it asked for then counts as unserved. With ``in_use_only`` it rests in some
    hours, which are left out. ``battery_min``: the gap it bears is two thirds of that; 0 for none.
    """

    circuit_id: str
    name: str
    unserved_min: float
    dead_min: float
    longest_gap_min: float
    gap_exceeded: bool
    dark_min: float
    dark_times: int
    bears_min: float | None
    device: str
    drawn_min: float = 0.0
    what: str = ""
    held_min: float = 0.0
    times_held: int = 0
    in_use_only: bool = False
    battery_min: float = 0.0


@dataclass(frozen=True)
class Balance:
    """Energy in against used, stored and lost, each summed on its own. [kWh]"""

    electric_in_kwh: float
    electric_used_kwh: float
    electric_out_kwh: float
    heat_in_kwh: float
    heat_stored_kwh: float
    heat_lost_kwh: float


@dataclass(frozen=True)
class SupplyEvent:
    """Something that happened to the supply, for the timeline."""

    at: datetime
    text: str


@dataclass(frozen=True)
class Verdict:
    """The answer in one sentence, and the limit that decides it.

    ``faults`` is what fails, each in a sentence or two, what harms first in front. ``harms`` are
    those that come, failing or not; ``buts`` what holding costs, in clauses; ``rest`` follows the
    answer, the first fault where there is one, and ``instead`` stands in its place where there is
    nothing to judge. ``notes`` are sentences on what the answer rests on.
    """

    fits: bool
    rest: str
    notes: tuple[str, ...]
    faults: tuple[str, ...]
    worst: LimitResult | None
    over: tuple[LimitResult, ...]
    gaps: tuple[CircuitService, ...]
    pits: tuple[PitOver, ...] = ()
    harms: tuple[HarmTold, ...] = ()
    buts: tuple[str, ...] = ()
    instead: str = ""

    def also(self, faults: tuple[str, ...]) -> Verdict:
        """The same with more that fails, found beside the run; itself where there is none."""
        if not faults:
            return self
        told = (*self.faults, *faults)
        return replace(self, fits=False, rest=told[0], faults=told, buts=())

    @property
    def detail(self) -> str:
        """All but the answer and the rest of its sentence: more that fails, then the notes."""
        return " ".join((*self.faults[1:], *self.notes))

    @property
    def sentence(self) -> str:
        """The answer and the rest of the sentence."""
        return self.said()

    def said(self, provided: str = "") -> str:
        """The sentence; of one that holds only ``provided`` something, with that in it."""
        return f"{self.answer(provided)} {self.rest}".rstrip()

    def answer(self, provided: str = "", against: tuple[str, ...] = ()) -> str:
        """The first of that: the answer in a few words, the same wherever it stands.

        ``against`` are clauses of what stands against it beside the run, which then holds alone.
        """
        if self.instead or not self.fits:
            return self.instead or "Does not hold."
        alone = " in this run" if against else ""
        under = f", if {provided}" if provided else ""
        buts = (*against, *self.buts)
        cost = f", but {', and '.join(buts)}" if buts else ""
        return f"Holds{alone}{under}{cost}."


@dataclass(frozen=True)
class Watched:
    """A state of an appliance that a run follows: a temperature, a level, or what is left."""

    appliance_id: str
    name: str
    what: str
    unit: str


class Flows(Protocol):
    """What a run keeps to take any minute apart."""

    def contributors(self, point_id: str, leg: Leg, step: int) -> tuple[Contributor, ...]:
        """Who made up one leg's amps at one limit point in one step, largest first."""
        ...

    def taken_by(self, appliance_id: str) -> FloatArray:
        """Mean watts that one appliance took in each step."""
        ...

    def asked_by(self, appliance_id: str) -> FloatArray:
        """Mean watts that one appliance asked for in each step."""
        ...

    def circuit_w(self, site: Site, *, asked: bool = False) -> FloatArray:
        """Watts taken, or asked for, by each circuit: (circuits, steps)."""
        ...

    @property
    def nbytes(self) -> int:
        """Bytes of its arrays."""
        ...


@dataclass(frozen=True)
class Run:
    """One draw of one scenario on one site.

    Arrays are per output step (``step_s`` seconds each, from ``scenario.start``):

    amps        (points, 3, steps)  L1, L2, N magnitudes of one-step means. [A]
    bus_live    (buses, steps)      share of the step in which the bus had supply, 0..1.
    bus_source  (buses, steps)      index into ``source_names`` at the step's middle; -1 dead.
    zone_f      (zones, steps)      temperature of each of the site's zones at the step's end. [F]
    own_room_f  (rooms, steps)      the same of rooms cut out of them, for ``own_room_units``. [F]
    level       (watched, steps)    each watched state at the step's end, in its own unit.
    """

    site: Site
    scenario: Scenario
    seed: int
    draw: int
    points: tuple[LimitPoint, ...]
    buses: tuple[Bus, ...]
    source_names: tuple[str, ...]
    amps: FloatArray
    bus_live: FloatArray
    bus_source: NDArray[np.int16]
    zone_f: FloatArray
    own_room_f: FloatArray
    own_room_units: tuple[str, ...]
    watched: tuple[Watched, ...]
    level: FloatArray
    events: tuple[SupplyEvent, ...]
    limits: tuple[LimitResult, ...]
    bus_results: tuple[BusResult, ...]
    sources: tuple[SourceResult, ...]
    fuel: tuple[FuelNeed, ...]
    service: tuple[CircuitService, ...]
    balance: Balance
    findings: tuple[Finding, ...]
    verdict: Verdict
    served: Served
    flows: Flows
    before: HoursBefore | None = None
    aside: dict[str, object] = field(default_factory=dict, compare=False, repr=False)
    """What others have worked out from this run, kept with it."""

    @cached_property
    def circuit_w(self) -> FloatArray:
        """Real power taken by each circuit: (circuits, steps). [W]"""
        return self.flows.circuit_w(self.site)

    @cached_property
    def wanted_w(self) -> FloatArray:
        """Real power asked for by each circuit, served or not: (circuits, steps). [W]"""
        return self.flows.circuit_w(self.site, asked=True)

    @property
    def steps(self) -> int:
        """Number of output steps."""
        return int(self.amps.shape[2])

    def time_of(self, step: int) -> datetime:
        """Local time at the start of a step."""
        return self.scenario.start + timedelta(seconds=step * self.scenario.step_s)

    def step_of(self, at: datetime) -> int:
        """The step that holds a local time, clipped to the run."""
        seconds = (at - self.scenario.start).total_seconds()
        return min(max(int(seconds // self.scenario.step_s), 0), self.steps - 1)

    def limit(self, point_id: str) -> LimitResult:
        """The result of one limit point."""
        return next(r for r in self.limits if r.point.id == point_id)

    def who_was_on(self, point_id: str, leg: Leg, step: int) -> tuple[Contributor, ...]:
        """Who made up one leg's amps at one limit point in one step, largest first."""
        return self.flows.contributors(point_id, leg, step)
