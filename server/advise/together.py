"""What must not run together on a set: twos and threes of circuits that pass a limit of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
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
    for g, generator in enumerate(run.site.generators):
        source = len(run.site.services) + g
        found: dict[frozenset[str], Clash] = {}
        fed = False
        for i, state in enumerate(flows.states):
            if i not in held or not (state.source == source).any():
                continue
            fed = True
            for clash in _clashes(run, flows, state, source, generator):
                key = frozenset(clash.circuit_ids)
                if key not in found or found[key].amps_a < clash.amps_a:
                    found[key] = clash
        if fed:
            least = [c for k, c in found.items() if not any(o < k for o in found)]
            least.sort(key=lambda c: (-c.amps_a, c.names))
            told = tuple(least[:MOST_TOLD])
            yield SetTogether(generator.name, told, len(least) - len(told))


def _clashes(
    run: Run, flows: StepFlows, state: StateArrays, source: int, generator: Generator
) -> Iterator[Clash]:
    """Every one, two or three that pass a limit in one state, at the limit they pass most."""
    worst: dict[tuple[int, ...], tuple[float, Clash]] = {}
    able = [
        (c, loads) for c, loads in _running(run, flows) if (state.source[loads] == source).any()
    ]
    for index, point in enumerate(flows.points):
        if point.kind in _APART:
            continue
        amps = [_legs(flows, state, index, loads, source) for _, loads in able]
        top = sorted(range(len(able)), key=lambda j: -float(np.abs(amps[j]).max(initial=0.0)))
        top = sorted(j for j in top[:MOST_TRIED] if np.abs(amps[j]).max() > _SMALLEST_A)
        for count in (1, 2, 3):
            for group in combinations(top, count):
                legs = np.abs(sum((amps[j] for j in group), np.zeros(2, dtype=np.complex128)))
                leg = int(legs.argmax())
                share = float(legs[leg]) / point.leg_rating_a
                if share > 1.0 and share > worst.get(group, (0.0,))[0]:
                    chosen = [able[j][0] for j in group]
                    parts = [complex(amps[j][leg]) for j in group]
                    worst[group] = (share, _clash(point, leg, chosen, parts, generator))
    least = [g for g in worst if not any(set(o) < set(g) for o in worst)]
    for group in least:
        yield worst[group][1]


def _running(run: Run, flows: StepFlows) -> list[tuple[Circuit, NDArray[np.int64]]]:
    """Circuits that may be on while a set runs and ask for something, with the rows of loads."""
    rows: dict[str, list[int]] = {}
    for row, load in enumerate(flows.loads):
        if load.circuit_id is not None and load.sign > 0:
            rows.setdefault(load.circuit_id, []).append(row)
    return [
        (c, np.array(rows[c.id], dtype=np.int64))
        for c in run.site.circuits
        if c.outage_role in {"on", "by_hand"} and c.id in rows
    ]


def _legs(
    flows: StepFlows, state: StateArrays, point: int, loads: NDArray[np.int64], source: int
) -> Phasors:
    """Amps of one circuit's loads on both legs of a point, in the minute they ask most. (2,)"""
    asked = flows.asked_w[loads]
    watts = asked[:, int(asked.sum(axis=0).argmax())].astype(np.float64)
    out = np.zeros(2, dtype=np.complex128)
    seen, swaps = state.seen_by(point)
    swap_of = dict(zip(seen.tolist(), swaps.tolist(), strict=True))
    for row, drawn in zip(loads.tolist(), watts.tolist(), strict=True):
        if row not in swap_of or state.source[row] != source:
            continue
        both = state.per_watt[:, row] * drawn
        if state.merged[point]:
            out[0] += both.sum()
        else:
            out += both[[swap_of[row], 1 - swap_of[row]]]
    return out


def _clash(
    point: LimitPoint,
    leg: int,
    circuits: list[Circuit],
    parts: list[complex],
    generator: Generator,
) -> Clash:
    total = sum(parts)
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
