from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.hazards import hazards
from tests.builders import appliance, circuit, normal_only_site, with_parts


@pytest.mark.parametrize(
    ("kind", "allowed"),
    [
        ("range-oven", True),
        ("range-burners", True),
        ("dryer", True),
        ("water-heater", False),
        ("car-charger-48", False),
        ("well-pump", False),
    ],
)
def test_an_old_three_wire_cable_is_for_ranges_and_dryers_only(kind: str, allowed: bool) -> None:
    old = circuit("old", "main", 9, 11, breaker_a=60, grounding="three_wire_old").model_copy(
        update={"appliances": (KINDS[kind].appliance("thing", "The thing"),)}
    )
    found = hazards(with_parts(normal_only_site(), circuits=(old,)))
    assert [(f.code, f.severity) for f in found] == (
        [] if allowed else [("old-three-wire-not-allowed", "blocking")]
    )
    assert all(f.text.endswith("on it: The thing.") for f in found)


def test_a_thing_of_no_known_kind_is_not_taken_for_a_range() -> None:
    thing = appliance("thing", 2000, volts=240)
    old = circuit("old", "main", 9, 11, grounding="three_wire_old", appliances=(thing,))
    (found,) = hazards(with_parts(normal_only_site(), circuits=(old,)))
    assert "choose that kind" in found.mend
