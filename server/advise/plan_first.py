"""The first minutes of an outage: what bridges them, and in what order a set takes its loads."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import timedelta

from server.advise.plan_fuel import fuel_ends, runs_at
from server.advise.plan_harms import medical_of, with_medical
from server.advise.plan_pits import has_sump
from server.advise.plan_switched import brought_words, hand_switches, over_words
from server.advise.plan_task import Task, joined
from server.domain.cautions import MEDICAL
from server.domain.circuit import DEFAULT_ALLOWED_GAP_MIN
from server.domain.lengths import span_words
from server.domain.scenario import Scenario, Window
from server.domain.supply import Generator
from server.domain.topology import sources_of
from server.simulate.results import Run
from server.simulate.set_load import MOST_TRIES
from server.simulate.timeline import LONGEST_SERVICE_S, lost_s
from server.simulate.verdict import moment


def changed_over(run: Run, outages: list[Window]) -> Iterator[Task]:
    """A medical device is put on what runs it alone while no source carries its circuit yet.

    Of gaps that begin with an outage. Those it cannot wait through and that are longer than a
    service stop have a task of their own; those of a moment, as a set starts by itself, have none.
    """
    begun_s = {(w.start - run.scenario.start).total_seconds() for w in outages}
    for row, circuit in enumerate(run.site.circuits):
        devices = medical_of(circuit)
        if not devices or circuit.outage_role == "off":
            continue
        longest_s = max(circuit.least_gap_min * 60.0, LONGEST_SERVICE_S)
        for gap in run.served.gaps(row):
            opens = next((s for s in begun_s if abs(s - gap.begin_s) <= 1.0), None)
            brief = gap.wanted_s <= DEFAULT_ALLOWED_GAP_MIN * 60.0
            if opens is None or brief or gap.wanted_s > longest_s:
                continue
            end_s = next(b for a, b in run.served.dark(row) if a <= gap.begin_s + 1.0 < b)
            begin, end = (run.scenario.start + timedelta(seconds=s) for s in (opens, end_s))
            them = "it" if len(devices) == 1 else "them"
            yield Task(
                begin,
                f"At once, change {joined(devices)} over to what runs {them} alone, until "
                f"{moment(end)}: {circuit.name} has no power before.",
                str(MEDICAL),
            )


def start_words(run: Run, generator: Generator, outage: Window, *, away: bool) -> str:
    """How a set is brought on as an outage begins, and which breakers are closed first.

    Empty of one that an outage before has left without fuel.
    """
    if runs_at(run, generator, outage.start):
        return _runs_on(run, generator, outage, away=away)
    if _left_dry(run, generator, outage):
        return ""
    over = over_words(run.site, generator)
    if generator.start == "automatic":
        sees = _sees(away=away)
        tries = run.scenario.tries_of(generator.id)
        if tries > MOST_TRIES:
            sees += f", as this run has it only at try {tries} and its control may give up before"
        return f"{generator.name} starts by itself; {sees}.{_then_by_hand(run, over, generator)}"
    then = (
        f"; then, about {hand_min(run.scenario, generator):g} min after the power fails, {over}. "
        "Close"
        if over
        else f"; change over about {hand_min(run.scenario, generator):g} min after the power "
        "fails and close"
    )
    return (
        f"{brought_words(generator)}{then} breakers one at a time, {_order(run, generator)}."
        f"{_sooner(run, generator, outage)}"
    )


def _then_by_hand(run: Run, over: str, generator: Generator) -> str:
    """What a person does at a switch that does not change over as the set does; or empty."""
    if not over:
        return ""
    return (
        f" It takes nothing over by itself: once it runs, about {run.scenario.hand_start_min:g} "
        f"min after the power fails as this run counts, {over}. Close breakers one at a time, "
        f"{_order(run, generator)}."
    )


def _runs_on(run: Run, generator: Generator, outage: Window, *, away: bool) -> str:
    """What a set does that turns already as the power goes; empty where it never came back."""
    name, scenario = generator.name, run.scenario
    if any(w.end == outage.start for w in scenario.outages):
        return ""
    by_hand = generator.start == "by_hand" or bool(hand_switches(run.site, generator))
    at_s = (outage.start - scenario.start).total_seconds() + 1.0
    carries = any(
        generator.id in sources_of(run.site, circuit)
        and not any(a <= at_s < b for a, b in run.served.dark(row))
        for row, circuit in enumerate(run.site.circuits)
    )
    if not by_hand:
        again = "goes on carrying its loads" if carries else "takes over by itself"
        return f"{name} turns already and {again}; {_sees(away=away)}."
    if carries:
        return (
            f"{name} runs and carries its loads still: let it run on, and do not change back "
            f"until the power has stayed for about {scenario.hand_return_min:g} min."
        )
    over = over_words(run.site, generator) or "change over"
    return (
        f"{name} turns already: about {scenario.hand_start_min:g} min after the power fails, "
        f"{over}. Close breakers one at a time, {_order(run, generator)}."
    )


def _sees(*, away: bool) -> str:
    return "nobody is there to see whether it does" if away else "see that it does"


def _left_dry(run: Run, generator: Generator, outage: Window) -> bool:
    """Whether a set is out of fuel before an outage and does not turn in it."""
    begin_s, end_s = ((t - run.scenario.start).total_seconds() for t in (outage.start, outage.end))
    turns = any(a < end_s and begin_s < b for a, b in run.served.running[generator.id])
    return not turns and any(at <= outage.start for at in fuel_ends(run, generator))


def sets_left(run: Run, used: tuple[Generator, ...]) -> Iterator[str]:
    """Which of several sets a scenario leaves standing while another runs."""
    what = {"fails": "does not start", "absent": "is not used"}
    for generator in run.site.generators if used else ():
        state = run.scenario.state_of(generator.id)
        if state != "ready":
            yield f"{generator.name} {what[state]} in this run: what only it feeds has no power."


def hand_min(scenario: Scenario, generator: Generator) -> float:
    """Until a person has a set running, with the tries at which it does not catch. [min]"""
    return scenario.hand_start_min + lost_s(scenario, generator) / 60.0


def _order(run: Run, generator: Generator) -> str:
    """Which of a set's breakers come first, pits before medical devices before the rest."""
    kept_off = {k.circuit_id for k in run.scenario.kept_off}
    on = [
        c
        for c in run.site.circuits
        if c.outage_role == "on"
        and c.id not in kept_off
        and generator.id in sources_of(run.site, c)
    ]
    pits = joined([c.name for c in on if has_sump(c)])
    devices = joined([with_medical(c) for c in on if medical_of(c) and not has_sump(c)])
    ranks = ("first", "second", "third")
    told = [what for what in (pits, devices) if what]
    if not told:
        return "what must be served first"
    names = (*told, "what else must be served")
    return ", ".join(f"{name} {rank}" for name, rank in zip(names, ranks, strict=False))


def _sooner(run: Run, generator: Generator, outage: Window) -> str:
    """Of the pits that a set feeds, those that run over before it is there, and how soon."""
    ready = outage.start + timedelta(minutes=hand_min(run.scenario, generator))
    fed = {
        a.id
        for c in run.site.circuits
        if generator.id in sources_of(run.site, c)
        for a in c.appliances
    }
    over = [
        f"The pit of {pit.name} runs over {_whole_min(pit.at - outage.start)} after the power "
        "fails, as full as it is then: give it power sooner, or another pump."
        for pit in run.verdict.pits
        if pit.appliance_id in fed and outage.start <= pit.at <= min(ready, outage.end)
    ]
    return "".join(f" {words}" for words in over)


def _whole_min(span: timedelta) -> str:
    """Minutes that are over by then, never rounded up."""
    minutes = math.floor(span.total_seconds() / 60.0)
    return span_words(minutes) if minutes else "less than 1 min"
