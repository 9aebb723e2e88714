"""What the API and the terminal say of a run, figure by figure.

Amps, watts and energies are rounded to four decimals; a figure that is not finite becomes null.
"""

from __future__ import annotations

import math
from datetime import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict

from server.domain.base import Leg
from server.domain.finding import Severity
from server.simulate.harm import HarmKind
from server.simulate.results import PointKind, Status

DECIMALS = 4


def _rounded(value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), DECIMALS) + 0.0  # no negative zero


Figure = Annotated[float | None, BeforeValidator(_rounded)]


class View(BaseModel):
    """Base of what is told."""

    model_config = ConfigDict(from_attributes=True, frozen=True)


class TermView(View):
    """One input of a figure."""

    name: str
    value: Figure
    unit: str
    source: str


class WorkingView(View):
    """A figure with the inputs, formula and source behind it."""

    title: str
    value: Figure
    unit: str
    formula: str
    terms: tuple[TermView, ...]
    source: str


class ContributorView(View):
    """An appliance that was on at the worst minute, and its share of the amps."""

    circuit_id: str
    circuit_name: str
    appliance_id: str
    appliance_name: str
    amps_a: Figure


class LegView(View):
    """The worst one-minute mean of one leg, and how long it was near or past its limit."""

    leg: Leg
    peak_a: Figure
    at: datetime
    percent: Figure
    minutes_over_80: Figure
    minutes_over_100: Figure
    steady_a: Figure
    contributors: tuple[ContributorView, ...]


class LimitView(View):
    """A place where current is compared with a rating."""

    id: str
    name: str
    kind: PointKind
    element_id: str
    bus_id: str | None
    leg_rating_a: Figure
    counts: Literal["net", "gross"]
    continuous_rule: bool
    status: Status
    legs: tuple[LegView, ...]
    neutral_peak_a: Figure
    neutral_at: datetime | None
    working: WorkingView


class BusView(View):
    """Energy taken by one bus, and how long it was dead."""

    id: str
    name: str
    kind: str
    energy_kwh: Figure
    dead_min: Figure


class SourceView(View):
    """Energy through one source, with hours, starts and fuel of a generator."""

    source_id: str
    name: str
    kind: Literal["service", "generator", "solar"]
    in_kwh: Figure
    out_kwh: Figure
    run_h: Figure
    starts: int
    fuel_used: WorkingView | None
    fuel_guess: bool


class CircuitView(View):
    """How a circuit fared: minutes in which it asked and got nothing, and its gaps.

    ``unserved_kwh`` is what it would have taken with power throughout, less what it took;
    ``longest_gap_min`` is one gap, ``dark_min`` all ``dark_times`` of them together. ``drawn_min``,
    held to ``bears_min``, is the longest gap, or the most that all took out of its own battery.
    With ``in_use_only`` what must be served rests in some hours of the day, which are left out.
    """

    circuit_id: str
    name: str
    unserved_min: Figure
    unserved_kwh: Figure
    dead_min: Figure
    longest_gap_min: Figure
    gap_exceeded: bool
    dark_min: Figure
    dark_times: int
    bears_min: Figure | None
    device: str
    drawn_min: Figure
    held_min: Figure
    times_held: int
    in_use_only: bool


class MustServeView(View):
    """A must-serve circuit that goes dark: its longest gap, all of them, and the first.

    ``hours`` are from when the utility goes out to the first; ``why`` is what last happened to the
    supply as its power went before the longest gap.
    """

    circuit_id: str
    name: str
    device: str
    first_at: datetime
    hours: Figure
    longest_at: datetime
    longest_min: Figure
    drawn_min: Figure
    dark_min: Figure
    times: int
    why: str
    bears_min: Figure
    too_long: bool
    in_use_only: bool


class BalanceView(View):
    """Energy in against used, stored and lost."""

    electric_in_kwh: Figure
    electric_used_kwh: Figure
    electric_out_kwh: Figure
    heat_in_kwh: Figure
    heat_stored_kwh: Figure
    heat_lost_kwh: Figure


class FindingView(View):
    """One thing a check found. Blocking ones hold back advice until cleared."""

    code: str
    severity: Severity
    element_id: str
    text: str
    mend: str
    section: str
    source: str


class EventView(View):
    """Something that happened to the supply."""

    at: datetime
    text: str


class WorstView(View):
    """The limit point and leg that decide the verdict."""

    point_id: str
    leg: Leg
    at: datetime
    percent: Figure


class VerdictHarmView(View):
    """A harm that comes: said inside a sentence, since what was dead, whether it fails the run."""

    kind: HarmKind
    element_id: str
    at: datetime
    clause: str
    why: str
    fails: bool


class VerdictView(View):
    """The answer in one sentence, with the harms that it takes in."""

    fits: bool
    sentence: str
    detail: str
    worst: WorstView | None
    over: tuple[str, ...]
    gaps: tuple[str, ...]
    harms: tuple[VerdictHarmView, ...]


class ScenarioView(View):
    """Which scenario was run."""

    id: str
    name: str
    start: datetime
    span_h: Figure
    step_s: int


class StartView(View):
    """Motors that start at once on a set, and the share of its volts that this takes."""

    kind: Literal["alone", "linked", "pair", "forced"]
    names: str
    kva: Figure
    dip: Figure
    status: Status
    at: datetime | None
    every_h: Figure


class SetStartsView(View):
    """Every motor start that matters on one generator."""

    generator_id: str
    name: str
    running_kva: Figure
    starts: tuple[StartView, ...]
    working: WorkingView


class HarmView(View):
    """One harm: when it comes and why, or how near the run came to it."""

    kind: HarmKind
    element_id: str
    what: str
    at: datetime | None
    hours: Figure
    why: str
    nearest: str
    working: WorkingView


class TripView(View):
    """One leg of a breaker past its rating: when it may trip, or must have tripped."""

    point_id: str
    name: str
    rating_a: Figure
    leg: Leg
    answer: Literal["may", "must"]
    over_from: datetime
    at: datetime
    multiple: Figure
    held_min: Figure
    working: WorkingView


class MotorVoltsView(View):
    """Volts at a panel as motors under its source start, one ``elsewhere`` or on it, or several."""

    name: str
    volts_v: Figure
    nominal_v: Figure
    share_lost: Figure
    guess: bool
    status: Status
    elsewhere: str


class PanelVoltsView(View):
    """The lowest volts to neutral at one panel while one source feeds it.

    Between its legs where no neutral comes there; ``leg`` is null then.
    """

    panel_id: str
    name: str
    source_id: str
    source: str
    leg: Leg | None
    volts_v: Figure
    between_v: Figure
    share_lost: Figure
    at: datetime
    unmeasured: tuple[str, ...]
    motor: MotorVoltsView | None
    joint: MotorVoltsView | None = None
    status: Status
    working: WorkingView


class AdviceView(View):
    """What follows from a run beside its amps."""

    trips: tuple[TripView, ...] = ()
    starts: tuple[SetStartsView, ...] = ()
    volts: tuple[PanelVoltsView, ...] = ()
    findings: tuple[FindingView, ...] = ()
    doubt: str = ""
    provided: str = ""
    short: tuple[str, ...] = ()


class RunSummary(View):
    """One draw of one scenario: the verdict, every limit, energies, gaps and findings."""

    site: str
    scenario: ScenarioView
    seed: int
    draw: int
    verdict: VerdictView
    limits: tuple[LimitView, ...]
    buses: tuple[BusView, ...]
    sources: tuple[SourceView, ...]
    circuits: tuple[CircuitView, ...]
    balance: BalanceView
    doubt: str
    trips: tuple[TripView, ...]
    starts: tuple[SetStartsView, ...]
    must_serve: tuple[MustServeView, ...]
    harms: tuple[HarmView, ...]
    volts: tuple[PanelVoltsView, ...]
    findings: tuple[FindingView, ...]
    hazards: tuple[FindingView, ...]
    events: tuple[EventView, ...]
    cautions: tuple[str, ...]


class PointSeries(View):
    """Amps of one limit point in every step."""

    point_id: str
    l1_a: tuple[Figure, ...]
    l2_a: tuple[Figure, ...]
    neutral_a: tuple[Figure, ...]


class BusSeries(View):
    """The share of every step in which one bus had supply."""

    bus_id: str
    live: tuple[Figure, ...]


class RunSeries(View):
    """The run step by step, from ``start``."""

    start: datetime
    step_s: int
    points: tuple[PointSeries, ...]
    buses: tuple[BusSeries, ...]
