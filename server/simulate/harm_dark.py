"""Harms that hours without power bring: food, water, the pit, the internet, medical devices."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from server.domain.behaviour import ColdBox, Cycle, SumpPump, WellPump
from server.domain.catalogue import pumps_waste
from server.domain.circuit import BATTERY_MARGIN, DEFAULT_ALLOWED_GAP_MIN, OwnBattery
from server.domain.lengths import span_words
from server.domain.working import Term
from server.simulate.harm import Harm, HarmClock, Place
from server.simulate.harm_stores import wells
from server.simulate.harm_words import food_clause, medical_clause, pit_clause, water_clause
from server.simulate.in_use import let_out, pressed, quiet_of, rests_in, wanted_gaps
from server.simulate.pit_water import without_water
from server.simulate.served import Span, past

REFRIGERATOR_H, FREEZER_HALF_H, FREEZER_FULL_H = 4.0, 24.0, 48.0
"""USDA FSIS and FoodSafety.gov: a closed refrigerator keeps food about 4 h, a full freezer about
48 h, a half-full one about 24 h. [h]"""

_FOOD = (
    "USDA FSIS and FoodSafety.gov on power outages: doors closed, a refrigerator about 4 h, a full "
    "freezer about 48 h, a half-full one 24 h. What running gives back: heat balance of a box that "
    "cycles, no source."
)
_LIMITS = {
    "refrigerator": (("", REFRIGERATOR_H),),
    "freezer": ((", half full", FREEZER_HALF_H), (", full", FREEZER_FULL_H)),
}


def food(clock: HarmClock) -> Iterator[Harm]:
    """Each refrigerator and freezer that only cycles, by its hours without power."""
    for kind in ("refrigerator", "freezer"):
        for place in clock.of(kind):
            if isinstance(place.appliance.behaviour, ColdBox):
                continue
            for words, limit_h in _LIMITS[kind]:
                yield _food(clock, place, words, limit_h)


def _food(clock: HarmClock, place: Place, words: str, limit_h: float) -> Harm:
    cycle = place.appliance.behaviour
    regain = cycle.off_min / cycle.on_min if isinstance(cycle, Cycle) else 1.0
    dark = clock.run.served.dark_ever(place.circuit)
    at_s, most_h = past(dark, limit_h=limit_h, regain=regain, end_s=clock.span_s)
    return clock.harm(
        "food",
        place.appliance.id,
        f"{clock.name(place)}{words}: food unsafe",
        at_s,
        formula=(
            "hours without power − hours with power × what an hour gives back, never below 0, "
            "past the hours it keeps"
        ),
        terms=(
            Term("hours it keeps", limit_h, "h", "USDA FSIS"),
            Term("an hour with power gives back", regain, "h", "off ÷ on time of its cycle"),
            Term("most hours counted", most_h, "h", "this run"),
        ),
        source=_FOOD,
        why="" if at_s is None else clock.dead_in_all(place.circuit, at_s, regain),
        nearest=f"{most_h:.1f} of {limit_h:g} h without power",
        clause=food_clause(clock.name(place)),
        given="half full" if limit_h == FREEZER_HALF_H else "",
    )


def water(clock: HarmClock) -> Iterator[Harm]:
    """Each well pump that only cycles: no water from when it must start and cannot."""
    for place in clock.of("water"):
        if isinstance(place.appliance.behaviour, WellPump):
            continue
        yield _calls_in_vain(
            clock,
            place,
            "water",
            f"No water from {clock.name(place)}",
            source=(
                "The pressure tank gives until the pump is called, about every "
                "off time of its cycle; after that nothing. Common practice, no source."
            ),
        )


def pits(clock: HarmClock) -> Iterator[Harm]:
    """Each pump that only cycles: its pit fills from when it must start and cannot.

    What a house drains needs water to drain: it is not called while every well is dry.
    """
    given = tuple(harm.spans for harm in (*wells(clock), *water(clock)))
    dry = without_water(given, steps=clock.run.steps, step_s=float(clock.run.scenario.step_s))
    for place in clock.of("sump"):
        if isinstance(place.appliance.behaviour, SumpPump):
            continue
        waste = pumps_waste(place.appliance)
        yield _calls_in_vain(
            clock,
            place,
            "sump",
            f"{clock.name(place)}: pit at its float and rising",
            never=dry if waste else None,
            source=(
                "The pit reaches the float when its pump is called. What is left above the float "
                "is not known of this pump. Common practice, no source."
            ),
        )


def _calls_in_vain(
    clock: HarmClock,
    place: Place,
    kind: str,
    what: str,
    *,
    source: str,
    never: NDArray[np.bool_] | None = None,
) -> Harm:
    """The first call without power; steps in ``never`` have none."""
    asked = clock.run.flows.asked_by(place.appliance.id) > 0.0
    if never is not None:
        asked = asked & ~never
    served = clock.run.served
    step_s = float(clock.run.scenario.step_s)
    spans = []
    for begin, end in served.dark_in_run(place.circuit):
        first, last = int(begin // step_s), int(np.ceil(end / step_s))
        called = np.flatnonzero(asked[first:last])
        if called.size:
            spans.append((max(begin, (first + int(called[0])) * step_s), end))
    at_s = spans[0][0] if spans else None
    clause = water_clause if kind == "water" else pit_clause
    return clock.harm(
        "water" if kind == "water" else "sump",
        place.appliance.id,
        what,
        at_s,
        formula="first minute without power in which the pump is called − start of the outage",
        terms=_starts(place),
        source=source,
        why="" if at_s is None else clock.dead_words(place.circuit, at_s),
        nearest="the pump is never called without power",
        clause=clause(clock.name(place)),
        spans=tuple(spans),
    )


def _starts(place: Place) -> tuple[Term, ...]:
    cycle = place.appliance.behaviour
    if not isinstance(cycle, Cycle):
        return ()
    a_day = 1440.0 / (cycle.on_min + cycle.off_min)
    return (Term("starts a day", a_day, "", "on and off time of its cycle"),)


def internet(clock: HarmClock) -> Iterator[Harm]:
    """Modem and router: out once their own battery is, short gaps not counted."""
    for place in clock.of("internet"):
        own_min = clock.run.site.circuits[place.circuit].own_battery_min or 0.0
        yield _gap(
            clock,
            place,
            "internet",
            f"{clock.name(place)} out",
            bears_min=max(own_min, DEFAULT_ALLOWED_GAP_MIN),
            from_min=own_min,
            term=Term("own battery", own_min, "min", "the circuit"),
            source=(
                f"Out from the end of its own battery; gaps of {DEFAULT_ALLOWED_GAP_MIN:g} min or "
                "less are not counted: common practice, no source."
            ),
        )


def medical(clock: HarmClock) -> Iterator[Harm]:
    """Each medical device whose circuit is without power for longer than it may be.

    Its own hours of use count, whatever else is on its circuit.
    """
    for place in clock.of("medical"):
        circuit = clock.run.site.circuits[place.circuit]
        allowed, own = circuit.least_gap_min, circuit.own_battery
        if own is not None and circuit.allowed_gap_min is None:
            yield _battery_down(clock, place, own)
            continue
        yield _gap(
            clock,
            place,
            "medical",
            f"{clock.name(place)} without power too long",
            bears_min=allowed,
            from_min=allowed,
            term=Term("gap it can wait", allowed, "min", "the circuit"),
            source=(
                f"The allowed gap as set, else {DEFAULT_ALLOWED_GAP_MIN:g} min, over hours in "
                "which it is in use: common practice, no source."
            ),
        )


def _battery_down(clock: HarmClock, place: Place, own: OwnBattery) -> Harm:
    """When all gaps together took more out of an own battery than an old one surely has.

    Hours without power in which it is not in use take nothing out.
    """
    dark = clock.run.served.dark(place.circuit)
    rests = rests_in(dark, quiet_of((place.appliance,), clock.run.scenario) or ())
    at_s, most_h = past(
        pressed(dark, rests),
        limit_h=own.lasts_min / BATTERY_MARGIN / 60.0 + 1e-9,
        regain=own.lasts_min / own.fills_min,
        end_s=clock.span_s,
    )
    at_s = None if at_s is None else let_out(at_s, rests)
    return clock.harm(
        "medical",
        place.appliance.id,
        f"{clock.name(place)} without power too long",
        at_s,
        formula=(
            "hours of use without power − hours with power × battery ÷ hours to fill it, never "
            "below 0, past its battery ÷ 1.5"
        ),
        terms=(
            Term("its battery lasts", own.lasts_min / 60.0, "h", "the circuit"),
            Term("filled in", own.fills_min / 60.0, "h", "the circuit, else 4 h"),
            Term("most taken out", most_h, "h", "this run"),
        ),
        source="Balance of one store of charge; the 1.5 and the 4 h: common practice, no source.",
        why="" if at_s is None else clock.dead_words(place.circuit, at_s),
        nearest=(
            f"its battery down by {span_words(most_h * 60.0)}" if most_h else "never without power"
        ),
        clause=medical_clause(clock.name(place)),
    )


def _gap(
    clock: HarmClock,
    place: Place,
    kind: str,
    what: str,
    *,
    bears_min: float,
    from_min: float,
    term: Term,
    source: str,
) -> Harm:
    """The first gap longer than ``bears_min``; the harm begins ``from_min`` into it.

    Of a medical device only hours in which it is in use count.
    """
    device = (place.appliance,) if kind == "medical" else ()
    quiet = quiet_of(device, clock.run.scenario) or ()
    at_s, longest_s = None, 0.0
    spans: list[Span] = []
    for gap in wanted_gaps(clock.run.served.dark(place.circuit), quiet):
        longest_s = max(longest_s, gap.wanted_s)
        if gap.wanted_s > bears_min * 60.0 + 1e-6:
            begin_s = gap.after(from_min * 60.0, quiet)
            at_s = begin_s if at_s is None else at_s
            spans.append((begin_s, gap.end_s))
    return clock.harm(
        "medical" if kind == "medical" else "internet",
        place.appliance.id,
        what,
        at_s,
        formula="start of the first gap that is too long + what it bears − start of the outage",
        terms=(term, Term("longest gap", longest_s / 60.0, "min", "this run")),
        source=source,
        why="" if at_s is None else clock.dead_words(place.circuit, at_s),
        nearest=(
            f"longest gap {span_words(longest_s / 60.0)}" if longest_s else "never without power"
        ),
        clause=medical_clause(clock.name(place)) if device else "",
        spans=tuple(spans),
    )
