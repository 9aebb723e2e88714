"""A change in words: rewiring names its electrician, and gives way to what costs comfort alone."""

from __future__ import annotations

import pytest

from server.advise.relief import relief_of
from server.advise.relief_words import free_of, said
from server.simulate.run import simulate
from tests.advise.test_relief import two_ovens
from tests.builders import with_parts


@pytest.mark.parametrize(("load_class", "free"), [("deferrable", True), ("important", False)])
def test_what_needs_no_rewiring_is_offered_where_it_costs_comfort_alone(
    load_class: str, free: bool
) -> None:
    site, day = two_ovens()
    circuits = tuple(c.model_copy(update={"load_class": load_class}) for c in site.circuits)
    site = with_parts(site, circuits=circuits)
    found = relief_of(site, day)
    assert found is not None
    best = free_of(simulate(site, day), found.candidates)
    assert (best is not None) is free
    if best is not None:
        assert best.lever.kind in {"later", "off"}
        assert best.mends


def test_rewiring_says_who_does_it_and_what_holds_holds_in_the_draw_shown() -> None:
    found = relief_of(*two_ovens())
    assert found is not None
    for one in found.candidates:
        words = said(found.name, found.peak_a, one)
        assert ("electrician" in words) is (one.lever.kind == "move")
        if one.holds:
            assert "in the draw shown everything holds" in words
