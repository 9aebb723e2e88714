"""What of a dark stretch is the scenario's own choice: a set left unused, or stopped."""

from __future__ import annotations

from datetime import timedelta

from server.domain.lengths import span_words
from server.rules.words import listed
from server.simulate.must_serve import MustServeDark, must_serve
from server.simulate.pit_over import PitOver
from server.simulate.results import CircuitService, Run
from server.simulate.stops_made import ServiceStop, stop_of, stops_made
from server.simulate.timeline import lost_s
from server.simulate.verdict import moment

_SECOND = timedelta(seconds=1)


def unused_words(run: Run) -> str:
    """Which sets the scenario leaves unused; empty where it leaves none."""
    unused = [g.name for g in run.site.generators if run.scenario.state_of(g.id) == "absent"]
    return f"This scenario leaves {listed(unused)} unused by choice." if unused else ""


def stop_of_gap(run: Run, gap: CircuitService) -> ServiceStop | None:
    """The stop of a set, as the scenario has it, in which a circuit is dark longest; or None."""
    dark = longest_of(run, gap.circuit_id)
    if dark is None or dark.dark_at is None:
        return None
    at = dark.dark_at
    return next((s for s in stops_made(run) if abs(s.start - at) <= _SECOND), None)


def stop_words(stop: ServiceStop | None) -> str:
    """That a stop is the scenario's own, its length and hour; empty without one."""
    if stop is None:
        return ""
    return (
        f"that is the stop of {span_words(stop.minutes)}{_for_oil(stop)} that this scenario makes "
        f"at {moment(stop.start)}"
    )


def other_stop(stop: ServiceStop) -> str:
    """What stop would be better: one for oil is due when it is due."""
    return "a shorter stop" if stop.for_oil else "a later or shorter stop"


def _for_oil(stop: ServiceStop) -> str:
    return " for the oil" if stop.for_oil else ""


def pit_stop_words(run: Run, pit: PitOver) -> str:
    """That a pit runs over in a stop of the scenario, and how long it bears; empty or a lead-in."""
    of_id = pit.appliance_id
    rows = (r for r, c in enumerate(run.site.circuits) for a in c.appliances if a.id == of_id)
    stop = stop_of(run, next(rows), pit.at)
    if stop is None:
        return ""
    bears_min = int((pit.at - stop.start).total_seconds() // 60.0)
    return (
        f"Shorten the stop{_for_oil(stop)} at {moment(stop.start)}: it is "
        f"{span_words(stop.minutes)} long, and the pit of {pit.name} runs over after {bears_min} "
        "min of it. Run the pit empty just before. Where the stop must be that long: "
    )


def start_words(run: Run, gap: CircuitService) -> str:
    """That a circuit is dark longest while a person starts the set or throws the switch; or empty.

    How long that takes is the scenario's own figure.
    """
    dark = longest_of(run, gap.circuit_id)
    began = {w.start for w in run.scenario.outages}
    able = [g for g in run.site.generators if run.scenario.state_of(g.id) == "ready"]
    if dark is None or dark.dark_at not in began or not able:
        return ""
    lost_min = max(lost_s(run.scenario, g) / 60.0 for g in able)
    hand_min = run.scenario.hand_start_min + lost_min
    by_hand = any(g.start == "by_hand" for g in run.site.generators) or any(
        not t.automatic for t in run.site.transfer_switches
    )
    if not by_hand or gap.longest_gap_min < hand_min or gap.longest_gap_min > hand_min + 10.0:
        return ""
    return (
        f"that is until the set is started and thrown to by hand, {span_words(hand_min)} after the "
        "outage as this scenario has it"
    )


def longest_of(run: Run, circuit_id: str) -> MustServeDark | None:
    """The dark stretches of one circuit of a run."""
    return next((d for d in must_serve(run).dark if d.circuit_id == circuit_id), None)
