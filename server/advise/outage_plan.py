"""What to do before, during and after the outages of a scenario, dated, read off its run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.advise.begin.choices import is_medical
from server.advise.fuel_sooner import bring_for
from server.advise.fuel_words import (
    enough_words,
    hangs_words,
    storage_caution,
    untold_words,
)
from server.advise.plan_ahead import (
    ahead,
    dark_throughout,
    left_by_code,
    named,
    too_much_by_code,
    will_not_work,
)
from server.advise.plan_back import between
from server.advise.plan_cold import boxes, look_words
from server.advise.plan_first import changed_over, sets_left, start_words
from server.advise.plan_fuel import deliveries, ends, runs_at
from server.advise.plan_gas import gas_before, gas_during
from server.advise.plan_harms import (
    after_flood,
    after_frost,
    before_flood,
    before_leaving,
    medical_of,
    on_harms,
    switched_off,
    ways_on,
    with_medical,
)
from server.advise.plan_hours import by_hand, set_hours, timers, told_hours
from server.advise.plan_managers import counted_on
from server.advise.plan_over import before_over, may_wait, over, passed_while_out
from server.advise.plan_pits import backs_up
from server.advise.plan_starts import before_apart, starts_apart
from server.advise.plan_stops import stops
from server.advise.plan_switched import ended
from server.advise.plan_takeover import left_by_hand, unannounced
from server.advise.plan_task import Task, joined
from server.advise.plan_throws import throws
from server.advise.plan_tried import hard_to_start, tried_before
from server.advise.plan_turns import BEGINS_ALONE, in_turns
from server.advise.together import must_not_run_together
from server.domain.behaviour import Backed
from server.domain.catalogue import KINDS
from server.domain.cautions import (
    CO_ALARMS,
    EXHAUST,
    FOOD,
    FUEL,
    MEDICAL,
    OIL,
    RESTORATION,
)
from server.domain.circuit import Circuit
from server.domain.scenario import Window
from server.domain.site import Site
from server.domain.supply import Generator
from server.domain.topology import bus_of_circuit, sources_of
from server.simulate.fuel_untold import untold_fuel
from server.simulate.results import Run
from server.simulate.uncounted import uncounted_words

APART_MIN = 5
"""Between two heavy circuits that come back (common practice, no source: 1 to 5 minutes). [min]"""

HEAVY_W = 1000.0
"""What comes back one at a time (common practice, no source). [W]"""


_NEEDED = ("must_serve", "important", "comfort", "deferrable")
"""Classes of circuits, what is needed most in front."""


@dataclass(frozen=True)
class OutagePlan:
    """The tasks of a scenario in three parts; ``under_way`` where it is out as the run begins."""

    before: tuple[Task, ...]
    during: tuple[Task, ...]
    after: tuple[Task, ...]
    under_way: bool = False


def outage_plan(run: Run) -> OutagePlan | None:
    """The plan of a run from its begin on; None where the utility does not go out in it."""
    now = run.scenario.start
    held = (w for w in run.scenario.outages if w.end > now and w.start < run.scenario.end)
    outages = sorted(held, key=lambda w: w.start)
    if not outages:
        return None
    during = (t for t in _during(run, outages) if t.at is None or t.at >= now)
    return OutagePlan(
        before=tuple(_timed(_before(run, outages[0]), outages[0].start)),
        during=tuple(_timed(during, outages[0].start)),
        after=tuple(_timed(_after(run, outages[-1]), outages[-1].end)),
        under_way=outages[0].start < now,
    )


def _timed(tasks: Iterator[Task], first: datetime) -> list[Task]:
    """By the clock, what goes for the whole part first."""
    return sorted(tasks, key=lambda t: (t.at is not None, t.at or first))


def _used(run: Run) -> tuple[Generator, ...]:
    """The sets that run in this scenario."""
    ran = {s.source_id for s in run.sources if s.kind == "generator" and s.run_h > 0.0}
    return tuple(g for g in run.site.generators if g.id in ran)


def _by_code(run: Run) -> frozenset[str]:
    """Circuits that are left off by the code in an outage, whatever this run has on."""
    return left_by_code(run, {g.id for g in _used(run)})


def _away(run: Run) -> bool:
    """Whether nobody is there, so that all must be done before they leave or once they are back."""
    return run.scenario.people == 0


def _before(run: Run, first: Window) -> Iterator[Task]:
    now, under_way = run.scenario.start, first.start < run.scenario.start
    by = now if _away(run) or under_way else first.start
    yield from (Task(by, words) for words in too_much_by_code(run, {g.id for g in _used(run)}))
    yield from counted_on(run, _used(run), by)
    yield Task(by, "Test the CO alarms and put in fresh batteries.", str(CO_ALARMS))
    for need in run.fuel:
        caution = str(storage_caution(run.site, need))
        short = need.runs_dry or need.eats_reserve
        words = bring_for(run, need) if short else enough_words(need)
        yield Task(by, f"{words} {hangs_words(run.scenario, need)}".rstrip(), caution)
    for bare in untold_fuel(run.site, run.sources):
        yield Task(by, untold_words(bare), str(FUEL))
    yield from gas_before(run, by)
    for generator in _used(run):
        once = "" if under_way else ", and start it once"
        yield Task(by, f"Check the oil of {generator.name}{once}.", str(OIL))
    medical = _medical(run.site)
    if medical:
        yield Task(
            by,
            f"Have at hand what {joined(medical)} can run on alone, for the whole outage: "
            f"{ways_on(_kinds(run.site))}, or another place to go.",
            str(MEDICAL),
        )
    charged = [] if under_way else _charged(run.site)
    if charged:
        yield Task(by, f"Charge in full: {', '.join(charged)}.")
    yield from _uncounted(run, by, charge=not under_way)
    running = {g.name for g in _used(run) if under_way and runs_at(run, g, by)}
    yield from tried_before(run, by, running)
    yield from before_flood(run, by)
    if not _away(run):
        yield from (t for t in on_harms(run) if t.at is not None and t.at < first.start)
    if _away(run):
        yield from before_leaving(run, by)
    elif not under_way:
        told = {e.appliance_id for e in told_hours(run, _by_code(run))}
        yield from (Task(by, text) for text in ahead(run, told))
        yield from timers(run, by)
        yield from before_over(run, first)
        yield from before_apart(run, by)
        yield from unannounced(run, _used(run), _off(run))
    yield from (task for at, task in _throws(run) if now <= at < first.start)
    off = _off(run)
    if off:
        devices = any(medical_of(c) for c in off)
        yield Task(by, switched_off(off), str(MEDICAL) if devices else "")
    yield from left_by_hand(run, _used(run), by)


def _uncounted(run: Run, by: datetime, *, charge: bool) -> Iterator[Task]:
    """What is done with house batteries, of which neither the run nor this plan counts anything."""
    names = [b.name for b in run.site.batteries]
    if names:
        before = f"Charge {joined(names)} in full before. " if charge else ""
        yield Task(by, f"{before}{uncounted_words(run.site)}")


def _off(run: Run) -> list[Circuit]:
    """Circuits that are switched off before a set starts, until the end."""
    if not _used(run):
        return []
    kept = {k.circuit_id for k in run.scenario.kept_off}
    return [c for c in run.site.circuits if c.outage_role == "off" or c.id in kept]


def _charged(site: Site) -> list[str]:
    """What has a battery of its own."""
    own = [a.name for c in site.circuits for a in c.appliances if isinstance(a.behaviour, Backed)]
    return own + [
        joined(medical_of(c)) or f"what has a battery on {c.name}"
        for c in site.circuits
        if c.own_battery_min is not None and not _alarms_alone(c)
    ]


def _alarms_alone(circuit: Circuit) -> bool:
    """Whether its batteries are those of alarms, which are put in fresh: lights have none."""
    kinds = {a.kind for a in circuit.appliances}
    return "smoke-alarms" in kinds and kinds <= {"smoke-alarms", "lighting"}


def _during(run: Run, outages: list[Window]) -> Iterator[Task]:
    shut = boxes(run.site)
    if shut and not _away(run):
        yield Task(None, f"Keep shut but for the moment of taking out: {', '.join(shut)}.")
    dark = "" if _away(run) else will_not_work(run)
    if dark:
        yield Task(None, dark)
        off = {c.id for c in _off(run)}
        yield from backs_up(c for c in dark_throughout(run) if c.id not in off)
    if not _away(run):
        yield from over(run)
        yield from _together(run)
        yield from starts_apart(run)
        yield from changed_over(run, outages)
    used = _used(run)
    yield from (Task(outages[0].start, words) for words in sets_left(run, used))
    for window in outages:
        for generator in used:
            words = start_words(run, generator, window, away=_away(run))
            if words:
                yield Task(window.start, words, str(EXHAUST))
    yield from between(run, used, outages)
    yield from stops(run, used, outages, away=_away(run))
    yield from by_hand(run, outages)
    if not _away(run):
        yield from set_hours(run, _by_code(run))
    first, last = outages[0].start, max(w.end for w in outages)
    yield from (task for at, task in _throws(run) if first <= at <= last)
    yield from deliveries(run, used)
    yield from ends(run, used)
    if not _away(run):
        yield from gas_during(run)
        yield from (t for t in on_harms(run) if t.at is not None and first <= t.at <= last)


def _throws(run: Run) -> Iterator[tuple[datetime, Task]]:
    """Every move of a double-throw by hand."""
    return throws(run, {c.id for c in _off(run)})


def _together(run: Run) -> Iterator[Task]:
    """What never runs at once, which of it stays on, and that what else runs is not in it."""
    doubtful = {i for motors in hard_to_start(run).values() for i in motors}
    needed = {c.id: c.name for c in run.site.circuits if not may_wait(run, c, ())}
    must = {i: name for i, name in needed.items() if i not in doubtful}
    for one in must_not_run_together(run):
        for clash in one.clashes:
            stays = [must[i] for i in clash.circuit_ids if i in must]
            stay = "stays" if len(stays) == 1 else "stay"
            keep = f"; {joined(stays)} {stay} on" if stays else ""
            yield Task(None, f"Never all at once on {one.name}: {clash.sentence}{keep}.")
        heavy = _heavy(run, set_name=one.name) if one.clashes else []
        stays = [name for name in heavy if name in must.values()]
        turns = [name for name in heavy if name not in needed.values()]
        if len(turns) > 1:
            alone = _begin_alone(run)
            passed = passed_while_out(run)
            yield Task(None, in_turns(one.name, stays, turns, alone, passed=passed))


def _begin_alone(run: Run) -> frozenset[str]:
    """Names of the circuits with something heavy on them that begins without a person.

    A car whose hours the scenario sets is plugged in, or its timer set, for them.
    """
    told = {e.appliance_id for e in run.scenario.events}
    return frozenset(
        c.name
        for c in run.site.circuits
        for a in c.appliances
        if a.behaviour.model in BEGINS_ALONE and a.load_w >= HEAVY_W / 2.0 and a.id not in told
    )


def _medical(site: Site) -> list[str]:
    """Medical devices of circuits that must be served."""
    return [
        a.name
        for c in site.circuits
        if c.load_class == "must_serve"
        for a in c.appliances
        if (kind := KINDS.get(a.kind)) is not None and is_medical(kind)
    ]


def _kinds(site: Site) -> set[str]:
    return {a.kind for c in site.circuits if c.load_class == "must_serve" for a in c.appliances}


def _after(run: Run, last: Window) -> Iterator[Task]:
    heavy = [] if _away(run) else _heavy(run)
    off = [] if _away(run) else _off(run)
    if not _away(run):
        on = [name for name in heavy if name not in {c.name for c in off}]
        words = (
            f"Before the power is due, switch off: {named(on)}."
            if on
            else "Leave one lamp on to see the power return."
        )
        if off:
            words += " What was switched off before stays off until then."
        yield Task(last.end, words, str(RESTORATION))
    for generator in _used(run):
        runs = runs_at(run, generator, last.end)
        yield from (Task(last.end, words) for words in ended(run, generator, runs=runs))
    yield from after_flood(run, last.end)
    yield from after_frost(run, last.end)
    back = _back(run, heavy, off)
    if back:
        yield Task(last.end, f"Then switch on, one every {APART_MIN} min or more: {named(back)}.")
    look = look_words(run.site)
    if look:
        yield Task(last.end, look, str(FOOD))
    if not _away(run):
        yield from (t for t in on_harms(run) if t.at is not None and t.at > last.end)
    end = max(w.end for w in run.scenario.outages)
    yield from (task for at, task in _throws(run) if at > end)
    if any(need.used_gal > 0.0 for need in run.fuel):
        yield Task(last.end, "Fill up the fuel that was burnt, and write down the hours it ran.")


def _back(run: Run, heavy: list[str], off: list[Circuit]) -> list[str]:
    """What was off in the order it is put on: medical devices, then what is needed most.

    Of those needed alike what is heavy goes first.
    """
    class_of = {c.name: _NEEDED.index(c.load_class) for c in run.site.circuits}
    first = [with_medical(c) for c in off if medical_of(c)]
    names = [c.name for c in off if medical_of(c)]
    light = [c.name for c in off if c.name not in heavy]
    rest = [name for name in (*heavy, *light) if name not in names]
    return first + sorted(rest, key=lambda name: class_of[name])


def _heavy(run: Run, *, set_name: str | None = None) -> list[str]:
    """The circuits that ask for most in this run, most first; all, or those that a set carries.

    A car that is plugged in asks as soon as there is power, whenever this run plugs it in.
    """
    asks = [
        (most_w if set_name is not None else max(most_w, _car_w(c)), c.name)
        for w, c in zip(run.wanted_w, run.site.circuits, strict=True)
        if set_name is None or _on_from(run, c, set_name)
        for most_w in (float(w.max(initial=0.0)),)
    ]
    return [name for most_w, name in sorted(asks, key=lambda p: -p[0]) if most_w >= HEAVY_W]


def _on_from(run: Run, circuit: Circuit, set_name: str) -> bool:
    """Whether a circuit is on in an outage, at some hours of this run at least, and a set feeds it.

    What is put on by hand at no hour has no power throughout, and is told as such.
    """
    ids = {g.id for g in run.site.generators if g.name == set_name}
    on = circuit.outage_role in ("on", "by_hand")
    fed = bus_of_circuit(run.site)[circuit.id].kind != "normal"
    mine = on and fed and bool(ids & sources_of(run.site, circuit))
    return mine and circuit not in dark_throughout(run)


def _car_w(circuit: Circuit) -> float:
    """What the car chargers of a circuit take. [W]"""
    return sum(a.load_w for a in circuit.appliances if a.behaviour.model == "charger")
