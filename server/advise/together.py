"""What must not run together on a set: twos and threes of circuits that pass a limit of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.domain.base import Leg
from server.domain.circuit import Circuit
from server.domain.supply import Generator
from server.domain.working import Term, Working
from server.simulate.flows import StepFlows
from server.simulate.network import StateArrays
from server.simulate.results import LimitPoint, Run

MOST_TOLD = 5
MOST_TRIED = 24
"""The circuits with the most amps that are tried against each other."""

_LEGS: tuple[Leg, Leg] = ("L1", "L2")
_APART: frozenset[str] = frozenset({"circuit_breaker", "feeder_neutral", "solar_breaker"})
_SMALLEST_A = 0.05

Phasors = NDArray[np.complex128]
Group = tuple[int, ...]


@dataclass(frozen=True)
class Clash:
    """Circuits that pass a limit of a set when all of them run: ``amps_a`` of ``limit_a``."""

    circuit_ids: tuple[str, ...]
    names: tuple[str, ...]
    limit_name: str
    leg: Leg
    amps_a: float
    limit_a: float
    working: Working

    @property
    def who(self) -> str:
        """The circuits in words."""
        return " + ".join(self.names) if len(self.names) > 1 else f"{self.names[0]} alone"

    @property
    def sentence(self) -> str:
        """Who, and the amps they come to beside the limit."""
        return f"{self.who}: {self.amps_a:.1f} A of {self.limit_a:.1f} A on {self.leg}"


@dataclass(frozen=True)
class _Running:
    """A circuit that may be on, the rows of its loads and what each draws. [W]"""

    circuit: Circuit
    loads: NDArray[np.int64]
    watts: NDArray[np.float64]


@dataclass(frozen=True)
class _Passed:
    """A limit that a group passes on a leg, with what each of it adds as a phasor. [A]"""

    point: LimitPoint
    leg: int
    parts: tuple[complex, ...]

    @property
    def total(self) -> complex:
        return sum(self.parts)


@dataclass(frozen=True)
class SetTogether:
    """The clashes on one set, most amps first, and how many more there are."""

    name: str
    clashes: tuple[Clash, ...]
    more: int


def must_not_run_together(run: Run) -> tuple[SetTogether, ...]:
    """For each set that feeds circuits in this run, those that together pass a limit of it.

    Each circuit counts with the most it asks for in any minute of the run; those that are off or
    managed while a set runs, or ask for nothing, are left out. A three is told only where no two of
    it clash. What else runs comes on top. Worked out once and kept with the run.
    """
    kept = run.aside.get("together")
    if isinstance(kept, tuple):
        return kept
    run.aside["together"] = made = tuple(_sets(run))
    return made


def _sets(run: Run) -> Iterator[SetTogether]:
    flows = run.flows
    if not isinstance(flows, StepFlows):
        return
    held = set(np.unique(flows.segment_state).tolist())
    running = _running(run, flows)
    for g, generator in enumerate(run.site.generators):
        source = len(run.site.services) + g
        found: dict[Group, _Passed] = {}
        fed = False
        for i, state in enumerate(flows.states):
            if i not in held or not (state.source == source).any():
                continue
            fed = True
            for group, passed in _least(_passed(flows, state, source, running)).items():
                if group not in found or abs(found[group].total) < abs(passed.total):
                    found[group] = passed
        if fed:
            least = list(_least(found).items())
            least.sort(key=lambda pair: -abs(pair[1].total))
            told = [
                _clash(p, [running[j].circuit for j in group], generator)
                for group, p in least[:MOST_TOLD]
            ]
            told.sort(key=lambda c: (-c.amps_a, c.names))
            yield SetTogether(generator.name, tuple(told), len(least) - len(told))


def _least(found: Mapping[Group, _Passed]) -> dict[Group, _Passed]:
    """The groups of which no part passes a limit by itself."""

    def whole(group: Group) -> bool:
        parts = (p for count in range(1, len(group)) for p in combinations(group, count))
        return not any(part in found for part in parts)

    return {group: passed for group, passed in found.items() if whole(group)}


def _passed(
    flows: StepFlows, state: StateArrays, source: int, running: list[_Running]
) -> dict[Group, _Passed]:
    """Every one, two or three that pass a limit in one state, at the limit they pass most."""
    fed = [j for j, one in enumerate(running) if (state.source[one.loads] == source).any()]
    worst: dict[Group, tuple[float, _Passed]] = {}
    for index, point in enumerate(flows.points):
        if point.kind in _APART or not fed:
            continue
        legs = _legs(state, index, [running[j] for j in fed], source)
        limit_a = point.leg_rating_a
        size = np.abs(legs).max(axis=1)
        if np.abs(legs).sum(axis=0).max() <= limit_a:
            continue  # Not even all of them at once.
        most = np.argsort(-size, kind="stable")[:MOST_TRIED]
        top = np.sort(most[size[most] > _SMALLEST_A])
        for count in (1, 2, 3):
            groups = _groups(len(top), count)
            sums = legs[top[groups]].sum(axis=1)
            amps = np.abs(sums)
            for k in np.flatnonzero(amps.max(axis=1) > limit_a).tolist():
                leg = int(amps[k].argmax())
                share = float(amps[k, leg]) / limit_a
                rows = top[groups[k]].tolist()
                group = tuple(fed[r] for r in rows)
                if share > worst.get(group, (0.0,))[0]:
                    parts = tuple(complex(legs[r, leg]) for r in rows)
                    worst[group] = share, _Passed(point, leg, parts)
    return {group: passed for group, (_, passed) in worst.items()}


@lru_cache(maxsize=128)
def _groups(many: int, count: int) -> NDArray[np.int64]:
    """Every choice of ``count`` out of so many, in order. (choices, count)"""
    chosen = list(combinations(range(many), count))
    return np.array(chosen, dtype=np.int64).reshape(-1, count)


def _running(run: Run, flows: StepFlows) -> list[_Running]:
    """Circuits that may be on while a set runs and ask for something, in the minute of most."""
    rows: dict[str, list[int]] = {}
    for row, load in enumerate(flows.loads):
        if load.circuit_id is not None and load.sign > 0:
            rows.setdefault(load.circuit_id, []).append(row)
    found = []
    for circuit in run.site.circuits:
        if circuit.outage_role not in {"on", "by_hand"} or circuit.id not in rows:
            continue
        loads = np.array(rows[circuit.id], dtype=np.int64)
        asked = flows.asked_w[loads]
        watts = asked[:, int(asked.sum(axis=0).argmax())].astype(np.float64)
        found.append(_Running(circuit, loads, watts))
    return found


def _legs(state: StateArrays, point: int, running: list[_Running], source: int) -> Phasors:
    """Amps of each circuit on both legs of a point, in the minute it asks most. (circuits, 2)"""
    out = np.zeros((len(running), 2), dtype=np.complex128)
    seen, swaps = state.seen_by(point)
    swap_of = dict(zip(seen.tolist(), swaps.tolist(), strict=True))
    for j, one in enumerate(running):
        for row, drawn in zip(one.loads.tolist(), one.watts.tolist(), strict=True):
            if row not in swap_of or state.source[row] != source:
                continue
            both = state.per_watt[:, row] * drawn
            if state.merged[point]:
                out[j, 0] += both.sum()
            else:
                out[j] += both[[swap_of[row], 1 - swap_of[row]]]
    return out


def _clash(passed: _Passed, circuits: list[Circuit], generator: Generator) -> Clash:
    point, leg, parts = passed.point, passed.leg, passed.parts
    total = passed.total
    shares = [(p * total.conjugate()).real / abs(total) for p in parts]
    order = sorted(range(len(circuits)), key=lambda j: -shares[j])
    terms = tuple(Term(circuits[j].name, shares[j], "A", _source(circuits[j])) for j in order)
    names = tuple(circuits[j].name for j in order)
    return Clash(
        circuit_ids=tuple(circuits[j].id for j in order),
        names=names,
        limit_name=point.name,
        leg=_LEGS[leg],
        amps_a=abs(total),
        limit_a=point.leg_rating_a,
        working=Working(
            title=f"{' + '.join(names)}, on {generator.name}",
            value=abs(total),
            unit="A",
            formula=f"sum of the amps on {_LEGS[leg]}, each along the total; limit of {point.name}",
            terms=(*terms, Term("limit", point.leg_rating_a, "A", point.working.source)),
            source="Each circuit in the minute it asks most of, in this run; nominal volts.",
        ),
    )


def _source(circuit: Circuit) -> Literal["guess", "as entered"]:
    guessed = any(a.figure_source == "guess" for a in circuit.appliances)
    return "guess" if guessed else "as entered"
