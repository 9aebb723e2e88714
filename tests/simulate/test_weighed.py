"""What holding costs, by its weight."""

from __future__ import annotations

from datetime import timedelta

from server.simulate.harm_told import HarmTold
from server.simulate.weighed import soft_harms
from tests.builders import START, scenario


def harm(kind: str, after_h: float, **changes: object) -> HarmTold:
    base = HarmTold(kind, kind, "", START + timedelta(hours=after_h), f"{kind} told", "", False)
    return HarmTold(**base.__dict__ | changes)


def test_the_gravest_stands_first_and_minutes_without_water_apart() -> None:
    oil, pipes = harm("oil", 2), harm("pipes", 5)
    water = harm("water", 1.5, longest_min=6.0)
    weighty, trifles = soft_harms(scenario(outage_h=(1, 6)), (oil, water, pipes))
    assert weighty == (pipes, oil)
    assert trifles == (water,)


def test_what_stood_as_the_utility_went_out_comes_after_what_came_of_it() -> None:
    frozen, oil = harm("food", 1), harm("oil", 4)
    day = scenario(outage_h=(1, 6))
    assert soft_harms(day, (frozen, oil))[0] == (oil, frozen)
    later = harm("food", 1.5)
    assert soft_harms(day, (oil, later))[0] == (later, oil)


def test_what_fails_or_is_over_is_no_cost_of_holding() -> None:
    told = (harm("sump", 2, fails=True), harm("food", 2, over=True))
    assert soft_harms(scenario(outage_h=(1, 6)), told) == ((), ())
