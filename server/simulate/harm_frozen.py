"""The harm of a box that is kept cold in a room that is colder: what it holds freezes."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.behaviour import ColdBox
from server.domain.stores import FREEZES_FOOD_F
from server.domain.working import Term
from server.simulate.harm import Harm, HarmClock
from server.simulate.harm_warmth import crossing
from server.simulate.verdict import moment


def frozen(clock: HarmClock) -> Iterator[Harm]:
    """Each box kept above freezing that the air around it brings below; none of those it does not.

    A compressor only cools: where the air around is colder than what is kept, the box follows it
    down, with power or without.
    """
    for place in clock.places:
        box = place.appliance.behaviour
        if not isinstance(box, ColdBox) or box.kept_f - box.deadband_f / 2.0 <= FREEZES_FOOD_F:
            continue
        levels = clock.levels[place.appliance.id]
        at_s, coldest, coldest_s = crossing(clock, levels, FREEZES_FOOD_F, -1)
        if at_s is None:
            continue
        yield clock.harm(
            "food",
            place.appliance.id,
            f"{clock.name(place)}: what it holds freezes",
            at_s,
            formula=(
                f"time it passes {FREEZES_FOOD_F:g} °F − start of the outage; C dT/dt = UA (air "
                "around − T) + doors, and its compressor cannot warm it"
            ),
            terms=(
                Term("limit", FREEZES_FOOD_F, "°F", "below"),
                Term("time constant C ÷ UA", box.time_constant_h, "h", "the appliance"),
                Term("coldest", coldest, "°F", "this run"),
            ),
            source=(
                "No produce freezes above 32 °F and some close to it: USDA Marketing Research "
                "Report 196. Insulin that has been frozen is not used: FDA on insulin in an "
                "emergency."
            ),
            why="the air around it is colder; a refrigerator cannot warm what it holds",
            nearest=f"coldest {coldest:.1f} °F {moment(clock.time(coldest_s))}",
            clause=f"what {clock.name(place)} holds freezes",
            by_power=False,
        )
