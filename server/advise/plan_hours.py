"""Hours that a run counts on: when things are started, plugged in, or put on by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime

from server.advise.plan_managers import waits_words
from server.advise.plan_over import passed_while_out, steps_out
from server.advise.plan_task import Task, joined
from server.advise.plan_throws import HEAVY_W
from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.scenario import ApplianceEvent, HandWindow, Window
from server.simulate.results import Run
from server.simulate.verdict import moment


def out_at(outages: Sequence[Window], at: datetime) -> Window | None:
    """The outage that a moment lies in."""
    return next((w for w in outages if w.start <= at <= w.end), None)


def timers(run: Run, by: datetime) -> Iterator[Task]:
    """When a car begins to charge in a run that sets the hour, or that it does not."""
    first = min(w.start for w in run.scenario.outages if w.end > run.scenario.start)
    name_of = _names(run)
    for row, circuit in enumerate(run.site.circuits):
        for one in circuit.appliances:
            own = [e for e in _events(run) if e.appliance_id == one.id]
            if one.behaviour.model != "charger" or not own or not _in_play(run, row):
                continue
            later = [e.at for e in own if first <= e.at < run.scenario.end]
            told = [at for at in later if not _out(run, at) or _has_power(run, row, at)]
            if told:
                yield Task(
                    by,
                    f"Once the power is out, let {name_of[one.id]} charge only from "
                    f"{joined([moment(at) for at in told])} on: set its timer so, or plug the car "
                    "in no sooner. This run counts on it.",
                )
            elif not later and not _draws_while_out(run, one):
                yield Task(
                    by,
                    f"Leave the car unplugged from {name_of[one.id]} while the utility is out: "
                    "this run counts on it.",
                )


def told_hours(run: Run, left: Collection[str]) -> list[ApplianceEvent]:
    """What people or timers start while the utility is out, where it has power, by the clock.

    Nothing of circuits in ``left``, whose breakers are to be off. Only what has its hours from the
    scenario: what runs by habit has others in every draw.
    """
    rows = {
        a.id: row
        for row, c in enumerate(run.site.circuits)
        for a in c.appliances
        if c.id not in left
    }
    return [
        event
        for event in _events(run)
        if event.appliance_id in rows
        and _has_power(run, rows[event.appliance_id], event.at)
        and _out(run, event.at)
        and _is_started(run, event)
    ]


def set_hours(run: Run, left: Collection[str]) -> Iterator[Task]:
    """Day by day, at what hours the run starts what people start; days alike in one task."""
    days: dict[date, list[ApplianceEvent]] = {}
    for event in told_hours(run, left):
        days.setdefault(event.at.date(), []).append(event)
    name_of = _names(run)
    alike: dict[str, list[ApplianceEvent]] = {}
    circuit_of = {a.id: c.id for c in run.site.circuits for a in c.appliances}
    started: dict[str, set[str]] = {}
    for events in days.values():
        hours: dict[str, list[str]] = {}
        for event in events:
            hours.setdefault(name_of[event.appliance_id], []).append(f"{event.at:%H:%M}")
        words = "; ".join(f"{name} {joined(at)}" for name, at in hours.items())
        alike.setdefault(words, []).append(events[0])
        started[words] = {circuit_of[e.appliance_id] for e in events}
    keep = " Keep to them: another hour may bring more on at once than this run has."
    keep = "" if passed_while_out(run) else keep
    for words, firsts in alike.items():
        on = joined([f"{e.at:%a} {e.at.day} {e.at:%b}" for e in firsts])
        waits = waits_words(run, started[words])
        yield Task(firsts[0].at, f"This run has these hours on {on}: {words}.{keep}{waits}")
    none = _not_before(run)
    if none:
        yield Task(
            None,
            f"This run starts none of these until the utility is back: {', '.join(none)}.",
        )


def _not_before(run: Run) -> list[str]:
    """What is heavy, could run on a set and has hours in the scenario, none while it is out."""
    name_of = _names(run)
    found = []
    for row, circuit in enumerate(run.site.circuits):
        for one in circuit.appliances:
            own = [e for e in run.scenario.events if e.appliance_id == one.id]
            heavy = one.behaviour.model == "timed" and one.load_w >= HEAVY_W
            timed = heavy and bool(own) and _in_play(run, row)
            if timed and not any(_out(run, e.at) for e in own) and not _draws_while_out(run, one):
                found.append(name_of[one.id])
    return found


def _events(run: Run) -> list[ApplianceEvent]:
    return sorted(run.scenario.events, key=lambda e: e.at)


def _names(run: Run) -> dict[str, str]:
    """What each appliance is called, with its circuit where several share a name."""
    count = Counter(a.name for c in run.site.circuits for a in c.appliances)
    return {
        a.id: a.name if count[a.name] == 1 else f"{a.name} on {c.name}"
        for c in run.site.circuits
        for a in c.appliances
    }


def _is_started(run: Run, event: ApplianceEvent) -> bool:
    """Whether something begins with an event that a person or a timer starts."""
    found = next(a for c in run.site.circuits for a in c.appliances if a.id == event.appliance_id)
    return found.behaviour.model in {"timed", "charger"} and event.energy_kwh != 0.0


def _out(run: Run, at: datetime) -> bool:
    return any(w.start <= at < w.end for w in run.scenario.outages)


def _has_power(run: Run, row: int, at: datetime) -> bool:
    """Whether a circuit has power to use at a moment."""
    at_s = (at - run.scenario.start).total_seconds()
    return at_s >= 0.0 and not any(begin <= at_s < end for begin, end in run.served.dark(row))


def _in_play(run: Run, row: int) -> bool:
    """Whether a circuit has power at some time while the utility is out."""
    for begin, end in run.served.outages:
        dark_s = sum(max(min(end, b) - max(begin, a, 0.0), 0.0) for a, b in run.served.dark(row))
        if dark_s < end - max(begin, 0.0) - 60.0:
            return True
    return False


def _draws_while_out(run: Run, one: Appliance) -> bool:
    return bool(((run.flows.taken_by(one.id) > 0.0) & steps_out(run)).any())


def _of_the_weather(circuit: Circuit) -> bool:
    """Whether it feeds only what heats or cools, which asks for nothing out of season."""
    return all(a.behaviour.model == "room" for a in circuit.appliances)


def by_hand(run: Run, outages: list[Window]) -> Iterator[Task]:
    """Circuits that are on by hand, those of the same hours of the day in one task.

    The hours of one that is off for good, by its role or in this scenario, or that has no power
    in them, do not count.
    """
    hand = {c.id for c in run.site.circuits if c.outage_role == "by_hand"}
    hand -= {k.circuit_id for k in run.scenario.kept_off}
    asks = zip(run.wanted_w, run.site.circuits, strict=True)
    hand -= {c.id for wanted, c in asks if _of_the_weather(c) and not wanted.any()}
    found: dict[tuple[str, str], list[tuple[datetime, str]]] = {}
    for one in run.scenario.hand_windows:
        if out_at(outages, one.window.start) is None or one.circuit_id not in hand:
            continue
        if _dark_all(run, one):
            continue
        hours = (f"{one.window.start:%H:%M}", f"{one.window.end:%H:%M}")
        name = run.site.circuit(one.circuit_id).name
        found.setdefault(hours, []).append((one.window.start, name))
    for (begin, end), pairs in found.items():
        days = {at.date() for at, _ in pairs}
        names = ", ".join(dict.fromkeys(name for _, name in pairs))
        often = f"On {len(days)} days, " if len(days) > 1 else ""
        yield Task(min(pairs)[0], f"{often}{begin} to {end}: on by hand, then off again: {names}.")


def _dark_all(run: Run, one: HandWindow) -> bool:
    """Whether a circuit that is put on by hand has no power all the while."""
    row = next(i for i, c in enumerate(run.site.circuits) if c.id == one.circuit_id)
    begin, end = (
        (at - run.scenario.start).total_seconds() for at in (one.window.start, one.window.end)
    )
    return any(a <= begin + 1.0 and end - 1.0 <= b for a, b in run.served.dark(row))
