"""What a house lives by and is without for longer with a change, though no harm comes of it yet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from server.advise.needed import FROST_F
from server.domain.behaviour import RoomUnit
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.lengths import span_words
from server.domain.relied_on import keeps_house, must_stay_on
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.rules.words import listed
from server.simulate.results import CircuitService, Run
from server.simulate.run import cached_run
from server.simulate.tub_frost import LEAST_FROST_H, TUB_DARK

MUST_MIN, KEEPS_MIN, FROST_MIN = 1.0, 30.0, 60.0
"""By which a gap of what must stay on, of what keeps a house, and of a tub in frost must grow to be
told (common practice, no source). [min]"""

_UNTOLD_MIN = LEAST_FROST_H * 60.0
"""No longer frost than this is told of a run. [min]"""


@dataclass(frozen=True)
class Longer:
    """That something a house lives by is without power longer than it was, in one run."""

    circuit_id: str
    subject: str
    was_min: float
    now_min: float
    frost: bool = False

    @property
    def clause(self) -> str:
        """It and both lengths, as a clause."""
        of = " of frost" if self.frost else ""
        was = f"{span_words(self.was_min)} now" if self.was_min >= MUST_MIN else "never now"
        if self.frost and self.was_min <= _UNTOLD_MIN:
            was = f"at most {was}"
        return (
            f"{self.subject} is then without power for up to {span_words(self.now_min)}{of}, {was}"
        )


def longer(run: Run, after: Run) -> tuple[Longer, ...]:
    """What must stay on, gives water, heat in frost or cold, keeps a pit dry, or would freeze.

    Each with its longest stretch without power in two runs of one scenario, what grows most first.
    """
    found = [*_in_frost(run, after), *_dark(run, after)]
    return tuple(sorted(found, key=lambda one: one.was_min - one.now_min))


def longer_in(site: Site, then: Site, days: Iterable[Scenario]) -> tuple[tuple[str, Longer], ...]:
    """The same in each scenario, by its name; of one thing the scenario in which it waits longest.

    Raises
    ------
    InputError   When a scenario cannot be run with the change.
    """
    most: dict[tuple[str, bool], tuple[str, Longer]] = {}
    for day in days:
        for one in longer(cached_run(site, day), cached_run(then, day)):
            key = one.circuit_id, one.frost
            if key not in most or one.now_min > most[key][1].now_min:
                most[key] = day.name, one
    frozen = {circuit_id for circuit_id, frost in most if frost}
    told = (pair for (i, frost), pair in most.items() if frost or i not in frozen)
    return tuple(sorted(told, key=lambda pair: -pair[1].now_min))


def _dark(run: Run, after: Run) -> Iterator[Longer]:
    weather = run.scenario.weather
    frost = min(weather.hourly_f, default=weather.low_f) < FROST_F
    was = {s.circuit_id: s for s in run.service}
    for now in after.service:
        before = was.get(now.circuit_id)
        least_min = _least_min(after.site.circuit(now.circuit_id), frost=frost)
        if before is None or least_min is None or _rests(after.site, now):
            continue
        if now.longest_gap_min > before.longest_gap_min + least_min:
            yield Longer(now.circuit_id, now.name, before.longest_gap_min, now.longest_gap_min)


def _rests(site: Site, fared: CircuitService) -> bool:
    """Whether it only heats or cools rooms and asked for nothing, as in mild weather."""
    own = site.circuit(fared.circuit_id).appliances
    return fared.unserved_min == 0.0 and all(a.behaviour.model == "room" for a in own)


def _least_min(circuit: Circuit, *, frost: bool) -> float | None:
    """By how much a gap must grow to be told, None where it only costs comfort. [min]"""
    if must_stay_on(circuit):
        return MUST_MIN
    heats = (
        isinstance(a.behaviour, RoomUnit) and a.behaviour.mode in {"heat", "fan"}
        for a in circuit.appliances
    )
    if any(map(keeps_house, circuit.appliances)) or (frost and any(heats)):
        return KEEPS_MIN
    return None


def _in_frost(run: Run, after: Run) -> Iterator[Longer]:
    was = {f.element_id: _frost_min(f) for f in run.findings if f.code == TUB_DARK}
    tubs = {a.id: (c.id, a.name) for c in after.site.circuits for a in c.appliances}
    for note in after.findings:
        if note.code != TUB_DARK:
            continue
        before_min, now_min = was.get(note.element_id, _UNTOLD_MIN), _frost_min(note)
        if now_min > before_min + FROST_MIN:
            yield Longer(*tubs[note.element_id], before_min, now_min, frost=True)


def _frost_min(note: Finding) -> float:
    return (note.value or 0.0) * 60.0


def told_in(found: Iterable[tuple[str, Longer]], *, most: int) -> tuple[str, ...]:
    """Each with its scenario as a clause, no more than ``most`` of them."""
    pairs = list(found)
    told = [f"{one.clause}, in {day}" for day, one in pairs[:most]]
    rest = pairs[most:]
    if rest:
        told.append(f"{listed([one.subject for _, one in rest])} longer too")
    return tuple(told)
