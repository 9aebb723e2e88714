"""What the hours before a run did: their harms at their own hours, and what the run begins with.

A run begins inside an outage, or within a day of one, with what those hours left (``prepared``).
Their harms are read off their own march by the same clock. Told are those of the outage under way;
of one that is over those whose mark stays: food, pipes, water on the floor, a room still past its
limit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from server.domain.behaviour import Zone
from server.domain.lengths import span_words
from server.domain.scenario import Scenario
from server.simulate.harm import Harm, HarmClock
from server.simulate.harm_grade import harms_told
from server.simulate.harm_stores import wells
from server.simulate.harm_told import HarmTold
from server.simulate.harm_warmth import parts_of
from server.simulate.harms import clock_items
from server.simulate.in_use import quiet_spans
from server.simulate.outcome import circuit_service
from server.simulate.pit_over import PitOver, pits_over
from server.simulate.prepared import Prepared
from server.simulate.seen import flows_of, seen_of
from server.simulate.weighed import GRAVE

_LASTING = frozenset({"food", "pipes", "sump"})
_ROOMS = {"room_cold": -1, "pipes": -1, "room_hot": 1}
_LEAST_DARK_MIN = 1.0


@dataclass(frozen=True)
class HoursBefore:
    """Harms of the hours before a run, kept with it.

    ``standing`` are kind and element of those whose mark is there as the run begins, ``left`` says
    those of outages that were over by then. ``dry_from_s`` is from when a well has given no water
    that gives none as the run begins, below 0. [s] ``harmless`` where nothing failed in them.
    """

    harms: tuple[Harm, ...]
    told: tuple[HarmTold, ...]
    pits: tuple[PitOver, ...]
    standing: frozenset[tuple[str, str]]
    left: tuple[str, ...]
    dry_from_s: dict[str, float]
    harmless: bool = False

    def on_clock(self, own: tuple[Harm, ...], scenario: Scenario) -> tuple[Harm, ...]:
        """Items of a run, those that came before it at their hour, the first in front."""
        was = {_key(harm): harm for harm in self.harms}
        found = []
        for harm in own:
            came = was.pop(_key(harm), None)
            stood = harm.at is not None and _stood(scenario, harm.at)
            stands = (harm.kind, harm.element_id) in self.standing
            if came is None or not (stands or (stood and _in_it(scenario, came))):
                found.append(harm)
            elif harm.reached and not stood and not _in_it(scenario, came):
                found += [came, harm]
            else:
                found.append(_joined(harm, came, scenario, stood=stood))
        found += [h for h in was.values() if (h.kind, h.element_id) in self.standing]
        return tuple(sorted(found, key=lambda harm: harm.at or scenario.end))

    def on_told(self, own: tuple[HarmTold, ...], scenario: Scenario) -> tuple[HarmTold, ...]:
        """What is told of a run in the same way; of an outage that was over nothing fails it."""
        best = {(one.kind, one.element_id): one for one in own}
        for came in self.told:
            key = came.kind, came.element_id
            mine, current = best.get(key), under_way(scenario, came.at)
            stood = mine is not None and _stood(scenario, mine.at)
            again = mine is not None and not stood and not current
            if again or (key not in self.standing and not (stood and current)):
                continue
            fails = (came.fails and current) or (mine is not None and mine.fails)
            same = mine if mine is not None and stood and current else came
            best[key] = replace(same, at=came.at, fails=fails, over=not current)
        return tuple(sorted(best.values(), key=lambda one: one.at))

    def with_pits(self, own: tuple[PitOver, ...], scenario: Scenario) -> tuple[PitOver, ...]:
        """Pits that run over in the outages of a run, with what they spilt before it."""
        was = {pit.appliance_id: pit for pit in self.pits if under_way(scenario, pit.at)}
        found = []
        for pit in own:
            came = was.pop(pit.appliance_id, None)
            if came is None:
                found.append(pit)
            else:
                spilt_gal = pit.spilt_gal + came.spilt_gal
                found.append(replace(came, spilt_gal=spilt_gal, before_gal=came.spilt_gal))
        found += [replace(pit, before_gal=pit.spilt_gal) for pit in was.values()]
        return tuple(sorted(found, key=lambda pit: pit.at))


def hours_before(ready: Prepared, *, items: bool = True) -> HoursBefore | None:
    """What came in the hours before a draw that has begun; None where there are none.

    Without ``items`` those of the clock are left out: many draws read only what is told.
    """
    lead, led = ready.lead, ready.led
    if lead is None or led is None:
        return None
    quiet, stretches = quiet_spans(lead.site, lead.scenario), lead.stretches(led)
    seen = seen_of(lead, led, stretches, quiet=quiet, flows=flows_of(lead, led))
    found = tuple(h for h in clock_items(seen) if h.reached) if items else ()
    told = harms_told(seen)
    pits = pits_over(
        lead.site,
        lead.scenario,
        lead.supply.cells,
        ledger=led.ledger,
        level=led.level,
        watch_of=lead.packed.watch_of,
    )
    clock = HarmClock(seen)
    still = {(kind, zone.id) for zone in lead.site.zones for kind in _past(clock, zone)}
    came = {(h.kind, h.element_id) for h in found} | {(t.kind, t.element_id) for t in told}
    standing = frozenset(key for key in came if key[0] in _LASTING or key in still)
    left = sorted(_left(ready.scenario, clock, told, pits), key=lambda one: one[0])
    dry = {
        well.element_id: well.spans[-1][0] - clock.span_s
        for well in wells(clock)
        if well.spans and well.spans[-1][1] >= clock.span_s - 1.0
    }
    fared = circuit_service(lead.site, stretches, unserved=led.unserved, quiet=quiet)
    failed = [*pits, *(t for t in told if t.fails), *(s for s in fared if s.gap_exceeded)]
    words = tuple(words for _, words in left)
    return HoursBefore(found, told, pits, standing, words, dry, harmless=not failed)


def under_way(scenario: Scenario, at: datetime) -> bool:
    """Whether a moment before a run lies in the outage that it begins in."""
    dark_s = scenario.dark_before_s
    return dark_s > 0.0 and at >= scenario.start - timedelta(seconds=dark_s)


def _stood(scenario: Scenario, at: datetime) -> bool:
    """Whether it was so as the run began, whether or not inside an outage."""
    return at <= scenario.start or scenario.stood_before(at)


def _in_it(scenario: Scenario, came: Harm) -> bool:
    return came.at is not None and under_way(scenario, came.at)


def _ends_at_f(clock: HarmClock, zone: Zone, kind: str) -> float:
    """The worst room of a zone at the end of those hours. [F]"""
    sign = _ROOMS[kind]
    return sign * max(sign * float(part.temps[-1]) for part in parts_of(clock, zone))


def _limit_f(zone: Zone, kind: str) -> float:
    return {"room_cold": zone.cold_f, "pipes": zone.pipes_f, "room_hot": zone.hot_f}[kind]


def _past(clock: HarmClock, zone: Zone) -> Iterator[str]:
    for kind, sign in _ROOMS.items():
        if sign * (_ends_at_f(clock, zone, kind) - _limit_f(zone, kind)) > 0.0:
            yield kind


def _left(
    scenario: Scenario, clock: HarmClock, told: tuple[HarmTold, ...], pits: tuple[PitOver, ...]
) -> Iterator[tuple[int, str]]:
    """What outages that were over left, in words, with how grave it is, the gravest 0."""
    over = [one for one in told if not under_way(scenario, one.at)]
    pipes = {one.element_id for one in over if one.kind == "pipes"}
    zones = {zone.id: zone for zone in clock.run.site.zones}
    for one in over:
        rank = GRAVE.index(one.kind)
        if one.kind == "food":
            yield rank, _food_words(clock, one)
        elif one.kind in _ROOMS:
            zone = zones[one.element_id]
            still = one.kind in _past(clock, zone)
            if one.kind == "pipes":
                yield rank, _pipes_words(clock, zone, still=still)
            elif still and not (one.kind == "room_cold" and zone.id in pipes):
                which = "below" if one.kind == "room_cold" else "above"
                now_f = _ends_at_f(clock, zone, one.kind)
                limit_f = _limit_f(zone, one.kind)
                yield rank, f"{zone.name} at {now_f:.1f} °F ({which} its {limit_f:g} °F)"
    for pit in pits:
        if not under_way(scenario, pit.at):
            floor = GRAVE.index("sump")
            yield floor, f"{pit.gallons} gal on the floor from the pit of {pit.name}"


def _pipes_words(clock: HarmClock, zone: Zone, *, still: bool) -> str:
    if still:
        now_f = _ends_at_f(clock, zone, "pipes")
        return f"{zone.name} at {now_f:.1f} °F (its pipes at risk below {zone.pipes_f:g} °F)"
    low_f = min(float(part.temps.min()) for part in parts_of(clock, zone))
    return f"pipes in {zone.name} at risk (it was at {low_f:.1f} °F)"


def _food_words(clock: HarmClock, one: HarmTold) -> str:
    place = next(p for p in clock.places if p.appliance.id == one.element_id)
    dark = clock.run.served.dark_ever(place.circuit)
    dark_min = sum(b - a for a, b in dark) / 60.0
    without = f" ({span_words(dark_min)} without power)" if dark_min >= _LEAST_DARK_MIN else ""
    name = clock.name(place)
    if one.clause.endswith("freezes"):
        return f"what {name} holds frozen"
    if "no longer keeps food safe" not in one.clause:
        return f"{name} too warm for what it holds{without}"
    given = one.clause.partition(" safe")[2].rstrip(",")
    return f"food in {name} unsafe{given}{without}"


def _key(harm: Harm) -> tuple[str, str, str]:
    """One harm of one thing, by whichever of its two ways a box gets too warm."""
    if harm.kind != "food":
        return harm.kind, harm.element_id, harm.what
    which = (word for word in ("freezes", ", half full", ", full") if word in harm.what)
    return harm.kind, harm.element_id, next(which, "warm")


def _joined(own: Harm, came: Harm, scenario: Scenario, *, stood: bool) -> Harm:
    """An item of a run with the hour at which it came before it."""
    same = stood and _in_it(scenario, came)
    made = replace(own, at=came.at, hours=came.hours, why=own.why if same else came.why)
    if own.reached:
        working = replace(own.working, value=came.working.value)
        return replace(made, working=working, given=came.given, what=came.what)
    terms = {term.name: term for term in came.working.terms}
    for term in own.working.terms:
        most = terms.get(term.name)
        if term.name == "warmest" and most is not None and term.value > most.value:
            terms[term.name] = term
    working = replace(came.working, terms=tuple(terms.values()))
    return replace(made, working=working, clause=came.clause, given=came.given, what=came.what)
