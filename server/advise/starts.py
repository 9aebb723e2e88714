"""Motor starts on a generator: each alone, what is never apart, the likeliest pair, the bound."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.advise.coming_on import Together, came_together
from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.supply import Generator
from server.domain.told import source_of
from server.domain.working import Term, Working
from server.physics.motor import overlaps_per_h, start_dip
from server.rules.locked_rotor import held_rotor
from server.rules.tables import read_toml
from server.simulate.fed import fed_by
from server.simulate.limits import generator_leg_limit
from server.simulate.results import Run, Status
from server.simulate.weather import warmest_f

ASSUMED_REACTANCE_PU = 0.25
"""Transient reactance of a small set where its sheet is not at hand; 0.15 to 0.30 is usual
(common practice, no source)."""

START_S = 0.5
"""Length of a compressor's or pump's start; 0.2 to 0.8 s is usual (common practice, no source)."""

DIP_OVER, DIP_CLOSE = 0.30, 0.15
"""Past 30 % motor relays drop out; past 15 % electronics complain (common practice, no source)."""

Kind = Literal["alone", "linked", "pair", "forced"]


@dataclass(frozen=True)
class Motor:
    """A motor a set must start. ``kva`` is its own at standstill, after its soft starter.

    ``winding_kva`` is what would dip a whole winding as much: on a set of two legs a 120 V motor
    has one half of it. ``per_h`` is how often it starts while the set feeds it.
    """

    circuit: Circuit
    appliance: Appliance
    kva: float
    winding_kva: float
    guess: bool
    basis: str
    per_h: float

    @property
    def name(self) -> str:
        """The appliance's name."""
        return self.appliance.name


@dataclass(frozen=True)
class Start:
    """Motors that start at once.

    ``kva`` is the sum of their own; ``winding_kva`` of what the dip and the maker's limit are
    reckoned with. ``linked`` ones are called by one thermostat, at every call; ``at`` is when the
    waits of a forced set first end together, ``every_h`` the mean time between two chance meetings
    of a pair.
    """

    kind: Kind
    motors: tuple[Motor, ...]
    kva: float
    winding_kva: float
    dip: float
    status: Status
    at: datetime | None = None
    every_h: float | None = None

    @property
    def names(self) -> str:
        """The motors in words."""
        return ", ".join(m.name for m in self.motors)


@dataclass(frozen=True)
class SetStarts:
    """Every start that matters on one set. ``running_kva`` is its worst minute of the run."""

    generator: Generator
    motors: tuple[Motor, ...]
    running_kva: float
    starts: tuple[Start, ...]
    working: Working

    @property
    def generator_id(self) -> str:
        """The set these starts are on."""
        return self.generator.id

    @property
    def name(self) -> str:
        """The set's name."""
        return self.generator.name

    @property
    def worst(self) -> Start | None:
        """The hardest start that is bound to come; a chance pair is told with its odds instead."""
        bound = (s for s in self.starts if s.kind != "pair")
        return max(bound, key=lambda s: s.dip, default=None)

    @property
    def never_apart(self) -> Start | None:
        """The hardest start that no delay takes apart: one motor, or what one thermostat calls."""
        bound = (s for s in self.starts if s.kind in {"alone", "linked"})
        return max(bound, key=lambda s: s.dip, default=None)

    @property
    def unknown(self) -> tuple[Motor, ...]:
        """Motors whose start is only a guess."""
        return tuple(m for m in self.motors if m.guess)


def starts_of(run: Run) -> tuple[SetStarts, ...]:
    """The starts of every generator that carried something in this run."""
    found = []
    for generator in run.site.generators:
        live = _on_set(run, generator)
        if any(steps.any() for steps in live.values()):
            found.append(_starts_on(run, generator, live))
    return tuple(found)


def start_kva(appliance: Appliance) -> tuple[float, bool, str] | None:
    """Apparent power at standstill, whether it is a guess, and where it comes from. [kVA]

    Locked-rotor amps times volts; else the code letter's most kVA per horsepower (NEC Table
    430.7(B)); else, as a guess, the amps of NEC Table 430.251(A) for its horsepower, or six times
    running amps, the factor of that table. None for what is no motor, and for a motor without
    watts. Source of letters and amps: see the tables.
    """
    if appliance.load_type != "motor":
        return None
    share = appliance.start_share
    held = held_rotor(appliance)
    if held is not None:
        kva = held.amps * appliance.volts / 1000.0
        return kva * share, not held.read or appliance.figure_source == "guess", held.basis
    running_kva = appliance.load_w / appliance.power_factor / 1000.0
    if running_kva <= 0.0:
        return None
    factor = float(read_toml("motors")["locked_rotor"]["factor"])
    return running_kva * factor * share, True, f"{factor:g} times running, a guess"


def _on_set(run: Run, generator: Generator) -> dict[str, NDArray[np.bool_]]:
    """For each circuit, the steps in which this set feeds it."""
    fed = fed_by(run, {generator.id})
    live: dict[str, NDArray[np.bool_]] = {}
    for row, bus in enumerate(run.buses):
        live |= dict.fromkeys(bus.circuit_ids, fed[row])
    return live


def _starts_on(run: Run, generator: Generator, live: dict[str, NDArray[np.bool_]]) -> SetStarts:
    motors = tuple(_motors(run, generator, live))
    pu = generator.reactance_pu or ASSUMED_REACTANCE_PU
    point = next(i for i, p in enumerate(run.points) if p.id == f"generator:{generator.id}")
    running_kva = float(run.amps[point, :2].sum(axis=0).max()) * 0.12
    limit = generator.start_kva_limit

    def start(kind: Kind, group: tuple[Motor, ...], **more: object) -> Start:
        kva = sum(m.kva for m in group)
        felt = sum(m.winding_kva for m in group)
        dip = start_dip(start_kva=felt, set_kva=generator.kva, reactance_pu=pu)
        over = felt > limit if limit is not None else dip > DIP_OVER
        close = dip > DIP_CLOSE
        status: Status = "over" if over else ("close" if close else "within")
        return Start(kind, group, kva, felt, dip, status, **more)  # type: ignore[arg-type]

    starts = [start("alone", (m,)) for m in sorted(motors, key=lambda m: -m.winding_kva)]
    found = came_together(run, generator.id, (m.appliance for m in motors))
    linked = _never_apart(motors, found)
    starts += [start("linked", group) for group in linked]
    pair = _likely_pair(motors, linked)
    if pair is not None:
        first, second = (_per_h(unit) for unit in pair)
        per_h = overlaps_per_h(
            first_per_h=first, second_per_h=second, first_s=START_S, second_s=START_S
        )
        starts.append(start("pair", (*pair[0], *pair[1]), every_h=1.0 / per_h))
    forced = [start("forced", group, at=at) for at, group in _forced(run, motors, found, linked)]
    starts += sorted(forced, key=lambda s: -s.dip)
    return SetStarts(
        generator, motors, running_kva, tuple(starts), _working(run, generator, pu, starts)
    )


def _working(run: Run, generator: Generator, pu: float, starts: list[Start]) -> Working:
    worst = max((s for s in starts if s.kind != "pair"), key=lambda s: s.dip, default=None)
    engine = generator_leg_limit(run.site, generator, warmest_f(run.scenario.weather))
    known = "maker’s sheet" if generator.reactance_pu else "common practice, no source"
    return Working(
        title=f"{generator.name}, volts lost at the hardest start",
        value=100.0 * worst.dip if worst else 0.0,
        unit="%",
        formula="whole-winding kVA ÷ (whole-winding kVA + set kVA ÷ X′); a start from one leg has "
        "half of a winding of two legs, so it dips as twice its kVA would on the whole; on a wye "
        "one leg has a third, and two have a motor of 240 V dip as 1.5 times its kVA",
        terms=(
            Term("start", worst.kva if worst else 0.0, "kVA", worst.names if worst else ""),
            Term("on the whole winding", worst.winding_kva if worst else 0.0, "kVA"),
            Term("set", generator.kva, "kVA", source_of(generator, "rated_kw")),
            Term("X′", pu, "per unit", known),
            Term("limit a leg", engine.value, "A", "derated"),
        ),
        source="Start as a reactance behind the set’s transient reactance: common practice, no "
        "source. Code letters: NEC Table 430.7(B).",
    )


def winding_factor(generator: Generator, appliance: Appliance) -> float:
    """How many times its own kVA a start dips a set as on the whole winding.

    From one leg of two it has half the winding, of half the kVA: 2. A 120 V set has its whole
    winding on that leg: 1. A wye has three windings of a third of the kVA: 3 from one leg; between
    two of them the reactances add and the motor, an impedance, has 208 of its 240 V: 6 X over
    240 V is 1.5 times X over the whole (each winding a reactance of its own: common practice, no
    source).
    """
    if generator.system == "120/208":
        return 3.0 if appliance.volts == 120 else 1.5
    return 2.0 if appliance.volts == 120 and generator.system != "120" else 1.0


def _motors(run: Run, generator: Generator, live: dict[str, NDArray[np.bool_]]) -> list[Motor]:
    """Motors that ran while the set fed them, with how often they began to."""
    found = []
    for row, circuit in enumerate(run.site.circuits):
        steps = live.get(circuit.id)
        if steps is None or not steps.any() or not (run.circuit_w[row][steps] > 0.0).any():
            continue
        for appliance in circuit.appliances:
            start = start_kva(appliance)
            taken = run.flows.taken_by(appliance.id)
            if start is None or not (taken[steps] > 0.0).any():
                continue
            kva, guess, basis = start
            felt = kva * winding_factor(generator, appliance)
            per_h = _begins(taken, steps) * 3600.0 / (int(steps.sum()) * run.scenario.step_s)
            found.append(Motor(circuit, appliance, kva, felt, guess, basis, per_h))
    return found


def _begins(taken: NDArray[np.float32], steps: NDArray[np.bool_]) -> int:
    """How often it went from nothing to something within these steps."""
    on = (taken > 0.0) & steps
    return int(on[0]) + int((on[1:] & ~on[:-1]).sum())


def _never_apart(motors: tuple[Motor, ...], found: tuple[Together, ...]) -> list[tuple[Motor, ...]]:
    """Groups that one thermostat calls at once, the hardest first."""
    by_id = {m.appliance.id: m for m in motors}
    groups = [_hardest_first(by_id, one) for one in found if one.at_s is None]
    return sorted(groups, key=_felt)


def _hardest_first(by_id: dict[str, Motor], one: Together) -> tuple[Motor, ...]:
    return tuple(sorted((by_id[i] for i in one.ids), key=lambda m: -m.winding_kva))


def _felt(group: tuple[Motor, ...]) -> float:
    """For sorting, the hardest first."""
    return -sum(m.winding_kva for m in group)


def _likely_pair(
    motors: tuple[Motor, ...], linked: list[tuple[Motor, ...]]
) -> tuple[tuple[Motor, ...], tuple[Motor, ...]] | None:
    """The two that are hardest together of what starts by chance; what is never apart is one."""
    held = {m.appliance.id for group in linked for m in group}
    units = [*linked, *((m,) for m in motors if m.appliance.id not in held)]
    able = [unit for unit in units if _per_h(unit) > 0.0]
    pairs = (p for p in combinations(able, 2) if not set(p[0]) & set(p[1]))
    return min(pairs, key=lambda p: _felt(p[0]) + _felt(p[1]), default=None)


def _per_h(unit: tuple[Motor, ...]) -> float:
    return max(m.per_h for m in unit)


def _forced(
    run: Run,
    motors: tuple[Motor, ...],
    found: tuple[Together, ...],
    linked: list[tuple[Motor, ...]],
) -> list[tuple[datetime, tuple[Motor, ...]]]:
    """The motors whose waits end together on the set, the hardest group first.

    Of groups that lie within another, or that one thermostat calls anyway, only the larger; a
    single motor only where it is the hardest of all.
    """
    by_id = {m.appliance.id: m for m in motors}
    groups = [
        (run.scenario.start + timedelta(seconds=one.at_s), _hardest_first(by_id, one))
        for one in found
        if one.at_s is not None
    ]
    groups.sort(key=lambda group: _felt(group[1]))
    kept: list[tuple[datetime, tuple[Motor, ...]]] = []
    for at, group in groups:
        larger = [*(other for _, other in kept), *linked]
        if (len(group) > 1 or not kept) and not any(set(group) <= set(x) for x in larger):
            kept.append((at, group))
    return kept
