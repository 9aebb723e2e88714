"""What comes again later in a run and is far longer then, or has no task of its own yet."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np

from server.advise.plan_ahead import dark_throughout
from server.advise.plan_pits import pumps_pit
from server.advise.plan_task import Task
from server.domain.behaviour import SumpPump
from server.domain.cautions import FLOOD
from server.domain.lengths import span_words
from server.simulate.harm import Harm
from server.simulate.harms import harms
from server.simulate.must_serve import must_serve
from server.simulate.pit_over import full_share
from server.simulate.results import Run
from server.simulate.served import Span
from server.simulate.stops_made import ServiceStop, stop_of
from server.simulate.verdict import moment

FAR_LONGER = 2.0
"""So many times as long as the first is told at its own hour (common practice, no source)."""

WORTH_H = 1.0
"""No later time that is shorter has a line of its own (common practice, no source). [h]"""

_BRIM_GAL = 0.01


def far_longer(harm: Harm) -> tuple[Span, ...]:
    """The later times of a harm that comes again which are far longer than its first. [s]"""
    spans = [(max(a, 0.0), b) for a, b in harm.spans if b > 0.0]
    if not spans:
        return ()
    least_s = max(FAR_LONGER * (spans[0][1] - spans[0][0]), WORTH_H * 3600.0)
    return tuple((a, b) for a, b in spans[1:] if b - a >= least_s)


def later(run: Run) -> Iterator[Task]:
    """A dated task for each later time that is far longer than the first, and for long darks."""
    for harm in harms(run):
        for begin_s, end_s in far_longer(harm):
            words = _again(run, harm, begin_s, end_s)
            if words:
                yield Task(_time(run, begin_s), *words)
    yield from _over_again(run)
    yield from _dark_long(run)


def _again(run: Run, harm: Harm, begin_s: float, end_s: float) -> tuple[str, str] | None:
    last = end_s >= run.scenario.steps * run.scenario.step_s
    until = "until the end" if last else f"until about {moment(_time(run, end_s))}"
    until = f"{until}, {span_words((end_s - begin_s) / 60.0)}"
    if harm.kind == "water":
        clause = harm.clause[:1].upper() + harm.clause[1:]
        return f"{clause} {until}: draw before it what is needed for so long.", ""
    if harm.kind == "internet":
        return f"{harm.what} {until}: keep a phone charged to call for help.", ""
    if harm.kind == "sump":
        return f"{harm.what} {until}. Keep off a wet floor.", str(FLOOD)
    return None


def brim_times(run: Run, appliance_id: str) -> tuple[Span, ...]:
    """The stretches of a run in which a pit stands at its brim, in order. [s]"""
    pit = next(a for c in run.site.circuits for a in c.appliances if a.id == appliance_id).behaviour
    row = next((k for k, w in enumerate(run.watched) if w.appliance_id == appliance_id), None)
    if not isinstance(pit, SumpPump) or row is None:
        return ()
    step_s, level = float(run.scenario.step_s), run.level[row]
    brim_gal = pit.cycle_gal + pit.reserve_gal - _BRIM_GAL
    full = np.flatnonzero(level >= brim_gal)
    found: list[Span] = []
    for steps in np.split(full, np.flatnonzero(np.diff(full) > 1) + 1):
        if steps.size:
            k = int(steps[0])
            share = full_share(level, np.full(len(level), step_s), k, brim_gal)
            found.append(((k + share) * step_s, (int(steps[-1]) + 1) * step_s))
    return tuple(found)


def over_in(run: Run, appliance_id: str, stop: ServiceStop) -> datetime | None:
    """When a pit first comes to its brim in a stop; None where it does not."""
    begin_s, end_s = ((t - run.scenario.start).total_seconds() for t in (stop.start, stop.end))
    at_s = next((a for a, _ in brim_times(run, appliance_id) if begin_s <= a <= end_s), None)
    return None if at_s is None else _time(run, at_s)


def _over_again(run: Run) -> Iterator[Task]:
    """Each later time that a pit runs over, but those in a stop, which its own task tells."""
    step = timedelta(seconds=run.scenario.step_s)
    row_of = {a.id: row for row, c in enumerate(run.site.circuits) for a in c.appliances}
    for pit in run.verdict.pits:
        for begin_s, end_s in brim_times(run, pit.appliance_id):
            at = _time(run, begin_s)
            stop = stop_of(run, row_of[pit.appliance_id], at)
            in_stop = stop is not None and _time(run, end_s) <= stop.end + 2 * step
            if at > pit.at + step and not in_stop:
                yield Task(
                    at,
                    f"{pit.name}: pit runs over again, until about "
                    f"{moment(_time(run, end_s))}. Keep off a wet floor, and ahead of it carry "
                    "off or pump out the water with what needs none of the house.",
                    str(FLOOD),
                )


def _dark_long(run: Run) -> Iterator[Task]:
    """What must be served and is dark for longer than it can wait, where nothing else tells it."""
    told = {h.element_id for h in harms(run) if h.reached}
    all_dark = {c.id for c in dark_throughout(run)}
    for one in must_serve(run).dark:
        circuit = run.site.circuit(one.circuit_id)
        elsewhere = any(a.id in told or pumps_pit(a) for a in circuit.appliances)
        if not one.too_long or one.device or one.circuit_id in all_dark or elsewhere:
            continue
        if one.longest_min <= one.bears_min:
            continue
        alarms = any(a.kind == "smoke-alarms" for a in circuit.appliances)
        do = (
            " The alarms on it then stand on their batteries alone: put in fresh ones before it."
            if alarms
            else " See before it to what hangs on it."
        )
        yield Task(
            max(one.longest_at, run.scenario.start),
            f"{one.subject} has no power from here for {span_words(one.longest_min)}, and can "
            f"wait {span_words(one.bears_min)}.{do}",
        )


def _time(run: Run, at_s: float) -> datetime:
    return run.scenario.start + timedelta(seconds=round(at_s))
