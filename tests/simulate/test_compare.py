"""What a change made better or worse."""

from __future__ import annotations

import pytest

from server.domain.edits import move_circuit
from server.simulate.compare import compare
from server.simulate.run import simulate
from tests.builders import (
    backed_up_site,
    circuit,
    generator,
    normal_only_site,
    scenario,
    service,
    with_parts,
)


def changes(before, after, day=None):  # type: ignore[no-untyped-def]
    day = day or scenario(span_h=1)
    found = compare(simulate(before, day), simulate(after, day))
    return {c.point.id: c for c in found}


def test_the_same_run_changes_nothing() -> None:
    found = changes(normal_only_site(), normal_only_site())
    assert {c.change for c in found.values()} == {"same"}


@pytest.mark.parametrize(
    ("before_a", "after_a", "word"),
    [(15, 200, "mended"), (200, 15, "broken"), (200, 100, "worse"), (100, 200, "better")],
)
def test_words_follow_the_limit(before_a: float, after_a: float, word: str) -> None:
    one = normal_only_site(services=(service(main_a=before_a),))
    two = normal_only_site(services=(service(main_a=after_a),))
    assert changes(one, two)["service_main:grid"].change == word


def test_moving_a_circuit_off_a_small_set_mends_it() -> None:
    site = backed_up_site(generators=(generator(rated_kw=4),))
    found = changes(site, move_circuit(site, "c", "main"), scenario(outage_h=(1, 5)))
    assert found["generator:set"].change == "mended"
    assert found["panel_bus:backed"].change == "better"
    assert found["panel_bus:main"].change == "same"  # its loads hang below it either way
    before, after = found["generator:set"].before, found["generator:set"].after
    assert before is not None
    assert after is not None
    assert before.status == "over"
    assert after.status != "over"


def test_points_that_come_and_go_are_told() -> None:
    site = normal_only_site()
    more = with_parts(site, circuits=(*site.circuits, circuit("d", "main", 9, load_w=1200)))
    added = changes(site, more)["circuit_breaker:d"]
    assert added.before is None
    assert added.change == "worse"
    gone = changes(more, site)["circuit_breaker:d"]
    assert gone.after is None
    assert gone.change == "better"


def test_an_overloaded_point_that_went_is_mended() -> None:
    site = normal_only_site()
    bad = circuit("d", "main", 9, load_w=3000)
    more = with_parts(site, circuits=(*site.circuits, bad))
    assert changes(more, site)["circuit_breaker:d"].change == "mended"
