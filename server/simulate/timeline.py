"""When each source is there and where each switch stands, in seconds from the scenario's start.

The rows of the state table follow from these intervals: a set that is starting, failed, stopped
for service or not yet thrown to feeds nothing; a switch in motion feeds nothing.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import Generator, ThrowPosition, TransferSwitch
from server.simulate.results import SupplyEvent
from server.simulate.under_load import under_load

Interval = tuple[float, float]

STOPPED = "is stopped for service"
FOR_OIL = "is stopped for its oil"
"""What an event says of a set after its name, as it is stopped to be looked after."""


@dataclass(frozen=True)
class Timeline:
    """Intervals in seconds. ``on_generator`` and ``moving`` are by switch id.

    ``throws`` lists (from when, position) for each double-throw, first entry at minus infinity.
    """

    span_s: float
    outages: tuple[Interval, ...]
    running: dict[str, tuple[Interval, ...]]
    giving: dict[str, tuple[Interval, ...]]
    on_generator: dict[str, tuple[Interval, ...]]
    moving: dict[str, tuple[Interval, ...]]
    throws: dict[str, tuple[tuple[float, ThrowPosition], ...]]
    hand: dict[str, tuple[Interval, ...]]
    events: tuple[SupplyEvent, ...] = field(default=())

    def edges(self, *, after_s: float = 0.0) -> list[float]:
        """Every instant before the span's end at which something changes, ascending."""
        found: set[float] = set()
        for group in (
            self.outages,
            *self.giving.values(),
            *self.on_generator.values(),
            *self.moving.values(),
            *self.hand.values(),
        ):
            for start, end in group:
                found.update((start, end))
        for moves in self.throws.values():
            found.update(at for at, _ in moves[1:])
        return sorted(at for at in found if after_s < at < self.span_s)

    def position(self, throw_id: str, at_s: float) -> ThrowPosition:
        """Where a double-throw stands."""
        moves = self.throws[throw_id]
        return moves[max(bisect_right([at for at, _ in moves], at_s) - 1, 0)][1]


def holds(intervals: tuple[Interval, ...], at_s: float) -> bool:
    """Whether an instant lies in one of these intervals."""
    return any(start <= at_s < end for start, end in intervals)


def build_timeline(
    site: Site, scenario: Scenario, *, empty: Mapping[str, tuple[Interval, ...]] | None = None
) -> Timeline:
    """Work out every interval of a scenario on a site.

    ``empty`` are stretches, by set, in which it has no fuel; a set starts again when fuel comes.
    """
    begin = scenario.start
    span_s = scenario.steps * float(scenario.step_s)
    outages = tuple(sorted(_seconds(w.start, w.end, begin) for w in scenario.outages))
    log: list[tuple[float, str]] = []  # of one instant what causes stands before what follows
    for start, end in outages:
        log.append((start, "The utility goes out"))
        if start < 0.0 < end:
            log.append((0.0, "The utility is out since before the start"))
        log.append((end, "The utility is back"))

    running: dict[str, tuple[Interval, ...]] = {}
    giving: dict[str, tuple[Interval, ...]] = {}
    on_generator: dict[str, tuple[Interval, ...]] = {}
    moving: dict[str, tuple[Interval, ...]] = {t.id: () for t in site.transfer_switches}
    for generator in site.generators:
        switches = _switches_of(site, generator)
        dry = (empty or {}).get(generator.id, ())
        kept = under_load(site, scenario, generator)
        runs, gives, thrown = _tended(scenario, generator, switches, outages, dry, kept, log)
        running[generator.id], giving[generator.id] = runs, gives
        for switch in switches:
            on_generator[switch.id] = thrown[switch.id]
            moving[switch.id] = _motions(thrown[switch.id], switch.motion_s)
    throws: dict[str, tuple[tuple[float, ThrowPosition], ...]] = {}
    for throw in site.double_throws:
        moves: list[tuple[float, ThrowPosition]] = [(float("-inf"), throw.resting)]
        motions: list[Interval] = []
        for move in sorted(scenario.switch_moves, key=lambda m: m.at):
            if move.switch_id != throw.id or move.position == moves[-1][1]:
                continue
            at_s = (move.at - begin).total_seconds()
            moves.append((at_s, move.position))
            motions.append((at_s, at_s + throw.motion_s))
            word = "BACKED-UP" if move.position == "backed_up" else "NORMAL"
            log.append((at_s, f"{throw.name} is thrown to {word} by hand"))
        throws[throw.id] = tuple(moves)
        moving[throw.id] = tuple(motions)
    hand: dict[str, tuple[Interval, ...]] = {}
    for window in scenario.hand_windows:
        interval = _seconds(window.window.start, window.window.end, begin)
        hand[window.circuit_id] = (*hand.get(window.circuit_id, ()), interval)
    return Timeline(
        span_s=span_s,
        outages=outages,
        running=running,
        giving=giving,
        on_generator=on_generator,
        moving=moving,
        throws=throws,
        hand=hand,
        events=_in_span(log, scenario, span_s),
    )


def _seconds(start: datetime, end: datetime, begin: datetime) -> Interval:
    return (start - begin).total_seconds(), (end - begin).total_seconds()


def _switches_of(site: Site, generator: Generator) -> tuple[TransferSwitch, ...]:
    fed = {f.to_id for f in site.feeders if f.from_id == generator.id and f.to_input == "generator"}
    return tuple(t for t in site.transfer_switches if t.id in fed)


def _motions(thrown: tuple[Interval, ...], motion_s: float) -> tuple[Interval, ...]:
    return tuple((at, at + motion_s) for pair in thrown for at in pair)


@dataclass
class _Need:
    """A stretch in which a set is wanted: from up to speed to the end of its cool-down."""

    ready: float
    stop: float


_MOST_OIL_STOPS = 400
LONGEST_SERVICE_S = 3600.0
"""Oil and fuel take less than an hour; a set that is stopped longer rests to save fuel: common
practice, no source."""


def _tended(
    scenario: Scenario,
    generator: Generator,
    switches: tuple[TransferSwitch, ...],
    outages: tuple[Interval, ...],
    dry: tuple[Interval, ...],
    kept: tuple[Interval, ...],
    log: list[tuple[float, str]],
) -> tuple[tuple[Interval, ...], tuple[Interval, ...], dict[str, tuple[Interval, ...]]]:
    """One set stopped for its oil whenever it has run its interval, where somebody does that."""
    oil: tuple[Interval, ...] = ()
    span_s = scenario.steps * float(scenario.step_s)
    service = _service(scenario, generator)
    while True:
        said: list[tuple[float, str]] = []
        found = _one_set(scenario, generator, switches, outages, (dry, oil), kept, said)
        at_s = None
        if generator.oil_check_h is not None and scenario.oil_stop_min is not None:
            at_s = _oil_due_s(found[0], (*service, *oil), generator.oil_check_h * 3600.0)
        if at_s is None or at_s >= span_s or len(oil) >= _MOST_OIL_STOPS:
            log.extend(said)
            return found
        oil = (*oil, (at_s, at_s + (scenario.oil_stop_min or 0.0) * 60.0))


def _service(scenario: Scenario, generator: Generator) -> tuple[Interval, ...]:
    """The stops of a set that the scenario names, in order."""
    stops = scenario.stops_of(generator.id)
    return tuple(_seconds(w.start, w.end, scenario.start) for w in stops)


def _oil_due_s(
    runs: tuple[Interval, ...], stops: tuple[Interval, ...], limit_s: float
) -> float | None:
    """When an engine has run so long since its last stop for service; None where it never has."""
    run_s, last_end = 0.0, float("-inf")
    for begin, end in runs:
        if any(last_end - 1e-6 <= start <= begin + 1e-6 for start, _ in stops):
            run_s = 0.0
        if run_s + end - begin > limit_s + 1e-6:
            return begin + limit_s - run_s
        run_s += end - begin
        last_end = end
    return None


def _one_set(
    scenario: Scenario,
    generator: Generator,
    switches: tuple[TransferSwitch, ...],
    outages: tuple[Interval, ...],
    dry_and_oil: tuple[tuple[Interval, ...], tuple[Interval, ...]],
    kept: tuple[Interval, ...],
    log: list[tuple[float, str]],
) -> tuple[tuple[Interval, ...], tuple[Interval, ...], dict[str, tuple[Interval, ...]]]:
    """Running, giving and thrown intervals of one set through every outage.

    ``dry_and_oil`` are stretches without fuel, and stops for oil; in ``kept`` a double-throw holds
    it under load.

    An automatic switch goes to the generator only when it gives, and back at once when the utility
    is there and the generator is not; a hand switch stays where a person left it.
    """
    thrown: dict[str, list[Interval]] = {s.id: [] for s in switches}
    state = scenario.state_of(generator.id)
    if state != "ready":
        if state == "fails":
            log.extend((start, f"{generator.name} does not start") for start, _ in outages)
        return (), (), dict.fromkeys(thrown, ())
    service = _service(scenario, generator)
    dry, oil = dry_and_oil
    stops = _joined((*service, *dry, *oil))
    exercise = tuple(_seconds(w.start, w.end, scenario.start) for w in scenario.generator_exercise)
    holes = [(a, b + generator.start_delay_s) for a, b in stops]
    hand_s = scenario.hand_start_min * 60.0
    delay_s = generator.start_delay_s if generator.start == "automatic" else hand_s
    first_s = delay_s
    delay_s += lost_s(scenario, generator)
    needs: list[_Need] = []
    for start, end in outages:
        turning = (bool(needs) and needs[-1].stop > start) or holds(exercise, start)
        ready = _clear_of(start if turning else start + delay_s, holes)
        if not turning:
            log += _failed_tries(scenario, generator, start + first_s, end)
        back = max((until for since, until in kept if since <= end < until), default=end)
        for switch in switches:
            spans = thrown[switch.id]
            wait_s = switch.transfer_delay_s if switch.automatic else 0.0
            at = ready if switch.automatic else _clear_of(max(ready, start + hand_s), holes)
            on = _settled(at, wait_s, holes)
            if spans and spans[-1][1] > start:
                on = spans.pop()[0]
            elif on >= end:
                continue
            off = end + scenario.hand_return_min * 60.0
            if switch.automatic:
                off = _fails_at(end, end + switch.return_delay_min * 60.0, holes)
            spans.append((on, off))
            back = max(back, off)
        stop = _stop(end, back, generator, holes)
        if needs and needs[-1].stop > start:
            needs[-1].stop = stop
        elif ready < end:
            needs.append(_Need(ready, stop))
    needed = tuple((n.ready, n.stop) for n in needs)
    runs, gives = _less(needed, stops), _less(needed, tuple(holes))
    exercised = _less(exercise, stops)
    log.extend((at, f"{generator.name} runs without load, to exercise") for at, _ in exercised)
    log.extend((at, f"{generator.name} runs out of fuel") for at, _ in _joined(dry))
    log.extend((at, f"{generator.name} {FOR_OIL}") for at, _ in oil)
    _log_set(generator, needed, gives, tuple(service), (*dry, *oil), log)
    for switch in switches:
        for on, off in thrown[switch.id]:
            log.append((on, f"{switch.name} goes over to the generator"))
            log.append((off, f"{switch.name} goes back to the utility"))
    return _joined((*runs, *exercised)), gives, {key: tuple(v) for key, v in thrown.items()}


def lost_s(scenario: Scenario, generator: Generator) -> float:
    """How long the tries take at which a set does not catch. [s]"""
    return (scenario.tries_of(generator.id) - 1) * generator.retry_s


def _failed_tries(
    scenario: Scenario, generator: Generator, first_s: float, end_s: float
) -> list[tuple[float, str]]:
    """The tries of one outage at which a set does not catch, told at the last there was time for.

    ``first_s`` is when it first cranks: so long after it would give already.
    """
    tries = scenario.tries_of(generator.id) - 1
    if generator.retry_s > 0.0:
        tries = min(tries, math.ceil((end_s - first_s) / generator.retry_s))
    if tries < 1 or first_s >= end_s:
        return []
    often = "once" if tries == 1 else f"{tries} times"
    last_s = first_s + (tries - 1) * generator.retry_s
    return [(last_s, f"{generator.name} does not catch, {often}")]


def _log_set(
    generator: Generator,
    needed: tuple[Interval, ...],
    gives: tuple[Interval, ...],
    stops: tuple[Interval, ...],
    dry: tuple[Interval, ...],
    log: list[tuple[float, str]],
) -> None:
    name = generator.name
    firsts = {start for start, _ in needed}
    for start, _ in gives:
        log.append((start, f"{name} is up to speed" if start in firsts else f"{name} starts again"))
    served = {
        a
        for a, _ in stops
        if any(start <= a <= end for start, end in needed)
        and not holds(dry, a)
        and not any(begin < a < end for begin, end in stops)
    }
    lasts = {a: b - a for a, b in stops}
    log.extend(
        (a, f"{name} rests" if lasts[a] > LONGEST_SERVICE_S else f"{name} {STOPPED}")
        for a in served
    )
    log.extend(
        (end, f"{name} stops after cooling down")
        for _, end in needed
        if end not in served and not holds((*stops, *dry), end)
    )


def _clear_of(at: float, holes: list[Interval]) -> float:
    """The first instant from ``at`` on outside these holes (sorted)."""
    for start, end in holes:
        if start <= at < end:
            at = end
    return at


def _settled(at: float, wait_s: float, holes: list[Interval]) -> float:
    """When a source has given for ``wait_s`` on end, from ``at`` on."""
    at = _clear_of(at, holes)
    for start, end in holes:
        if at < end and start <= at + wait_s:
            at = end
    return at + wait_s


def _fails_at(first: float, last: float, holes: list[Interval]) -> float:
    """The first instant in a stretch at which a source does not give, else its end."""
    return min((max(first, a) for a, b in holes if b > first and a < last), default=last)


def _stop(end: float, back: float, generator: Generator, holes: list[Interval]) -> float:
    """When a set stops for good: after its cool-down, or where it stands as the utility is back.

    Nobody starts a set again, for service or fuel, once the utility is there.
    """
    last = back + generator.cool_down_min * 60.0
    return min((a for a, b in holes if b > end and a < last), default=last)


def _less(spans: tuple[Interval, ...], holes: tuple[Interval, ...]) -> tuple[Interval, ...]:
    """Intervals with holes cut out."""
    left = list(spans)
    for hole_start, hole_end in holes:
        cut: list[Interval] = []
        for start, end in left:
            if hole_end <= start or hole_start >= end:
                cut.append((start, end))
                continue
            if start < hole_start:
                cut.append((start, hole_start))
            if hole_end < end:
                cut.append((hole_end, end))
        left = cut
    return tuple(left)


def _joined(spans: tuple[Interval, ...]) -> tuple[Interval, ...]:
    """Intervals merged where they touch."""
    merged: list[Interval] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return tuple(merged)


def _in_span(
    log: list[tuple[float, str]], scenario: Scenario, span_s: float
) -> tuple[SupplyEvent, ...]:
    return tuple(
        SupplyEvent(scenario.start + timedelta(seconds=at), text)
        for at, text in sorted(log, key=lambda event: event[0])
        if 0.0 <= at <= span_s
    )
