"""What a guided start takes for granted is told before the house is made."""

from __future__ import annotations

import pytest

from server.advise.begin.choices import Choices, Thing
from server.advise.begin.taken import assumed


def rest_of(*things: tuple[str, int]) -> list[str]:
    ticked = tuple(Thing(kind_id=kind, count=count) for kind, count in things)
    made = assumed(Choices(way="nothing", name="x", things=ticked))
    return [f"{a.words}; {a.source}" for a in made if a.name == "Heat in the other rooms"]


def test_a_few_baseboards_leave_most_of_the_house_without_heat_in_the_runs() -> None:
    """Three rooms of a tenth each, and a warm floor: 40 %."""
    (told,) = rest_of(("baseboard", 3), ("radiant-floor", 1))
    assert told.startswith("none in the runs: what is ticked warms 40 % of the house; ")
    assert "tick what warms them" in told


@pytest.mark.parametrize(
    "things",
    [(), (("baseboard", 10),), (("baseboard", 3), ("gas-furnace", 1))],
    ids=["no heat at all", "all ten rooms", "a furnace for the rest"],
)
def test_where_nothing_or_all_of_it_is_heated_nothing_is_told(things: tuple) -> None:
    assert rest_of(*things) == []
