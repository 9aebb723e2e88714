"""What of a dark stretch is the scenario's own choice: a set left unused, or stopped."""

from __future__ import annotations

from datetime import timedelta

from server.domain.lengths import span_words
from server.rules.words import listed
from server.simulate.must_serve import MustServeDark, must_serve
from server.simulate.pit_over import PitOver
from server.simulate.results import CircuitService, Run
from server.simulate.timeline import lost_s
from server.simulate.verdict import moment

_SECOND = timedelta(seconds=1)


def unused_words(run: Run) -> str:
    """Which sets the scenario leaves unused; empty where it leaves none."""
    unused = [g.name for g in run.site.generators if run.scenario.state_of(g.id) == "absent"]
    return f"This scenario leaves {listed(unused)} unused by choice." if unused else ""


def stop_words(run: Run, gap: CircuitService) -> str:
    """The stop of a set, entered in the scenario, in which a circuit is dark longest; or empty."""
    dark = longest_of(run, gap.circuit_id)
    if dark is None or dark.dark_at is None:
        return ""
    at = dark.dark_at
    stop = next((w for w in run.scenario.generator_stops if abs(w.start - at) <= _SECOND), None)
    if stop is None:
        return ""
    minutes = (stop.end - stop.start).total_seconds() / 60.0
    return (
        f"that is the stop of {span_words(minutes)} that this scenario makes at "
        f"{moment(stop.start)}"
    )


def pit_stop_words(run: Run, pit: PitOver) -> str:
    """That a pit runs over in a stop of the scenario, and how long it bears; empty or a lead-in."""
    stop = next((w for w in run.scenario.generator_stops if w.start <= pit.at <= w.end), None)
    if stop is None:
        return ""
    whole_min = (stop.end - stop.start).total_seconds() / 60.0
    bears_min = int((pit.at - stop.start).total_seconds() // 60.0)
    return (
        f"Shorten the stop at {moment(stop.start)}: it is {span_words(whole_min)} long, and the "
        f"pit of {pit.name} runs over after {bears_min} min of it. Run the pit empty just before. "
        "Where the stop must be that long: "
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
