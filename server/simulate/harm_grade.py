"""Which harms of a run say that it does not hold, and which only what its holding costs.

What hurts somebody or the house fails a run: a medical device dark too long, pipes at risk, a room
past its limit, food that is no longer safe, no water. The user has a say where only comfort hangs
on it: a circuit classed comfort or deferrable, or kept off, was given up by choice, so its harm is
told and fails nothing; pipes are never given up. Nor fails what no circuit of the house can mend, a
room that nothing heats or cools or that was past its limit before. Common practice, no source.

Nor fails what comes after an outage and its recovery with nothing left dead: an hour as any other
of a house with power, which no run without an outage judges. It is told.

A pit that runs over is judged by its spill (``pit_over``), fuel by its end (``fuel``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import datetime

from server.domain.behaviour import ColdBox, RoomUnit, WellPump
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.lengths import span_words
from server.domain.site import Site
from server.domain.stores import UNSAFE_FOOD_F
from server.simulate.given_up import given_up
from server.simulate.harm import Harm, HarmClock, Seen
from server.simulate.harm_dark import food, medical, pits, water
from server.simulate.harm_frozen import frozen
from server.simulate.harm_set import oil
from server.simulate.harm_stores import batteries, boxes, wells
from server.simulate.harm_told import HarmTold
from server.simulate.harm_warmth import rooms, so_before
from server.simulate.harm_words import (
    food_clause,
    medical_clause,
    oil_clause,
    room_clause,
    water_clause,
)
from server.simulate.results import Run

WATER_WAIT_MIN = 60.0
"""No water for so long fails where nothing says what the pump can wait. Common practice, no source.
[min]"""

_PARTS: tuple[Callable[[HarmClock], Iterator[Harm]], ...] = (
    batteries,
    medical,
    rooms,
    boxes,
    frozen,
    food,
    wells,
    water,
    pits,
    oil,
)


def harms_told(seen: Run | Seen) -> tuple[HarmTold, ...]:
    """Harms that come, each kind once for each element, the first in front.

    None without an outage. Of several of a kind the one that fails is taken.
    """
    own = _own_told(seen)
    return own if seen.before is None else seen.before.on_told(own, seen.scenario)


def _own_told(seen: Run | Seen) -> tuple[HarmTold, ...]:
    if not any(end > 0.0 for _, end in seen.served.outages):
        return ()
    clock = HarmClock(seen)
    best: dict[tuple[str, str], HarmTold] = {}
    for part in _PARTS:
        for harm in part(clock):
            one = _told(clock, harm)
            if one is None:
                continue
            kept = best.setdefault((one.kind, one.element_id), one)
            if (not one.fails, one.at) < (not kept.fails, kept.at):
                best[one.kind, one.element_id] = one
    return tuple(sorted(best.values(), key=lambda one: one.at))


def harm_keys(site: Site) -> tuple[tuple[str, str], ...]:
    """Kind and element of every harm that may fail a run of a site, in a fixed order."""
    keys = [(kind, zone.id) for zone in site.zones for kind in ("room_cold", "pipes", "room_hot")]
    for circuit in site.circuits:
        for one in circuit.appliances:
            harm = None if (kind := KINDS.get(one.kind)) is None else kind.harm
            if isinstance(one.behaviour, ColdBox) or harm in ("refrigerator", "freezer"):
                keys.append(("food", one.id))
            if isinstance(one.behaviour, WellPump) or harm == "water":
                keys.append(("water", one.id))
            if harm == "medical":
                keys.append(("medical", one.id))
    return tuple(keys)


def harm_clause(site: Site, kind: str, element_id: str) -> str:
    """A harm of these keys inside a sentence, whichever draw it comes in."""
    zone = next((z for z in site.zones if z.id == element_id), None)
    if zone is not None:
        return room_clause(zone, kind)
    one = next(a for c in site.circuits for a in c.appliances if a.id == element_id)
    if kind == "food":
        box = one.behaviour
        safe = not isinstance(box, ColdBox) or box.too_warm_f == UNSAFE_FOOD_F
        return food_clause(one.name, safe=safe)
    return water_clause(one.name) if kind == "water" else medical_clause(one.name)


def _told(clock: HarmClock, harm: Harm) -> HarmTold | None:
    if harm.at is None or harm.kind == "internet":
        return None
    if harm.kind == "oil":
        return _oil(clock, harm)
    if harm.kind in ("room_cold", "room_hot", "pipes"):
        return _room(clock, harm)
    place = next(p for p in clock.places if p.appliance.id == harm.element_id)
    circuit = clock.run.site.circuits[place.circuit]
    if harm.kind == "water":
        return _water(clock, harm, circuit)
    unsure = harm.given or harm.kind == "sump" or not harm.by_power
    apart = not _of_outage(clock, harm.at, {place.circuit})
    fails = harm.kind == "medical" or not (unsure or apart or given_up(circuit, clock.run.scenario))
    return _made(harm, fails=fails, circuit=circuit)


def _oil(clock: HarmClock, harm: Harm) -> HarmTold | None:
    """Oil due with nobody there to look: told, for a set that stops on low oil leaves the house."""
    if clock.run.scenario.people != 0:
        return None
    name = next(g.name for g in clock.run.site.generators if g.id == harm.element_id)
    return _made(replace(harm, clause=oil_clause(name)), fails=False)


def _room(clock: HarmClock, harm: Harm) -> HarmTold | None:
    """A room past its limit: of nobody's concern with nobody there, but for its pipes."""
    run = clock.run
    if harm.kind != "pipes" and run.scenario.people == 0:
        return None
    mode = "cool" if harm.kind == "room_hot" else "heat"
    circuits = {
        place.circuit
        for place in clock.places
        if isinstance(place.appliance.behaviour, RoomUnit)
        and place.appliance.behaviour.zone_id == harm.element_id
        and place.appliance.behaviour.mode == mode
    }
    wanted = harm.kind == "pipes" or not all(
        given_up(run.site.circuits[c], run.scenario) for c in circuits
    )
    zone = next(z for z in run.site.zones if z.id == harm.element_id)
    limits = {"room_cold": zone.cold_f, "pipes": zone.pipes_f, "room_hot": zone.hot_f}
    before = harm.at is not None and so_before(
        clock,
        zone,
        mode,
        limits[harm.kind],
        (harm.at - run.scenario.start).total_seconds(),
    )
    wanted = wanted and harm.at is not None and _of_outage(clock, harm.at, circuits)
    return _made(harm, fails=bool(circuits) and wanted and not before)


def _of_outage(clock: HarmClock, at: datetime, circuits: Iterable[int]) -> bool:
    at_s = (at - clock.run.scenario.start).total_seconds()
    return clock.of_outage(at_s, circuits)


def _water(clock: HarmClock, harm: Harm, circuit: Circuit) -> HarmTold | None:
    """No water, by its longest stretch; none where that is within what the pump can wait."""
    longest_min = max(end - begin for begin, end in harm.spans) / 60.0
    bears_min = WATER_WAIT_MIN if circuit.gap_min is None else circuit.gap_min
    if longest_min <= bears_min and circuit.gap_min is not None:
        return None
    past = longest_min > bears_min
    begin_s = next(b for b, e in harm.spans if not past or (e - b) / 60.0 > bears_min)
    return HarmTold(
        kind=harm.kind,
        element_id=harm.element_id,
        circuit_id=circuit.id,
        at=clock.time(begin_s),
        clause=f"{harm.clause} for up to {span_words(longest_min)}",
        why=clock.dead_words(_row(clock, circuit), begin_s),
        fails=past
        and clock.of_outage(begin_s, (_row(clock, circuit),))
        and not given_up(circuit, clock.run.scenario),
        longest_min=longest_min,
    )


def _row(clock: HarmClock, circuit: Circuit) -> int:
    return clock.run.site.circuits.index(circuit)


def _made(harm: Harm, *, fails: bool, circuit: Circuit | None = None) -> HarmTold:
    assert harm.at is not None  # noqa: S101 - only what is reached is told
    return HarmTold(
        kind=harm.kind,
        element_id=harm.element_id,
        circuit_id=circuit.id if circuit else "",
        at=harm.at,
        clause=f"{harm.clause}{f', if {harm.given},' if harm.given else ''}",
        why=harm.why.partition("; ")[0],
        fails=fails,
    )
