"""The one thing to do next for a scenario, with the figure of the run it would give."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import lru_cache

from server.advise.advice import advice_on, all_holds, judged
from server.advise.asked_first import and_tank, moved_in, tank_asked
from server.advise.doubt import doubtful_start
from server.advise.from_choice import (
    other_stop,
    pit_stop_words,
    start_words,
    stop_of_gap,
    stop_words,
    unused_words,
)
from server.advise.from_harm import feeding, harm_mend
from server.advise.fuel_sooner import bring_for, sooner_words
from server.advise.fuel_words import short_gal, storage_caution
from server.advise.gas_short import DIESEL_FLOWS
from server.advise.held_to_all import held_to_all
from server.advise.in_draws import in_draws
from server.advise.left_by_hand import and_barred, barred_step
from server.advise.levers import ELECTRICIAN, Lever, apply_lever, lever_words
from server.advise.needed import may_go_off, start_left_off
from server.advise.relief import relief_of
from server.advise.relief_words import free_of, said
from server.advise.settled import and_the_rest, settled
from server.advise.start_findings import alone_mend, start_places, together_mend
from server.advise.step import NextStep
from server.domain.errors import InputError
from server.domain.lengths import dark_words, span_words, wait_words
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import generator_can_energise
from server.rules.hazards import hazards
from server.simulate.background import kept_odds
from server.simulate.fed import fed_by
from server.simulate.fuel_need import FuelNeed
from server.simulate.must_serve import must_serve
from server.simulate.pit_over import PitOver
from server.simulate.results import CircuitService, Run
from server.simulate.run import cached_run, simulate

MOST_TRIED = 6

BATTERY_FIELD = "Battery of its device"
"""The field of a circuit that says how long what hangs on it runs without power."""

_SECOND = timedelta(seconds=1)


def next_step(site: Site, scenario: Scenario) -> NextStep:
    """What to do next: a blocking hazard first, then a medical device that is dark too long.

    After it comes what is over, runs dry or goes dark; fuel that darkens what must be served goes
    before the device. Every figure in the sentence is of a run with the step made. Where nothing
    fails the sentence says so, and names what the code wants, what is off for nothing and the guess
    that is worth measuring first; where draws that were made already fail, it tells of those. A
    lever that acts in every scenario is held to the others.
    """
    step = _in_run(site, scenario)
    odds = kept_odds(site, scenario) if step.settled else None
    step = in_draws(site, scenario, step, odds) if odds else step
    return _planned(held_to_all(site, scenario, step))


def _planned(step: NextStep) -> NextStep:
    """A step, said to be only entered as planned where its lever is rewiring."""
    if step.lever is None or not step.lever.planned:
        return step
    told = "" if ELECTRICIAN in step.sentence else f" {ELECTRICIAN}"
    return replace(step, sentence=f"{step.sentence}{told}", planned=True)


@lru_cache(maxsize=64)
def _in_run(site: Site, scenario: Scenario) -> NextStep:
    blocking = next((f for f in hazards(site) if f.severity == "blocking"), None)
    if blocking is not None:
        return NextStep(f"First: {blocking.text} {blocking.mend}", where="findings")
    run = cached_run(site, scenario)
    return moved_in(scenario) or _shut_off(run) or _next_of(run)


def _next_of(run: Run) -> NextStep:
    """What to do next where no medical device is shut off."""
    dry = next((f for f in run.fuel if f.runs_dry), None)
    if dry is None or not _darkens(run, dry):
        if run.verdict.gaps and run.verdict.gaps[0].device:
            return _then_relieved(run, _fed(run, run.verdict.gaps[0]))
        if run.verdict.over:
            return _relieved(run)
    if dry is not None:
        return _spared(run, dry)
    if run.verdict.gaps:
        return _fed(run, run.verdict.gaps[0])
    if run.verdict.pits:
        pit = run.verdict.pits[0]
        stopped = pit_stop_words(run, pit)
        return NextStep(_pumped(pit, stopped), where="stops" if stopped else "run")
    runs = [g.id for g in run.site.generators if fed_by(run, {g.id}).any()]
    if not run.verdict.fits:
        return _unharmed(run)
    barred = barred_step(run, runs)
    thin = next((f for f in run.fuel if f.eats_reserve), None)
    if advice_on(run).doubt or advice_on(run).short:
        return and_tank(run, and_barred(and_the_rest(run, _started(run, thin)), barred))
    if thin is not None:
        return NextStep(
            _bring(run, thin),
            where="fuel",
            caution=str(storage_caution(run.site, thin)),
        )
    return and_tank(run, barred) if barred else tank_asked(run) or settled(run)


def _started(run: Run, thin: FuelNeed | None) -> NextStep:
    """The answer hangs on a start or gas: what makes it sure, and the fuel short beside it."""
    advice = advice_on(run)
    worst = doubtful_start(advice.starts)
    of_fuel = "fuel" if DIESEL_FLOWS in advice.gas_short.provided else "gas"
    what = of_fuel if worst is None else "start"
    doubt = " ".join(filter(None, (advice.doubt, *advice.short)))
    words = f"Make the {what} sure before you rely on this. {doubt}"
    if worst is not None:
        one, start = worst
        mend = together_mend(one) if len(start.motors) > 1 else alone_mend(start)
        words += f" {mend}"
    places = start_places(*worst) if worst is not None else ()
    lever = start_left_off(run, *worst) if worst is not None else None
    command = lever_words(run.site, lever) if lever is not None else ""
    words += "".join(f" {tank.mend}" for tank in advice.tank_gas if tank.status == "over")
    unsure = (tank.fill for tank in advice.tank_gas if tank.status == "unsure")
    words += "".join(f" {fill}" for fill in unsure if fill)
    if advice.gas_short.of_meter:
        words += "".join(f" {meter.mend}" for meter in advice.gas if meter.status != "within")
    if thin is None:
        return NextStep(words, command, lever, where="run", places=places)
    caution = str(storage_caution(run.site, thin))
    words = f"{words} {_bring(run, thin)}"
    return NextStep(words, command, lever, where="supply", caution=caution, places=places)


def _relieved(run: Run) -> NextStep:
    relief = relief_of(run.site, run.scenario)
    if relief is None:
        return NextStep("Nothing to do yet.")
    best = relief.gentlest or relief.strongest
    if best is None:
        return NextStep(
            f"No single change to one circuit brings {relief.name} within its limit without "
            "breaking something else: use less at once there, or ask for a larger one.",
            where="run",
        )
    free = free_of(run, relief.candidates) if best.lever.kind == "move" else None
    if free is None:
        return NextStep(said(relief.name, relief.peak_a, best), best.words, best.lever)
    words = said(relief.name, relief.peak_a, free)
    doing = f"{best.words[:1].lower()}{best.words[1:]}"
    return NextStep(f"{words} Or have an electrician {doing}.", free.words, free.lever)


def _shut_off(run: Run) -> NextStep | None:
    """A medical device on a circuit that is set to stay off, though a set could feed it."""
    for gap in run.verdict.gaps:
        circuit = run.site.circuit(gap.circuit_id)
        off = circuit.outage_role == "off" and bool(gap.device)
        if off and generator_can_energise(run.site, circuit.panel_id):
            lever = Lever("on", circuit.id)
            words = lever_words(run.site, lever)
            return NextStep(
                f"{circuit.name} is set to stay off while the generator runs, so {gap.device} has "
                f"no power from it at all, and {wait_words(gap.bears_min)}. {words}.",
                words,
                lever,
            )
    return None


def _then_relieved(run: Run, step: NextStep) -> NextStep:
    """A step on a device, with the limit that is passed besides named after it."""
    if not run.verdict.over:
        return step
    after = f"{step.sentence} After that, bring {run.verdict.over[0].point.name} within its limit."
    return replace(step, sentence=after)


def _fed(run: Run, gap: CircuitService) -> NextStep:
    """A circuit that is dark too long: put it where it is fed, keep it on, have the set ready."""
    shortest: tuple[float, Lever, Run] | None = None
    for lever in feeding(run, gap.circuit_id):
        after = _after(run, lever)
        if after is None:
            continue
        fared = next(s for s in after.service if s.circuit_id == gap.circuit_id)
        better = not fared.gap_exceeded and len(after.verdict.over) <= len(run.verdict.over)
        if better and (shortest is None or fared.longest_gap_min < shortest[0] - 0.05):
            shortest = (fared.longest_gap_min, lever, after)
    circuit = run.site.circuit(gap.circuit_id)
    entered = circuit.own_battery is not None
    told = entered or circuit.allowed_gap_min is not None
    asked = gap.circuit_id if gap.device and not told else ""
    battery = _battery(run.site, gap)
    unused = unused_words(run)
    if shortest is None and unused:
        shortest = _shortened(run, gap)
    if shortest is None:
        made = stop_of_gap(run, gap)
        stop = stop_words(made)
        cause = stop or start_words(run, gap)
        through = " through the stop" if stop else " until then" if cause else ""
        other = other_stop(made) if made else _source(run, gap)
        dark = dark_words(
            gap.longest_gap_min, gap.dark_min, gap.drawn_min, in_use_only=gap.in_use_only
        )
        return NextStep(
            f"{gap.subject} is dark for {dark}"
            f"{gap.while_words}{f'; {cause},' if cause else ''} and no single change to it mends "
            f"that: it needs a {'larger ' if entered else ''}battery of its own{through}, or "
            f"{other}.{battery}",
            where="stops" if stop else "supply" if run.site.generators else "source",
            circuit_id=asked,
        )
    minutes, lever, after = shortest
    command = lever_words(run.site, lever)
    words = f"{unused} {command}".strip()
    was = f"{span_words(gap.longest_gap_min)}{gap.while_words}"
    then = (
        f"then without power for {span_words(minutes)} at a stretch instead of {was}"
        if minutes > 0
        else f"then never without power; now it is for {was}"
    )
    holds = all_holds(after)
    tail = f", and {holds}" if holds else ""
    if next(s for s in after.service if s.circuit_id == gap.circuit_id).gap_exceeded:
        tail = ", still longer than it can wait"
    return NextStep(
        f"{words}: {gap.device or gap.name} is {then}{tail}.{battery}",
        command,
        lever,
        circuit_id=asked,
    )


def _shortened(run: Run, gap: CircuitService) -> tuple[float, Lever, Run] | None:
    """The sets made ready where that halves a gap, though what is left is still too long."""
    lever = Lever("ready", gap.circuit_id)
    after = _after(run, lever)
    if after is None:
        return None
    fared = next(s for s in after.service if s.circuit_id == gap.circuit_id)
    halved = fared.longest_gap_min <= gap.longest_gap_min / 2.0
    return (fared.longest_gap_min, lever, after) if halved else None


def _source(run: Run, gap: CircuitService) -> str:
    """The source that would help: any, one that is there sooner, or one beside that which stops."""
    if not run.site.generators:
        return "a source that carries it while the utility is out, such as a generator"
    dark = next((d for d in must_serve(run).dark if d.circuit_id == gap.circuit_id), None)
    starts = {w.start for w in run.scenario.outages} | {run.scenario.start}
    if dark is None or dark.dark_at in starts:
        return "a source that is there sooner"
    return "a second source for the time in which the first stands still"


def _battery(site: Site, gap: CircuitService) -> str:
    """Where the battery of a medical device is entered, or what of the one entered counts."""
    if not gap.device:
        return ""
    circuit = site.circuit(gap.circuit_id)
    if circuit.allowed_gap_min is not None:
        return f" As entered, it can wait {span_words(circuit.allowed_gap_min)}."
    if circuit.battery_waited_on_min:
        return (
            f" Of its own battery, entered with {span_words(circuit.battery_waited_on_min)}, two "
            f"thirds count, {span_words(circuit.least_gap_min)}, for an old one lasts less."
        )
    return (
        f" If {gap.device} has a battery, enter how long it lasts: circuit {gap.name}, field "
        f"“{BATTERY_FIELD}”."
    )


def _bring(run: Run, need: FuelNeed) -> str:
    return bring_for(run, need)


def _darkens(run: Run, dry: FuelNeed) -> bool:
    """Whether what must be served is dark too long from when this fuel ends."""
    return dry.dry_at is not None and any(
        one.too_long and one.dark_at is not None and one.dark_at >= dry.dry_at - _SECOND
        for one in must_serve(run).dark
    )


def _spared(run: Run, dry: FuelNeed) -> NextStep:
    """A set that runs dry: a circuit to keep off where that is enough, else the fuel to bring.

    What gives more than comfort is never offered: it would only trade one harm for another.
    """
    if late := sooner_words(run, dry):
        return NextStep(late, where="fuel", caution=str(storage_caution(run.site, dry)))
    energy = run.circuit_w.sum(axis=1)
    order = sorted(range(len(run.site.circuits)), key=lambda i: -energy[i])
    able = [run.site.circuits[i] for i in order]
    able = [c for c in able if c.outage_role != "off" and may_go_off(run, c)]
    best: tuple[float, Lever, Run] | None = None
    for circuit in able[:MOST_TRIED]:
        lever = Lever("off", circuit.id)
        after = _after(run, lever)
        if after is None:
            continue
        mine = (f.used_gal for f in after.fuel if f.generator_id == dry.generator_id)
        used = next(mine, 0.0)
        if best is None or used < best[0]:
            best = (used, lever, after)
    caution = str(storage_caution(run.site, dry))
    if best is None or best[0] > dry.there_gal:
        return NextStep(
            f"{_bring(run, dry)} No single circuit kept off closes that gap.",
            where="fuel",
            caution=caution,
        )
    used, lever, after = best
    words = lever_words(run.site, lever)
    sentence = (
        f"{words}: {dry.name} then burns about {used:.1f} gal instead of {dry.used_gal:.1f}, "
        f"enough for the {dry.there_gal:.1f} gal that are there."
    )
    then = next((f for f in after.fuel if f.generator_id == dry.generator_id), None)
    if then is None or short_gal(then) <= 0.0:
        return NextStep(sentence, words, lever)
    return NextStep(
        f"{sentence} Its reserve is touched even so. {_bring(run, then)}",
        words,
        lever,
        caution=caution,
    )


def _pumped(pit: PitOver, stopped: str) -> str:
    keep = f"{stopped}keep" if stopped else "Keep"
    return (
        f"{keep} water off the floor: give {pit.name} power before its pit is full, or a pump "
        "beside it that needs none of the house, on a battery or on water pressure."
    )


def _unharmed(run: Run) -> NextStep:
    """A harm that nothing before explains: a source where none runs, else one circuit fed."""
    carried = any(run.scenario.state_of(g.id) == "ready" for g in run.site.generators)
    mend = harm_mend(run) if carried else None
    if mend is None:
        return _lit(run)
    return NextStep(mend.words, mend.command, mend.lever, where=mend.where)


def _lit(run: Run) -> NextStep:
    still = any(run.scenario.state_of(g.id) != "ready" for g in run.site.generators)
    if still and run.site.circuits:
        lever = Lever("ready", run.site.circuits[0].id)
        after = _after(run, lever)
        if after is not None:
            words = lever_words(run.site, lever)
            answer = judged(after).said(advice_on(after).provided)
            sentence = f"{unused_words(run)} {words}: {answer}".strip()
            return NextStep(sentence, words, lever)
    return NextStep(
        "No source carries the house while the utility is out: add a generator and what changes "
        "over to it.",
        where="source",
    )


def _after(run: Run, lever: Lever) -> Run | None:
    try:
        return simulate(*apply_lever(run.site, run.scenario, lever))
    except InputError:
        return None
