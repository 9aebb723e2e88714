"""Arc- and ground-fault protection of new circuits, tubs and pools."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import codes, found, of_kind, plain


def new(kind, spaces=(1,), *, is_new=True, breaker_type="standard", **changes):
    circuit = of_kind("x", "main", spaces, kind, **changes)
    return plain(circuit.model_copy(update={"is_new": is_new, "breaker_type": breaker_type}))


@pytest.mark.parametrize(
    ("breaker_type", "asked"), [("standard", True), ("gfci", True), ("afci", False),
                                ("dual_function", False)],
)  # fmt: skip
def test_a_new_plug_circuit_needs_an_arc_fault_breaker(breaker_type, asked):
    assert ("new-circuit-arc-fault" in codes(new("plugs", breaker_type=breaker_type))) == asked


@pytest.mark.parametrize(
    ("kind", "area", "asked"),
    [
        ("other", "Bedroom", True),
        ("freezer", "Kitchen", True),
        ("freezer", "Garage", False),
        ("security-alarm", "Hall", True),
        ("other", "Shallow pond", False),
        ("other", "Denham shed", False),
        ("electric-fireplace", "", True),
        ("hospital-bed", "", True),
        ("range-hood", "", True),
        ("bath-plugs", "Bath 1", False),
        ("plugs", "Garage", False),
        ("lighting", "Garage", False),
        ("plugs", "Outside", False),
        ("plugs", "Unfinished basement", False),
        ("plugs", "Basement playroom", True),
        ("dehumidifier", "Cellar", False),
        ("lighting", "Hall bath", False),
        ("bath-heater", "Master bedroom bath", False),
        ("plugs", "Garage beside laundry", False),
        ("plugs", "Bath and hall", True),
        ("plugs", "Upstairs", True),
    ],
)
def test_a_room_asks_for_an_arc_fault_breaker_whatever_is_on_its_circuit(kind, area, asked):
    """210.12(B) (2023): all outlets and devices of the rooms it lists, on 120 V to 20 A."""
    site = new(kind)
    rooms = tuple(c.model_copy(update={"area": area}) for c in site.circuits)
    assert ("new-circuit-arc-fault" in codes(with_parts(site, circuits=rooms))) is asked


def test_an_old_circuit_and_one_outdoors_are_left_alone():
    assert "new-circuit-arc-fault" not in codes(new("plugs", is_new=False))
    assert "new-circuit-arc-fault" not in codes(new("outdoor-lights"))
    assert "new-circuit-ground-fault" not in codes(new("bath-plugs", is_new=False))


@pytest.mark.parametrize(
    ("kind", "spaces", "first"),
    [("bath-plugs", (1,), "2017"), ("dishwasher", (1,), "2017"), ("dryer", (1, 3), "2020"),
     ("range-oven", (1, 3), "2023"), ("microwave", (1,), "2023"), ("heat-pump", (1, 3), "2020")],
)  # fmt: skip
def test_ground_fault_protection_is_asked_from_its_edition_on(kind, spaces, first):
    for edition in ("2017", "2020", "2023", "2026"):
        asked = "new-circuit-ground-fault" in codes(new(kind, spaces), edition=edition)
        assert asked == (edition >= first)
    protected = new(kind, spaces, breaker_type="gfci")
    assert "new-circuit-ground-fault" not in codes(protected)


def test_an_outlet_can_give_it_to_120_v_and_only_a_breaker_to_240_v():
    def severity(site):
        return next(
            f.severity for f in check_site(site).findings if f.code == "new-circuit-ground-fault"
        )

    assert severity(new("bath-plugs")) == "note"
    assert severity(new("dryer", (1, 3))) == "warning"


@pytest.mark.parametrize(
    ("kind", "section"),
    [("hot-tub", "680.44"), ("pool-pump", "680.21(C)"), ("pool-pump-variable", "680.21(C)")],
)
def test_tubs_and_pools_need_it_new_or_old(kind, section):
    old = new(kind, (1, 3), is_new=False)
    looked_at = tuple(c.model_copy(update={"traced": "traced"}) for c in old.circuits)
    for site in (new(kind, (1, 3), is_new=True), with_parts(old, circuits=looked_at)):
        (finding,) = [f for f in check_site(site).findings if f.code == "tub-ground-fault"]
        assert (finding.severity, finding.section) == ("warning", section)
    asked = found(old, "tub-ground-fault")
    assert (asked.severity, asked.section) == ("note", section)
    assert "Nobody has looked at its breaker yet" in asked.text
    assert "keep out of the water" in asked.mend
    assert "tub-ground-fault" not in codes(new(kind, (1, 3), breaker_type="gfci"))


def shared(left_type: str, right_type: str):
    left = of_kind("left", "main", (2,), "kitchen-plugs").model_copy(
        update={"multiwire_partner_id": "right", "breaker_type": left_type}
    )
    right = of_kind("right", "main", (4,), "kitchen-plugs").model_copy(
        update={"multiwire_partner_id": "left", "breaker_type": right_type}
    )
    return plain(left, right)


@pytest.mark.parametrize(
    ("left_type", "right_type", "named"),
    [
        ("gfci", "gfci", "breaker on Circuit left and Circuit right."),
        ("standard", "dual_function", "breaker on Circuit right."),
    ],
)
def test_a_one_pole_ground_fault_breaker_on_a_shared_neutral_is_found(left_type, right_type, named):
    finding = found(shared(left_type, right_type), "multiwire-one-pole-ground-fault")
    assert finding.severity == "warning"
    assert named in finding.text


def test_plain_breakers_on_a_shared_neutral_are_not():
    assert "multiwire-one-pole-ground-fault" not in codes(shared("standard", "standard"))


def test_a_switch_ahead_of_the_first_panel_moves_no_circuit():
    whole = builders.whole_house_site(scenarios=())
    part = builders.backed_up_site(scenarios=())
    plugs = of_kind("den", "x", (19,), "plugs")
    for base, panel_id, asked in (
        (whole, whole.circuits[0].panel_id, False),
        (part, "backed", True),
    ):
        den = plugs.model_copy(update={"panel_id": panel_id})
        site = with_parts(base, circuits=(*base.circuits, den))
        assert ("arc-fault-on-a-move" in codes(site)) == asked


def test_a_pair_on_one_neutral_is_told_of_one_2_pole_breaker_and_no_1_pole_one_is_tried():
    """A 1-pole one on a shared neutral is a fault of its own (multiwire-one-pole-ground-fault)."""
    first, second = (
        of_kind(i, "main", (space,), "plugs").model_copy(
            update={"is_new": True, "multiwire_partner_id": other}
        )
        for i, space, other in (("a", 1, "b"), ("b", 3, "a"))
    )
    own = [f for f in check_site(plain(first, second), recheck=True).findings
           if f.code == "new-circuit-arc-fault"]  # fmt: skip
    assert len(own) == 2
    for finding in own:
        assert "one 2-pole arc-fault breaker" in finding.mend
        assert finding.recheck is None
    (alone,) = (f for f in check_site(new("plugs"), recheck=True).findings
                if f.code == "new-circuit-arc-fault")  # fmt: skip
    assert "2-pole" not in alone.mend
    assert alone.recheck is not None


@pytest.mark.parametrize(
    ("kind", "area", "edition", "wiring_in_helps"),
    [
        ("car-charger-40", "Garage", "2023", True),
        ("car-charger-40", "Driveway", "2023", False),
        ("car-charger-40", "Driveway", "2017", True),
        # Above 50 A the outdoors alone does not ask.
        ("car-charger-48", "Driveway", "2023", True),
    ],
)
def test_wiring_a_charger_in_place_is_not_offered_where_its_place_asks(
    kind, area, edition, wiring_in_helps
):
    site = new(kind, (1, 3))
    placed = tuple(c.model_copy(update={"area": area}) for c in site.circuits)
    site = with_parts(site, circuits=placed)
    findings = [
        f
        for f in check_site(site, edition=edition).findings
        if f.code == "new-circuit-ground-fault" and f.section == "625.54"
    ]
    (finding,) = findings
    assert ("wired in place" in finding.mend) is wiring_in_helps
