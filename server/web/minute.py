"""The minute inspector: who was on at one limit in one step, by bus and leg, summed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from server.domain.topology import BusKind, bus_of_circuit
from server.simulate.results import LimitPoint, Run, Status
from server.web.drawing.moment import NONE, Moment
from server.web.figures import day_time
from server.web.format import amps, amps_or_dash, field_time, percent, rating

SMALL_A = 1.0
"""Appliances under this on both legs are drawn together in one row of their bus. [A]"""


@dataclass(frozen=True)
class PartRow:
    """An appliance, or the small ones together."""

    name: str
    circuit: str
    l1: str
    l2: str


@dataclass(frozen=True)
class BusPart:
    """What one bus added to the limit point in this step."""

    name: str
    kind: BusKind
    l1: str
    l2: str
    rows: tuple[PartRow, ...]


@dataclass(frozen=True)
class LegNow:
    """One leg: its amps, and how far over or under the limit. ``over`` prints it in red.

    Where there is no supply ``amps`` is the word for that, and nothing is to spare.
    """

    amps: str
    room: str
    over: bool


@dataclass(frozen=True)
class PointNow:
    """A limit point in this step; without supply its legs say so and it is at no percent."""

    id: str
    name: str
    limit: str
    l1: str
    l2: str
    percent: str
    status: Status


@dataclass(frozen=True)
class Inspector:
    """Everything the inspector shows for one step."""

    at: datetime
    title: str
    field: str
    back: str
    on: str
    point_id: str
    point_name: str
    limit: str
    legs: tuple[LegNow, LegNow]
    neutral: str
    parts: tuple[BusPart, ...]
    total: tuple[str, str]
    next_up: str
    points: tuple[PointNow, ...]
    choices: tuple[tuple[str, str], ...]


def status_at(amps_a: float, limit_a: float) -> Status:
    """Within, close (over 80 per cent) or over, at one moment."""
    if amps_a > limit_a:
        return "over"
    return "close" if amps_a > 0.8 * limit_a else "within"


def inspect(run: Run, step: int, point_id: str = "") -> Inspector:
    """Take one step apart at one limit point; the one nearest its limit when none is named."""
    moment = Moment(run, step)
    shared = [p for p in run.points if p.kind not in ("circuit_breaker", "feeder_neutral")]
    ranked = sorted(shared, key=lambda p: -_share(moment, p))
    default = run.verdict.worst.point if run.verdict.worst else ranked[0]
    named = next((p for p in run.points if p.id == point_id), None)
    point = named or (default if _share(moment, default) > 0 else ranked[0])
    pair = moment.amps(point.id) or NONE
    row = run.points.index(point)
    one_step = max(1, 60 // run.scenario.step_s)
    shown = run.time_of(step)
    parts, total = _parts(run, point.id, step)
    return Inspector(
        at=shown,
        title=day_time(shown),
        field=field_time(shown),
        back=field_time(run.time_of(max(step - one_step, 0))),
        on=field_time(run.time_of(min(step + one_step, run.steps - 1))),
        point_id=point.id,
        point_name=point.name,
        limit=rating(point.leg_rating_a),
        legs=(_leg_now(moment, pair[0], point), _leg_now(moment, pair[1], point)),
        neutral=amps(float(run.amps[row, 2, step])),
        parts=parts,
        total=total,
        next_up=_next_up(moment, ranked, point),
        points=tuple(_point_now(moment, p) for p in ranked),
        choices=tuple((p.id, p.name) for p in shared),
    )


def _share(moment: Moment, point: LimitPoint) -> float:
    return max(moment.amps(point.id) or NONE) / point.leg_rating_a


def _dead_word(moment: Moment, point: LimitPoint) -> str:
    """What a limit point without supply is called; empty where it has supply."""
    if moment.point_live(point):
        return ""
    of_set = any(g.id == point.element_id for g in moment.site.generators)
    return "not running" if of_set else "dead"


def _leg_now(moment: Moment, amps_a: float, point: LimitPoint) -> LegNow:
    gap = amps_a - point.leg_rating_a
    limit = rating(point.leg_rating_a)
    if dead := _dead_word(moment, point):
        return LegNow(dead, f"no power here; its limit is {limit} A", over=False)
    if gap > 0:
        return LegNow(amps(amps_a), f"+{amps(gap)} over {limit} A", over=True)
    return LegNow(amps(amps_a), f"{amps(-gap)} A to spare of {limit}", over=False)


def _point_now(moment: Moment, point: LimitPoint) -> PointNow:
    pair = moment.amps(point.id) or NONE
    dead = _dead_word(moment, point)
    return PointNow(
        id=point.id,
        name=point.name,
        limit=amps(point.leg_rating_a),
        l1=dead or amps_or_dash(pair[0]),
        l2=dead or amps_or_dash(pair[1]),
        percent="" if dead else percent(100 * max(pair) / point.leg_rating_a),
        status=status_at(max(pair), point.leg_rating_a),
    )


def _next_up(moment: Moment, ranked: list[LimitPoint], point: LimitPoint) -> str:
    others = [p for p in ranked if p.id != point.id and _share(moment, p) > 0][:2]
    if not others:
        return ""
    words = [
        f"{p.name}, {amps(p.leg_rating_a - max(moment.amps(p.id) or NONE))} A to spare"
        for p in others
    ]
    return f"Next limits: {'; '.join(words)}."


def _parts(run: Run, point_id: str, step: int) -> tuple[tuple[BusPart, ...], tuple[str, str]]:
    buses = bus_of_circuit(run.site)
    sums: dict[str, dict[tuple[str, str], list[float]]] = {}
    names: dict[tuple[str, str], tuple[str, str]] = {}
    for place, leg in enumerate(("L1", "L2")):
        for part in run.who_was_on(point_id, leg, step):  # type: ignore[arg-type]
            bus = buses.get(part.circuit_id)
            key = (part.circuit_id, part.appliance_id)
            names[key] = (part.appliance_name, part.circuit_name)
            group = sums.setdefault(bus.id if bus else "", {})
            group.setdefault(key, [0.0, 0.0])[place] += part.amps_a
    found = [(bus.name, bus.kind, sums[bus.id]) for bus in run.buses if bus.id in sums]
    if "" in sums:
        found.append(("Solar and other", "normal", sums[""]))
    made = tuple(_bus_part(name, kind, group, names) for name, kind, group in found)
    every = [pair for _, _, group in found for pair in group.values()]
    return made, (amps(sum(p[0] for p in every)), amps(sum(p[1] for p in every)))


def _bus_part(
    name: str,
    kind: BusKind,
    group: dict[tuple[str, str], list[float]],
    names: dict[tuple[str, str], tuple[str, str]],
) -> BusPart:
    ordered = sorted(group, key=lambda k: -max(abs(v) for v in group[k]))
    big = [k for k in ordered if max(abs(v) for v in group[k]) >= SMALL_A]
    rest = [k for k in ordered if k not in big]
    rows = [_row(*names[k], group[k]) for k in big]
    if len(rest) == 1:
        rows.append(_row(*names[rest[0]], group[rest[0]]))
    elif rest:
        left = [sum(group[k][i] for k in rest) for i in (0, 1)]
        rows.append(_row(f"{len(rest)} more under {rating(SMALL_A)} A", "", left))
    whole = [sum(pair[i] for pair in group.values()) for i in (0, 1)]
    return BusPart(name, kind, amps(whole[0]), amps(whole[1]), tuple(rows))


def _row(name: str, circuit: str, pair: list[float]) -> PartRow:
    cells = [amps(v) if abs(v) >= 0.05 else "" for v in pair]
    return PartRow(name, "" if circuit == name else circuit, cells[0], cells[1])
