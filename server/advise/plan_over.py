"""When a run passes a limit while the utility is out, and what is done about it."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from server.advise.needed import may_go_off
from server.advise.plan_pits import has_pit
from server.advise.plan_task import Task, joined
from server.advise.trips import BREAKERS
from server.domain.appliance import Appliance
from server.domain.base import Leg
from server.domain.behaviour import RoomUnit
from server.domain.cautions import OVERLOAD
from server.domain.circuit import Circuit
from server.domain.scenario import Window
from server.simulate.results import LimitPoint, LimitResult, Run
from server.simulate.room_rows import room_plan
from server.simulate.verdict import moment

APART_H = 3.0
"""Minutes past a limit that lie nearer than this are told as one stretch (common practice, no
source). [h]"""

FIRST_MIN = 15.0
"""So soon after the power fails nobody has switched anything off yet (common practice, no source).
[min]"""

WORTH_A = 1.5
"""Less than this of a circuit is not worth a walk to its breaker; our own figure. [A]"""

MOST_OFF = 4
"""How many circuits are named to be left off at most; our own figure."""

_LEAST_A = 0.5
_NAMED = 4
_LOOKED_AT = 12
_ROUND_MIN = 30
_LEGS: tuple[Leg, Leg] = ("L1", "L2")
_SPARED_FIRST = ("deferrable", "comfort", "important")


@dataclass(frozen=True)
class Passed:
    """The minutes of one stretch in which limits are passed, the worst of them in front.

    ``first`` and ``last`` are steps, the last not in it; ``steps`` those in which ``result`` is
    passed on ``leg``, the worst first.
    """

    first: int
    last: int
    result: LimitResult
    leg: Leg
    steps: tuple[int, ...]
    others: tuple[Passed, ...] = ()

    @property
    def point(self) -> LimitPoint:
        """The limit that is passed."""
        return self.result.point


def passed_while_out(run: Run) -> bool:
    """Whether any limit is passed in a minute in which the utility is out."""
    neutral = any(r.point.kind == "feeder_neutral" for r in run.verdict.over)
    return neutral or bool(stretches(run))


def before_over(run: Run, first: Window) -> Iterator[Task]:
    """What is switched off before the power fails, as a limit is passed soon after."""
    for one in stretches(run):
        at = run.time_of(one.first)
        if first.start <= at < first.start + timedelta(minutes=FIRST_MIN):
            left = _left_off(run, one)
            if left:
                yield Task(
                    first.start,
                    f"Switch off before the power fails, as {one.point.name} is past its limit "
                    f"from {at:%H:%M} on: {joined([c.name for c in left])}. In an outage that "
                    "nobody announced, at once.",
                )


def over(run: Run) -> Iterator[Task]:
    """A task as each stretch begins, and what goes for a breaker that has tripped."""
    found = stretches(run)
    for one in found:
        yield Task(run.time_of(one.first), _words(run, one), str(OVERLOAD))
    if any(p.point.kind in BREAKERS for one in found for p in (one, *one.others)):
        yield Task(
            None,
            "Where a breaker trips: switch off what was on behind it, let it cool some minutes, "
            "move it fully to off and close it once. Never hold it closed; where it trips again, "
            "leave it off.",
            str(OVERLOAD),
        )


def stretches(run: Run) -> tuple[Passed, ...]:
    """The stretches of a run without the utility in which limits are passed, by the clock.

    Worked out once and kept with the run.
    """
    kept = run.aside.get("passed")
    if isinstance(kept, tuple):
        return kept
    run.aside["passed"] = made = tuple(_stretches(run))
    return made


def _stretches(run: Run) -> Iterator[Passed]:
    out = steps_out(run)
    rows = {p.id: row for row, p in enumerate(run.points)}
    shares = [
        (result, leg, np.where(out, run.amps[rows[result.point.id], k] / limit_a, 0.0))
        for result in run.verdict.over
        if result.point.kind != "feeder_neutral"
        for k, leg in enumerate(_LEGS)
        if (limit_a := result.point.leg_rating_a) > 0.0
    ]
    if not shares:
        return
    past = np.flatnonzero(np.max([share for *_, share in shares], axis=0) > 1.0)
    apart = APART_H * 3600.0 / run.scenario.step_s
    for steps in np.split(past, np.flatnonzero(np.diff(past) > apart) + 1):
        if not steps.size:
            continue
        found = []
        for result, leg, share in shares:
            mine = steps[share[steps] > 1.0]
            if mine.size:
                worst = mine[np.argsort(-share[mine], kind="stable")]
                found.append((float(share[worst[0]]), result, leg, tuple(worst.tolist())))
        found.sort(key=lambda f: (f[1].point.kind == "circuit_breaker", -f[0]))
        first, last = int(steps[0]), int(steps[-1]) + 1
        every = [Passed(first, last, result, leg, mine) for _, result, leg, mine in found]
        top = every[0]
        yield Passed(first, last, top.result, top.leg, top.steps, tuple(every[1:]))


def steps_out(run: Run) -> NDArray[np.bool_]:
    """The steps that lie in an outage. (steps,)"""
    middle_s = (np.arange(run.scenario.steps) + 0.5) * run.scenario.step_s
    out = np.zeros(run.scenario.steps, dtype=np.bool_)
    for begin, end in run.served.outages:
        out |= (begin <= middle_s) & (middle_s < end)
    return out


def _words(run: Run, one: Passed) -> str:
    point, worst = one.point, one.steps[0]
    at = run.time_of(worst)
    half_h = timedelta(minutes=_ROUND_MIN)
    end = run.scenario.start + half_h * math.ceil(
        (run.time_of(one.last) - run.scenario.start) / half_h
    )
    amps_a = float(run.amps[_row(run, point), _LEGS.index(one.leg), worst])
    shares = _by_circuit(run, one, worst)
    names = [run.site.circuit(i).name for i in list(shares)[:_NAMED]]
    more = len(shares) - len(names)
    on = joined([*names, f"{more} more"] if more > 0 else names)
    points = {p.point.id for p in one.others} - {point.id}
    also = ""
    if points:
        also = f" {len(points)} more limit{'s are' if len(points) > 1 else ' is'} passed then."
    may = "It may trip. " if point.kind in BREAKERS else ""
    may = "The set may stop. " if point.kind == "generator" else may
    left = _left_off(run, one)
    if not left:
        do = "Nothing that gives comfort alone is on then: see what can wait."
    else:
        spare = joined([c.name for c in left])
        do = f"Before it, switch off and leave off until {_clock(run, one, end)}: {spare}."
        if any(_heats(a) for c in left for a in c.appliances):
            do += " What heats beside it then has to be enough: look at the thermometer."
        if not _enough(run, one, left):
            do += " Even so the limit is passed: see what else can wait."
    return (
        f"{point.name} carries up to {amps_a:.1f} A of {point.leg_rating_a:.1f} A on {one.leg}, "
        f"worst at {_clock(run, one, at)}, with {on} on.{also} {may}{do}"
    )


def _clock(run: Run, one: Passed, at: datetime) -> str:
    return f"{at:%H:%M}" if at.date() == run.time_of(one.first).date() else moment(at)


def _row(run: Run, point: LimitPoint) -> int:
    return next(row for row, p in enumerate(run.points) if p.id == point.id)


def _by_circuit(run: Run, one: Passed, step: int) -> dict[str, float]:
    """What each circuit adds to the amps of a leg in one step, most first. [A]"""
    shares: dict[str, float] = {}
    for part in run.flows.contributors(one.point.id, one.leg, step):
        shares[part.circuit_id] = shares.get(part.circuit_id, 0.0) + part.amps_a
    most = sorted(shares.items(), key=lambda pair: -pair[1])
    return {i: amps_a for i, amps_a in most if amps_a > _LEAST_A and i}


def _left_off(run: Run, one: Passed) -> list[Circuit]:
    """Few circuits that bring a stretch below its limits, those needed least in front.

    Nobody's water, pit, medical device or cold food is switched off for it, nor the last heat of a
    room in frost.
    """
    chosen: list[str] = []
    for shares, excess_a in _excesses(run, one):
        covered = sum(a for i, a in shares.items() if i in chosen)
        if covered >= excess_a:
            continue
        rank = {
            i: _class_rank(run.site.circuit(i))
            for i, amps_a in shares.items()
            if i not in chosen and amps_a >= WORTH_A and may_wait(run, run.site.circuit(i), chosen)
        }
        alone = [i for i in rank if covered + shares[i] >= excess_a]
        if alone:
            chosen.append(min(alone, key=lambda i: (rank[i], -shares[i])))
            continue
        for i in sorted(rank, key=lambda i: (-shares[i], rank[i])):
            if covered < excess_a and may_wait(run, run.site.circuit(i), chosen):
                chosen.append(i)
                covered += shares[i]
    return [run.site.circuit(i) for i in chosen[:MOST_OFF]]


def _enough(run: Run, one: Passed, left: list[Circuit]) -> bool:
    ids = {c.id for c in left}
    return all(
        sum(a for i, a in shares.items() if i in ids) >= excess_a
        for shares, excess_a in _excesses(run, one)
    )


def _excesses(run: Run, one: Passed) -> Iterator[tuple[dict[str, float], float]]:
    """The worst steps of each limit: who is on, and by how much it is passed. [A]"""
    for part in (one, *one.others):
        leg, row = _LEGS.index(part.leg), _row(run, part.point)
        for step in part.steps[:_LOOKED_AT]:
            excess_a = float(run.amps[row, leg, step]) - part.point.leg_rating_a
            yield _by_circuit(run, part, step), excess_a


def may_wait(run: Run, circuit: Circuit, off: Collection[str]) -> bool:
    """Whether a circuit can be left off beside those in ``off``, at no more than comfort.

    Heat in frost can where another unit heats the same room.
    """
    if has_pit(circuit):
        return False
    if may_go_off(run, circuit):
        return True
    heats = bool(circuit.appliances) and all(_heats(a) for a in circuit.appliances)
    if not heats or circuit.load_class == "must_serve":
        return False
    room_of = room_plan(run.site).room_of
    rooms = {room_of[a.id] for a in circuit.appliances if a.id in room_of}
    others = {
        room_of[a.id]
        for c in run.site.circuits
        if c.id != circuit.id and c.id not in off and c.outage_role == "on"
        for a in c.appliances
        if _heats(a) and a.id in room_of and run.flows.taken_by(a.id).any()
    }
    return rooms <= others


def _heats(one: Appliance) -> bool:
    return isinstance(one.behaviour, RoomUnit) and one.behaviour.mode == "heat"


def _class_rank(circuit: Circuit) -> int:
    known = circuit.load_class in _SPARED_FIRST
    return _SPARED_FIRST.index(circuit.load_class) if known else len(_SPARED_FIRST)
