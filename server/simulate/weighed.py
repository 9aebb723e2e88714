"""What holding costs by its weight: a harm of hours before one of minutes, hot water named."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import timedelta

from server.domain.lengths import span_words
from server.domain.scenario import Scenario
from server.simulate.harm_told import HarmTold
from server.simulate.results import CircuitService

GRAVE = ("medical", "pipes", "sump", "room_cold", "room_hot", "food", "water")
"""Kinds of harm, the gravest first: our own order."""

_AT_ONCE = timedelta(minutes=1)

TRIFLING_MIN = 30.0
"""No water for no longer than this does not stand first (common practice, no source). [min]"""

TANK_WARM_MIN = 720.0
"""A tank of hot water that is used lasts about half a day (common practice, no source). [min]"""


def soft_harms(
    scenario: Scenario, harms: Sequence[HarmTold]
) -> tuple[tuple[HarmTold, ...], tuple[HarmTold, ...]]:
    """Harms that fail nothing, the gravest first and then as they come; and those that trifle.

    What stood already as an outage began comes after what came of it.
    """
    soft = [one for one in harms if not one.fails and not one.over]
    trifles = tuple(one for one in soft if 0.0 < one.longest_min <= TRIFLING_MIN)
    weighty = [one for one in soft if one not in trifles]
    weighty.sort(key=lambda one: (_stood(scenario, one), _weight(one), one.at))
    return tuple(weighty), trifles


def _stood(scenario: Scenario, harm: HarmTold) -> bool:
    return any(abs(harm.at - w.start) <= _AT_ONCE for w in scenario.whole_outages)


def _weight(harm: HarmTold) -> int:
    return GRAVE.index(harm.kind) if harm.kind in GRAVE else len(GRAVE)


def no_power_clause(without: Sequence[CircuitService], tanks: Collection[str]) -> str:
    """That circuits get no power, with the water heater that gets none for longest."""
    cold = [s for s in without if s.circuit_id in tanks and s.longest_gap_min >= TANK_WARM_MIN]
    longest = max(cold, key=lambda s: s.longest_gap_min, default=None)
    if longest is None:
        return "some circuits get no power"
    return (
        f"some circuits get no power, {longest.name} none for up to "
        f"{span_words(longest.longest_gap_min)}"
    )
