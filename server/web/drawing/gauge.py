"""One line of amps for each bus, with the limit that holds at each moment and where it is dead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from server.domain.site import Site
from server.domain.topology import Bus, BusKind
from server.simulate.fed import fed_by
from server.simulate.results import LimitPoint, Run
from server.web.format import rating

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

OFF_SCALE = 2.0
"""A limit of more than this many times what else is drawn is told and not drawn to scale."""


@dataclass(frozen=True)
class LimitStretch:
    """A run of steps under one limit; ``last`` is not included."""

    first: int
    last: int
    limit_a: float
    text: str


@dataclass(frozen=True)
class Gauge:
    """Amps of a bus over a run.

    ``legs`` is (2, steps) in amps, ``limit`` (steps,), ``dead`` (steps,) true without supply.
    ``point_id`` is the limit point whose amps these are. ``rests`` tells a set, which is at rest
    and not dead where it feeds nothing.
    """

    id: str
    name: str
    kind: BusKind
    point_id: str
    legs: Floats
    limit: Floats
    dead: Flags
    stretches: tuple[LimitStretch, ...]
    rests: bool = False

    @property
    def never_ran(self) -> bool:
        """Whether it is a set that feeds nothing in the whole run."""
        return self.rests and bool(self.dead.all())

    @property
    def dead_word(self) -> str:
        """What a stretch without supply is called."""
        if self.never_ran:
            return "did not run"
        return "not running" if self.rests else "dead"

    @property
    def over(self) -> Flags:
        """Steps in which a leg is past the limit of that step."""
        return np.asarray((self.legs > self.limit).any(axis=0) & ~self.dead)

    @property
    def top_a(self) -> float:
        """What the whole run is drawn up to. [A]"""
        return self.top_within(0, self.limit.shape[0])

    def top_within(self, first: int, last: int) -> float:
        """What steps ``first`` up to ``last`` are drawn up to, a little above it all. [A]

        A limit of more than twice what else is drawn is left off the scale, so that a small set's
        part of a day is not flattened by the utility's limit.
        """
        every = self.limit[first:last]
        live = every[~self.dead[first:last]]
        held = [float(a) for a in np.unique(live if live.size else every)] or [1.0]
        tallest = max(float(self.legs[:, first:last].max(initial=0.0)), held[0])
        for limit_a in held[1:]:
            if limit_a <= OFF_SCALE * tallest:
                tallest = max(tallest, limit_a)
        return tallest * 1.08


def dead_stretches(gauge: Gauge) -> Iterator[tuple[int, int]]:
    """First and last-plus-one step of every dead stretch."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], gauge.dead.astype(np.int8), [0]))))
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        yield int(first), int(last)


def gauges(run: Run) -> tuple[Gauge, ...]:
    """A gauge for every bus that has panels, and for a set that several switches share."""
    index = {point.id: i for i, point in enumerate(run.points)}
    found = [_bus_gauge(run, index, row, bus) for row, bus in enumerate(run.buses) if bus.panel_ids]
    found += [_generator_gauge(run, index, generator_id) for generator_id in _shared_sets(run.site)]
    return tuple(gauge for gauge in found if gauge is not None)


def positions(run: Run, throw_id: str) -> NDArray[np.bool_]:
    """Whether a double-throw stands on backed-up, for each step."""
    throw = next(d for d in run.site.double_throws if d.id == throw_id)
    on_backed = np.full(run.steps, throw.resting == "backed_up")
    for move in sorted(run.scenario.switch_moves, key=lambda m: m.at):
        if move.switch_id == throw_id:
            seconds = (move.at - run.scenario.start).total_seconds()
            step = max(int(np.ceil(seconds / run.scenario.step_s)), 0)
            on_backed[step:] = move.position == "backed_up"
    return on_backed


def on_generator(run: Run, row: int) -> NDArray[np.bool_]:
    """Whether a generator feeds a bus, for each step."""
    fed = fed_by(run, {g.id for g in run.site.generators})
    return np.asarray(fed[row], dtype=np.bool_)


def _shared_sets(site: Site) -> Iterator[str]:
    handle_sets = {t.id for t in site.transfer_switches if t.kind == "handles"}
    for generator in site.generators:
        fed = [f.to_id for f in site.feeders if f.from_id == generator.id]
        if len(fed) > 1 or handle_sets.intersection(fed):
            yield generator.id


def _gauge_point(index: dict[str, int], bus: Bus) -> str | None:
    wanted = [
        f"{kind}:{bus.root_id}"
        for kind in ("transfer_switch", "double_throw", "service_main", "generator")
    ] + [f"panel_bus:{panel_id}" for panel_id in bus.panel_ids]
    return next((point_id for point_id in wanted if point_id in index), None)


def _of(run: Run, element_ids: set[str], *kinds: str) -> list[LimitPoint]:
    return [p for p in run.points if p.element_id in element_ids and p.kind in kinds]


_ONE_WAY = ("feeder_breaker", "feeder_conductor")
_SET = ("generator", "generator_breaker", "receptacle", "cord", "inlet")


def _bus_gauge(run: Run, index: dict[str, int], row: int, bus: Bus) -> Gauge | None:
    point_id = _gauge_point(index, bus)
    if point_id is None:
        return None
    site = run.site
    always = [run.points[index[point_id]], *_of(run, {bus.root_id}, "meter_socket")]
    children = [f for f in site.feeders if f.from_id == bus.root_id]
    if len(children) == 1 and not point_id.startswith("service_main"):
        always += _of(run, {children[0].id}, *_ONE_WAY)
        always += _of(run, {children[0].to_id}, "panel_bus", "panel_main")
    sides = {f.to_input: f for f in site.feeders_into.get(bus.root_id, ())}
    first, second = list(always), list(always)
    picks_second = np.zeros(run.steps, dtype=bool)
    for name, side in (("utility", first), ("normal", first), ("backed_up", second)):
        if name in sides:
            side.extend(_of(run, {sides[name].id}, *_ONE_WAY))
    if "generator" in sides:
        feeder = sides["generator"]
        second += _of(run, {feeder.id}, *_ONE_WAY)
        if sum(f.from_id == feeder.from_id for f in site.feeders) == 1:
            second += _of(run, {feeder.from_id}, *_SET)
        picks_second = on_generator(run, row)
    elif "backed_up" in sides:
        picks_second = positions(run, bus.root_id)
    return _assembled(
        run,
        index[point_id],
        bus.id,
        bus.name,
        bus.kind,
        dead=run.bus_live[row] < 0.5,
        tightest=(_tightest(first), _tightest(second)),
        picks_second=picks_second,
    )


def _generator_gauge(run: Run, index: dict[str, int], generator_id: str) -> Gauge | None:
    point_id = f"generator:{generator_id}"
    if point_id not in index:
        return None
    row = index[point_id]
    own = _tightest(_of(run, {generator_id}, *_SET))
    return _assembled(
        run,
        row,
        f"generator:{generator_id}",
        f"{run.site.name_of[generator_id]}, all it carries",
        "generator",
        dead=~_generator_used(run, generator_id),
        tightest=(own, own),
        picks_second=np.zeros(run.steps, dtype=bool),
        rests=True,
    )


def _generator_used(run: Run, generator_id: str) -> Flags:
    return np.asarray(fed_by(run, {generator_id}).any(axis=0))


def _tightest(points: list[LimitPoint]) -> LimitPoint:
    return min(points, key=lambda p: p.leg_rating_a)


def _assembled(
    run: Run,
    row: int,
    gauge_id: str,
    name: str,
    kind: BusKind,
    *,
    dead: Flags,
    tightest: tuple[LimitPoint, LimitPoint],
    picks_second: Flags,
    rests: bool = False,
) -> Gauge:
    first, second = tightest
    picks_second = _carried(picks_second, dead)
    limit = np.where(picks_second, second.leg_rating_a, first.leg_rating_a).astype(np.float64)
    texts = [f"{rating(p.leg_rating_a)} A {p.name}" for p in tightest]
    cuts = [0, *(np.flatnonzero(np.diff(limit)) + 1).tolist(), run.steps]
    stretches = tuple(
        LimitStretch(a, b, float(limit[a]), texts[int(picks_second[a])]) for a, b in pairwise(cuts)
    )
    return Gauge(
        id=gauge_id,
        name=name,
        kind=kind,
        point_id=run.points[row].id,
        legs=run.amps[row, :2].astype(np.float64),
        limit=limit,
        dead=np.asarray(dead),
        stretches=stretches,
        rests=rests,
    )


def _carried(flags: Flags, dead: Flags) -> Flags:
    """Flags that keep, while dead, what they were last with power: a gap changes no limit."""
    at = np.where(dead, -1, np.arange(len(flags)))
    last = np.maximum.accumulate(at)
    return np.asarray(np.where(last >= 0, flags[np.maximum(last, 0)], flags))
