from __future__ import annotations

import pytest

from server.domain.circuit import Circuit
from server.domain.edits import set_pinned
from server.domain.errors import EditError
from server.domain.site import Site
from server.domain.space_edits import put_in_space
from tests.builders import circuit, double_throw_site, with_parts


def house(*circuits: Circuit) -> Site:
    return with_parts(double_throw_site(), circuits=circuits)


def places(site: Site) -> dict[str, tuple[int, ...]]:
    return {c.id: c.spaces for c in site.circuits}


def test_breaker_goes_to_a_free_space_and_the_other_leg():
    site = house(circuit("a", "main", 9))
    placing = put_in_space(site, "a", "main", 11)
    assert places(placing.site) == {"a": (11,)}
    assert placing.displaced == ()


def test_breaker_that_stays_changes_nothing():
    site = house(circuit("a", "main", 9, 11))
    assert put_in_space(site, "a", "main", 9).site is site


def test_two_breakers_of_one_pole_change_places():
    placing = put_in_space(
        house(circuit("a", "main", 9), circuit("b", "main", 12)), "a", "main", 12
    )
    assert places(placing.site) == {"a": (12,), "b": (9,)}
    assert placing.displaced == ("b",)


def test_two_pole_breaker_changes_places_with_two_of_one_pole():
    site = house(circuit("a", "main", 9, 11), circuit("b", "main", 10), circuit("c", "main", 12))
    placing = put_in_space(site, "a", "main", 10)
    assert places(placing.site) == {"a": (10, 12), "b": (9,), "c": (11,)}


def test_two_pole_breaker_one_row_down_sends_the_one_below_above_it():
    site = house(circuit("a", "main", 9, 11), circuit("b", "main", 13))
    placing = put_in_space(site, "a", "main", 11)
    assert places(placing.site) == {"a": (11, 13), "b": (9,)}


def test_two_pole_breakers_change_places():
    site = house(circuit("a", "main", 9, 11), circuit("b", "main", 10, 12))
    assert places(put_in_space(site, "a", "main", 10).site) == {"a": (10, 12), "b": (9, 11)}


@pytest.mark.parametrize(
    ("site", "space", "words"),
    [
        (house(circuit("a", "main", 9), circuit("b", "main", 10, 12)), 10, "cannot change places"),
        (house(circuit("a", "main", 9, 11), circuit("b", "main", 12, 14)), 10, "cannot change"),
        (house(circuit("a", "main", 9)), 99, "has spaces 1 to"),
        (house(circuit("a", "main", 9)), 0, "has spaces 1 to"),
        (house(circuit("a", "main", 9, 11)), 19, "has spaces 1 to"),
        (
            house(
                circuit("a", "main", 9), circuit("b", "main", 10, half="a", breaker_type="tandem")
            ),
            10,
            "cannot change places",
        ),
    ],
)
def test_place_that_cannot_be_taken_is_told(site: Site, space: int, words: str):
    with pytest.raises(EditError, match=words):
        put_in_space(site, "a", "main", space)


def test_breaker_of_a_feeder_is_not_pushed_aside():
    site = house(circuit("a", "backed", 9))
    with pytest.raises(EditError, match="sheet of the supply"):
        put_in_space(site, "a", "backed", 2)


def test_another_panel_takes_it_only_where_it_is_free():
    site = house(circuit("a", "main", 9), circuit("b", "backed", 9))
    with pytest.raises(EditError, match="Circuit b stands in space 9"):
        put_in_space(site, "a", "backed", 9)
    moved = put_in_space(site, "a", "backed", 11).site.circuit("a")
    assert (moved.panel_id, moved.spaces) == ("backed", (11,))


def test_pinned_breaker_keeps_its_panel_but_not_its_space():
    site = set_pinned(house(circuit("a", "main", 9)), "a", pinned=True)
    with pytest.raises(EditError, match="pinned"):
        put_in_space(site, "a", "backed", 9)
    assert places(put_in_space(site, "a", "main", 10).site) == {"a": (10,)}
