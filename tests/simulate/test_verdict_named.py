"""The verdict names what must be served on a circuit, and the few other circuits beside it."""

from __future__ import annotations

from server.simulate.run import simulate
from tests.builders import circuit, normal_only_site, scenario, with_parts
from tests.rules.check_sites import of_kind


def dark(count: int) -> str:
    """The faults of a house without a source: alarms and ``count`` other must-serve circuits."""
    base = normal_only_site()
    panel = base.panels[0].id
    alarms = of_kind("lights", panel, (1,), "smoke-alarms").model_copy(
        update={"name": "Lights", "load_class": "must_serve", "allowed_gap_min": 600.0}
    )
    others = [
        circuit(f"n{i}", panel, 5 + 2 * i, load_w=100).model_copy(
            update={"load_class": "must_serve", "allowed_gap_min": 600.0, "name": f"Part {i}"}
        )
        for i in range(count)
    ]
    day = scenario("out", span_h=24, outage_h=(1, 23))
    site = with_parts(base, circuits=(alarms, *others), scenarios=(day,))
    return " ".join(simulate(site, day).verdict.faults)


def test_the_thing_that_must_be_served_is_named_with_its_circuit():
    """22 h are past the 10 h that were entered."""
    assert "The circuit Lights (" in dark(0)
    assert ") is without power for 22 h" in dark(0)


def test_up_to_three_others_are_named_and_more_are_counted():
    assert "3 other circuits are dark longer than they can wait too: Part 0, Part 1, Part 2." in (
        dark(3)
    )
    assert "4 other circuits are dark longer than they can wait too." in dark(4)
