"""Harms that a store brings: food too warm, no water, a pit run over, a battery empty."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from server.domain.behaviour import Backed, ColdBox, SumpPump, WellPump
from server.domain.catalogue import away_share
from server.domain.lengths import span_words
from server.domain.stores import FREEZES_FOOD_F, UNSAFE_FOOD_F
from server.domain.working import Term
from server.simulate.harm import Harm, HarmClock, Place
from server.simulate.harm_warmth import crossing
from server.simulate.harm_words import food_clause, medical_clause, water_clause
from server.simulate.pit_over import full_share
from server.simulate.pit_water import inflow_gpm
from server.simulate.served import Span, past
from server.simulate.verdict import moment
from server.simulate.weather import warmest_f

_EMPTY = 0.01

_LEAST_EMPTY_S = 1.0
"""What is empty for less as its power returns had none to miss; our own figure. [s]"""

NO_ICE = "no ice is left in it"
"""What must be so for frozen food to be lost by its hours alone; FoodSafety.gov keeps what still
has ice crystals or is at 40 °F or below. From memory."""


def boxes(clock: HarmClock) -> Iterator[Harm]:
    """Each box kept cold whose food, or what else it holds, gets too warm.

    Hours without power are counted for the room its figures are for, however cold the house is;
    outdoors, for the warmest air of the run, and not where that is too cold to spoil anything.
    What is frozen goes by its temperature: the public guidance keeps what still has ice or is at
    40 °F or below, so past its hours alone it is unsafe only if that ice is gone.
    """
    for place in clock.places:
        box = place.appliance.behaviour
        if not isinstance(box, ColdBox) or box.kept_f + box.deadband_f / 2.0 >= box.too_warm_f:
            continue
        levels = clock.levels[place.appliance.id]
        limit_f = box.too_warm_f
        warm_s, most, most_s = crossing(clock, levels, limit_f, 1)
        outdoors = box.stands == "outdoors"
        air_f = warmest_f(clock.run.scenario.weather) if outdoors else box.room_f
        keeps_h = math.inf
        if air_f > limit_f:
            keeps_h = box.time_constant_h * math.log((air_f - box.kept_f) / (air_f - limit_f))
        duty = min(1.0, box.duty(place.appliance.load_w))
        regain = (1.0 - duty) / duty
        dark = clock.run.served.dark_ever(place.circuit)
        closed_s, most_h = past(dark, limit_h=keeps_h, regain=regain, end_s=clock.span_s)
        at_s = min((s for s in (warm_s, closed_s) if s is not None), default=None)
        frozen = box.kept_f < FREEZES_FOOD_F and limit_f == UNSAFE_FOOD_F
        if frozen and warm_s is not None:
            at_s = warm_s
        by_rule = closed_s is not None and at_s == closed_s and at_s != warm_s
        held = "food unsafe" if not (frozen and by_rule) else f"food unsafe, if {NO_ICE}"
        if limit_f != UNSAFE_FOOD_F:
            held = "past its hours without power" if by_rule else f"above {limit_f:g} °F"
        why = _why(clock, place, at_s, "its compressor cannot keep up")
        if by_rule and at_s is not None:
            why = clock.dead_in_all(place.circuit, at_s, regain) or why
            why += (
                f"; by the rule for a shut box, {keeps_h:.0f} h without power in a room of "
                f"{air_f:.0f} °F. This run has it at {most:.1f} °F at the warmest; to go by that "
                "takes a thermometer in it"
            )
            why += ", or ice left in what it holds" if frozen else ""
        kept = "" if math.isinf(keeps_h) else f"{most_h:.1f} of {keeps_h:.3g} h without power"
        kept += f", counted for a room of {air_f:.0f} °F; " if kept else ""
        yield clock.harm(
            "food",
            place.appliance.id,
            f"{clock.name(place)}: {held}",
            at_s,
            formula=(
                f"the earlier of: it passes {limit_f:g} °F, C dT/dt = UA (air around − T) + doors "
                "− COP × W; hours without power, less what running gave back, pass "
                f"τ ln((room − kept) ÷ (room − {limit_f:g}))"
            ),
            terms=(
                Term("kept at", box.kept_f, "°F", "the appliance"),
                Term("time constant C ÷ UA", box.time_constant_h, "h", "the appliance"),
                Term("room", air_f, "°F", "warmest outdoors" if outdoors else "the appliance"),
                *[Term("a closed box keeps", keeps_h, "h", "the formula")][: int(bool(kept))],
                Term("most hours counted", most_h, "h", "this run"),
                Term("warmest", most, "°F", "this run"),
            ),
            source=(
                "Heat balance of one store. The usual time constants reach 40 °F after the 4 h of "
                "a closed refrigerator, 24 h of a half-full and 48 h of a full freezer: USDA FSIS "
                "and FoodSafety.gov."
            ),
            why=why,
            nearest=(f"{kept}warmest {most:.1f} °F {moment(clock.time(most_s))}"),
            clause=food_clause(clock.name(place), safe=limit_f == UNSAFE_FOOD_F),
            given=NO_ICE if frozen and by_rule else "",
        )


def wells(clock: HarmClock) -> Iterator[Harm]:
    """Each pressure tank that is empty while its pump is dead.

    One that was so before a run begins inside an outage is counted from then.
    """
    for place in clock.places:
        well = place.appliance.behaviour
        if not isinstance(well, WellPump):
            continue
        spans, least = _emptied(clock, place)
        at_s = spans[0][0] if spans else None
        if at_s is not None and at_s <= clock.run.scenario.step_s:
            before = clock.run.before
            since_s = {} if before is None else before.dry_from_s
            spans = ((since_s.get(place.appliance.id, at_s), spans[0][1]), *spans[1:])
        yield clock.harm(
            "water",
            place.appliance.id,
            f"No water from {clock.name(place)}",
            at_s,
            formula="time the draws have used what the pressure tank held when the pump went dead",
            terms=(
                Term("drawdown of the tank", well.drawdown_gal, "gal", "Boyle’s law"),
                Term("left at the least, pump dead", least, "gal", "this run"),
            ),
            source=(
                "V (p_f + 14.7) (1/(p_in + 14.7) − 1/(p_out + 14.7)), p_f 2 psi under the cut-in; "
                "below the cut-in nothing is counted."
            ),
            why=_why(clock, place, at_s, ""),
            nearest=f"{_gallons(least)} gal left in the pressure tank",
            clause=water_clause(clock.name(place)),
            spans=spans,
        )


def overflows(clock: HarmClock) -> Iterator[Harm]:
    """Each pit that runs over."""
    for place in clock.places:
        pit = place.appliance.behaviour
        if not isinstance(pit, SumpPump):
            continue
        brim = pit.cycle_gal + pit.reserve_gal
        levels, step_s = clock.levels[place.appliance.id], float(clock.run.scenario.step_s)
        at_s, most, _ = crossing(clock, levels, brim - _EMPTY, 1)
        if at_s is not None and (k := math.ceil(at_s / step_s - 1e-9) - 1) > 0:
            share = full_share(levels, np.full(len(levels), step_s), k, brim - _EMPTY)
            at_s = max(clock.first_s, (k + share) * step_s)
        inflow = inflow_gpm(place.appliance, pit, clock.run.scenario)
        terms = [
            Term("float to brim", pit.reserve_gal, "gal", "the pit"),
            Term("inflow", inflow, "gal/min", "the scenario or the pit"),
            Term("highest", most, "gal", "this run"),
        ]
        last = "it does not fill"
        if inflow > 0.0:
            dry_min = pit.reserve_gal / inflow
            terms.append(Term("from its float, dead", dry_min, "min", "reserve ÷ inflow"))
            last = f"from its float it would take {span_words(dry_min)} dead"
        yield clock.harm(
            "sump",
            place.appliance.id,
            f"{clock.name(place)}: pit runs over",
            at_s,
            formula="time the inflow has filled the pit to its brim",
            terms=tuple(terms),
            source="Volume balance of the pit.",
            why=_why(clock, place, at_s, "more comes in than the pump moves"),
            nearest=f"highest {most:.0f} of {brim:g} gal; {last}",
        )


def batteries(clock: HarmClock) -> Iterator[Harm]:
    """Each device whose own battery is empty while it is dead, and somebody is there to need it."""
    for place in clock.places:
        device = place.appliance.behaviour
        if not isinstance(device, Backed):
            continue
        if clock.run.scenario.people == 0 and away_share(place.appliance) == 0.0:
            continue
        spans, least = _emptied(clock, place)
        at_s = spans[0][0] if spans else None
        yield clock.harm(
            "medical" if place in clock.of("medical") else "internet",
            place.appliance.id,
            f"{clock.name(place)}: own battery empty",
            at_s,
            formula="time its own battery has carried it for what it held when power went",
            terms=(
                Term("battery from full", device.battery_min, "min", "the appliance"),
                Term("left at the least", 60.0 * least, "min", "this run"),
            ),
            source="Energy balance of its battery, which recharges with power.",
            why=_why(clock, place, at_s, ""),
            nearest=f"{span_words(60.0 * least)} left at the least",
            clause=medical_clause(clock.name(place)),
            spans=spans,
        )


def _gallons(left: float) -> str:
    return f"{left:.0f}" if left >= 1.0 else "under 1"


def _why(clock: HarmClock, place: Place, at_s: float | None, otherwise: str) -> str:
    if at_s is None:
        return ""
    return clock.dead_words(place.circuit, at_s) or otherwise


def _emptied(clock: HarmClock, place: Place) -> tuple[tuple[Span, ...], float]:
    """From when a level stands at nothing to when power is back, and the least it comes to dead.

    [s, -]
    """
    levels = clock.levels[place.appliance.id].astype(np.float64)
    step_s = float(clock.run.scenario.step_s)
    spans: list[Span] = []
    least = float(levels.max())
    for begin, end in clock.run.served.dark_in_run(place.circuit):
        first, last = int(begin // step_s), int(end // step_s)
        part = levels[first:last]
        if not part.size:
            continue
        least = min(least, float(part.min()))
        empty = np.flatnonzero(part <= _EMPTY)
        if empty.size:
            k = first + int(empty[0])
            before = float(levels[k - 1]) if k else float(levels[k])
            lost = before - float(levels[k])
            rate = float(levels[k - 2]) - before if k > first + 1 else lost
            share = min(1.0, before / rate) if rate > 0.0 else 1.0
            at_s = max(begin, (k + share) * step_s)
            if end - at_s >= _LEAST_EMPTY_S:
                spans.append((at_s, end))
    return tuple(spans), least
