"""What is wired or has a plug, new at places whose outlets ask for ground-fault protection.

210.8(A)(2) garages and accessory buildings, (A)(3) outdoors, (A)(5) cellars, (A)(6) kitchens, every
outlet since 2023, (A)(7) outlets within 6 ft of a sink, behind a cabinet door since 2020, and since
2023 places with a sink for food or drinks; boathouses (A)(8), since 2023 (A)(9). All from memory.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.rules.check_sites import of_kind, plain

EDITIONS = ("2017", "2020", "2023", "2026")


def told(kind, area, edition, **changes):
    """Section, severity and mend of what a new circuit of 20 A is told of ground faults."""
    circuit = of_kind("x", "main", (1,), kind, breaker_a=20).model_copy(
        update={"area": area, "is_new": True} | changes
    )
    found = check_site(plain(circuit, code_edition=edition)).findings
    return [f for f in found if f.code == "new-circuit-ground-fault"]


@pytest.mark.parametrize(
    ("kind", "area", "sections"),
    [
        ("range-hood", "Kitchen", (None, None, "210.8(A)(6)", "210.8(A)(6)")),
        ("warming-drawer", "Kitchen", (None, None, "210.8(A)(6)", "210.8(A)(6)")),
        ("instant-hot-tap", "Kitchen", (None, "210.8(A)(7)", "210.8(A)(6)", "210.8(A)(6)")),
        ("sewage-pump", "Basement", ("210.8(A)(5)",) * 4),
        ("hot-water-circulator", "Cellar", ("210.8(A)(5)",) * 4),
        ("tankless-gas", "Garage", ("210.8(A)(2)",) * 4),
        ("gate-opener", "Driveway", ("210.8(A)(3)", "210.8(F)", "210.8(F)", "210.8(F)")),
        ("electric-fence", "Barn", ("210.8(A)(2)",) * 4),
        ("wine-cooler", "Bar", (None, None, "210.8(A)(7)", "210.8(A)(7)")),
        ("plugs", "Boathouse", ("210.8(A)(8)", "210.8(A)(8)", "210.8(A)(9)", "210.8(A)(9)")),
        ("sewage-pump", "Utility closet", (None,) * 4),
        ("gas-furnace", "Basement", (None,) * 4),
    ],
)
def test_its_place_asks_where_it_plugs_in(kind, area, sections):
    for edition, section in zip(EDITIONS, sections, strict=True):
        found = told(kind, area, edition)
        assert [(f.section, f.severity) for f in found] == ([(section, "note")] if section else [])


def test_it_may_be_wired_instead_or_have_the_outlet_for_it():
    (one,) = told("sewage-pump", "Basement", "2023")
    assert "where that plugs in" in one.text
    assert one.mend == (
        "Use a ground-fault breaker, an outlet with ground-fault protection, or have it wired in "
        "place."
    )


def test_such_a_breaker_ends_it_and_what_is_old_is_not_asked():
    assert told("sewage-pump", "Basement", "2023", breaker_type="gfci") == []
    assert told("sewage-pump", "Basement", "2023", is_new=False) == []


@pytest.mark.parametrize("area", ["Boathouse", "Boat house", "Pump house", "Stable"])
@pytest.mark.parametrize("edition", EDITIONS)
def test_a_building_that_is_no_dwelling_asks_for_no_arc_fault_protection(area, edition):
    """210.12(A) names rooms of dwelling units, and no building beside them."""
    circuit = of_kind("x", "main", (1,), "plugs").model_copy(update={"area": area, "is_new": True})
    codes = {f.code for f in check_site(plain(circuit, code_edition=edition)).findings}
    assert "new-circuit-arc-fault" not in codes
