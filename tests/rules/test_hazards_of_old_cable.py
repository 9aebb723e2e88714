from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.check import check_site
from server.rules.hazards import hazards
from tests.builders import appliance, backed_up_site, circuit, normal_only_site, with_parts


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


@pytest.mark.parametrize("kind", ["range-oven", "dryer"])
@pytest.mark.parametrize("is_new", [True, False])
def test_a_new_range_or_dryer_has_four_wires(kind: str, is_new: bool) -> None:
    """250.140 exception: existing branch circuits only."""
    cable = circuit(
        "x", "main", 9, 11, breaker_a=40, grounding="three_wire_old", is_new=is_new
    ).model_copy(update={"appliances": (KINDS[kind].appliance("thing"),)})
    found = hazards(with_parts(normal_only_site(), circuits=(cable,)))
    assert [(f.code, f.severity) for f in found] == (
        [("old-three-wire-new", "blocking")] if is_new else []
    )
    assert all(f.section.startswith("250.140") for f in found)


@pytest.mark.parametrize(("panel_id", "said"), [("main", True), ("backed", False)])
def test_an_old_cable_at_the_service_says_that_it_ends_with_a_move(
    panel_id: str, said: bool
) -> None:
    """250.140 exception: not for a circuit brought to the service panel from elsewhere."""
    base = backed_up_site(scenarios=())
    cable = circuit("x", panel_id, 9, 11, breaker_a=30, grounding="three_wire_old").model_copy(
        update={"appliances": (KINDS["dryer"].appliance("dryer"),)}
    )
    report = check_site(with_parts(base, circuits=(*base.circuits, cable)))
    found = [f for f in report.findings if f.code == "old-three-wire-kept"]
    assert [f.severity for f in found] == (["note"] if said else [])


def test_a_bonded_panel_behind_another_is_not_the_service() -> None:
    """250.140 exception (1): the circuit starts at the service equipment."""
    base = backed_up_site(scenarios=())
    bonded = base.panel("backed").model_copy(update={"neutral_bonded": True})
    cable = circuit("x", "backed", 9, 11, grounding="three_wire_old")
    site = with_parts(base, panels=(base.panel("main"), bonded), circuits=(cable,))
    (found,) = [f for f in hazards(site) if f.code == "old-three-wire-not-at-service"]
    assert "Panel backed is behind another panel." in found.text


def test_away_from_the_service_it_is_asked_whether_the_neutral_is_insulated() -> None:
    """250.140(B)(3), an exception up to 2020: insulated, or bare in a cable from the service.

    From memory.
    """
    base = backed_up_site(scenarios=())
    cable = circuit("x", "backed", 9, 11, grounding="three_wire_old")
    (found,) = [
        f
        for f in hazards(with_parts(base, circuits=(cable,)))
        if f.code == "old-three-wire-not-at-service"
    ]
    assert found.severity == "warning"
    assert found.mend.startswith("Is the neutral of that cable insulated?")
    assert "moved to this panel or made longer, it needs a ground wire" in found.text
