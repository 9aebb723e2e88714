"""Every circuit that must be served and goes dark in a run, with how long."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from server.domain.lengths import WithoutPower, while_words
from server.simulate.results import Run
from server.simulate.timeline import FOR_OIL, STOPPED

_AT_ONCE_S = 0.01
"""What happens within it of the dark is its cause: far below a second, which no model knows."""


@dataclass(frozen=True)
class MustServeDark(WithoutPower):
    """A must-serve circuit, or one with a medical device, that goes without power.

    It first does at ``first_at``, ``hours`` after the utility went out; the longest of its
    ``times`` gaps begins at ``longest_at``; ``dark_min`` is all of them together. ``drawn_min`` is
    the longest gap too, or what all of them took out of its own battery. ``bears_min`` is the
    longest gap it can wait, two thirds of ``battery_min`` where it stands on a battery, and until
    its pit ran over where that is sooner than the ``entered_min`` of its circuit (0 elsewhere);
    ``wait_told`` says that the wait itself was entered; ``device`` is a medical device on it or
    empty; ``why`` is what last happened to the supply as its power went before the longest gap,
    empty where nothing had. Of what rests in some hours of the day, such as what is worn at night,
    only hours of use count: a gap of several nights begins with the first of them, and ``dark_at``,
    when its power went, may lie hours before.
    """

    circuit_id: str
    name: str
    device: str
    first_at: datetime
    hours: float
    longest_at: datetime
    longest_min: float
    drawn_min: float
    dark_min: float
    times: int
    why: str
    bears_min: float
    too_long: bool
    in_use_only: bool = False
    dark_at: datetime | None = None
    battery_min: float = 0.0
    wait_told: bool = False
    entered_min: float = 0.0

    @property
    def asks_nothing(self) -> bool:
        """Whether it is dark past its wait and is let pass, for it asks for nothing then."""
        return not self.too_long and max(self.longest_min, self.drawn_min) > self.bears_min + 1e-6

    @property
    def asks_battery(self) -> bool:
        """Whether a battery that nobody entered could bear a gap that is too long."""
        told = bool(self.battery_min) or self.wait_told
        return bool(self.device) and self.too_long and not told

    @property
    def since_words(self) -> str:
        """What took its power before the longest gap, as the end of a sentence; may be empty."""
        if not self.why:
            return ""
        later = self.dark_at is not None and self.dark_at < self.longest_at
        why = f"t{self.why[1:]}" if self.why.startswith("The ") else self.why
        return f"{'after' if later else 'when'} {why}"


@dataclass(frozen=True)
class MustServe:
    """Those that go dark, what harms first in front, and the names of those that never do."""

    dark: tuple[MustServeDark, ...]
    lit: tuple[str, ...]


def must_serve(run: Run) -> MustServe:
    """Must-serve circuits of a run: dark too long first, medical before others, longest first."""
    dark, lit = [], []
    for row, (circuit, fared) in enumerate(zip(run.site.circuits, run.service, strict=True)):
        if circuit.load_class != "must_serve" and not fared.device:
            continue
        spans = run.served.gaps(row)
        if not spans:
            rested = fared.in_use_only and bool(run.served.dark(row))
            lit.append(f"{circuit.name}{while_words(in_use_only=rested)}")
            continue
        first_s = spans[0].begin_s
        longest_s = max(spans, key=lambda gap: gap.wanted_s).begin_s
        dark_s = next(a for a, b in run.served.dark(row) if a <= longest_s < b)
        outage = run.served.outage_at(first_s)
        bears_min = circuit.least_gap_min if fared.bears_min is None else fared.bears_min
        dark.append(
            MustServeDark(
                circuit_id=circuit.id,
                name=circuit.name,
                device=fared.device,
                first_at=_time(run, first_s),
                hours=max(0.0, first_s - outage[0]) / 3600.0 if outage else 0.0,
                longest_at=_time(run, longest_s),
                longest_min=fared.longest_gap_min,
                drawn_min=fared.drawn_min,
                dark_min=fared.dark_min,
                times=len(spans),
                why=_why(run, row, dark_s),
                bears_min=bears_min,
                too_long=fared.gap_exceeded or bears_min < circuit.least_gap_min,
                in_use_only=fared.in_use_only,
                dark_at=_time(run, dark_s),
                battery_min=circuit.battery_waited_on_min,
                wait_told=circuit.allowed_gap_min is not None,
                entered_min=circuit.least_gap_min if bears_min < circuit.least_gap_min else 0.0,
            )
        )
    dark.sort(key=lambda one: (not one.too_long, not one.device, -one.longest_min, -one.dark_min))
    return MustServe(tuple(dark), tuple(lit))


def _why(run: Run, circuit: int, dark_s: float) -> str:
    """What took its power, and the end of the same set's fuel where that kept it dark.

    A set stopped for service may find nothing left to start on.
    """
    why = _event_before(run, dark_s)
    until_s = next(b for a, b in run.served.dark(circuit) if a <= dark_s < b)
    begin, end = (run.scenario.start + timedelta(seconds=s) for s in (dark_s, until_s))
    for need in run.fuel:
        ends = (need.dry_at, *need.again_at)
        inside = any(at is not None and begin < at < end for at in ends)
        if inside and why in {f"{need.name} {STOPPED}", f"{need.name} {FOR_OIL}"}:
            return f"{why}, then runs out of fuel"
    return why


def _event_before(run: Run, at_s: float) -> str:
    begun = run.scenario.start + timedelta(seconds=at_s + _AT_ONCE_S)
    return next((event.text for event in reversed(run.events) if event.at <= begun), "")


def _time(run: Run, at_s: float) -> datetime:
    return run.scenario.start + timedelta(seconds=round(at_s))
