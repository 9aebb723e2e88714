"""Nothing else on a kitchen's, laundry's or bathroom's circuit: 210.52(B)(2), 210.11(C)(2), (3).

Sources stand with the figures: the 2017 text as quoted on forums.mikeholt.com.
"""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import site_rules
from server.rules.mends.recheck import offers
from tests.builders import panel, with_parts
from tests.rules.check_sites import codes, found, of_kind, plain

CODE = "plug-circuit-shared"
SECTIONS = {
    "kitchen-plugs": "210.52(B)(2)",
    "washer": "210.11(C)(2)",
    "bath-plugs": "210.11(C)(3)",
}


def together(kind, *others, breaker_a=20.0, spaces=(1,), **changes):
    one = of_kind("x", "main", spaces, kind, breaker_a=breaker_a)
    more = tuple(KINDS[k].appliance(f"more-{k}") for k in others)
    return plain(one.model_copy(update={"appliances": (*one.appliances, *more), **changes}))


def severity(site):
    return next((f.severity for f in check_site(site).findings if f.code == CODE), None)


@pytest.mark.parametrize(
    ("kind", "other", "told"),
    [
        ("kitchen-plugs", "lighting", "warning"),
        ("kitchen-plugs", "dishwasher", "warning"),  # a cord, but no outlet of 210.52(A) or (C)
        ("kitchen-plugs", "range-hood", "warning"),
        ("kitchen-plugs", "workshop-plugs", "warning"),
        ("kitchen-plugs", "plugs", "note"),  # of a dining room or pantry: 210.52(B)(1)
        ("kitchen-plugs", "freezer", "note"),
        ("kitchen-plugs", "refrigerator", None),
        ("kitchen-plugs", "gas-range", None),  # 210.52(B)(2), exception 2
        ("kitchen-plugs", "microwave", None),
        ("coffee-maker", "lighting", "note"),  # nobody says that it stands in a kitchen
        ("microwave", "lighting", None),
        ("washer", "lighting", "warning"),
        ("washer", "plugs", "warning"),
        ("washer", "vacuum-cleaner", "note"),
        ("washer", "gas-dryer", None),
        ("washer", "iron", None),
        ("iron", "lighting", None),
        ("bath-plugs", "lighting", "note"),  # 210.11(C)(3), exception: of one bathroom alone
        ("bath-plugs", "bath-heater", "note"),
        ("bath-plugs", "plugs", "warning"),
        ("bath-plugs", "washer", "note"),
        ("bath-plugs", "hair-dryer", None),
        ("bath-plugs", "bidet-seat", None),
        ("plugs", "lighting", None),
    ],
)
def test_what_may_stand_with_the_outlets_of_a_room(kind, other, told):
    site = together(kind, other)
    assert severity(site) == told
    if told:
        one = found(site, CODE)
        assert KINDS[other].name in one.text
        assert one.section == SECTIONS.get(kind, SECTIONS["kitchen-plugs"])
        assert "20 A" in one.text


def test_one_that_may_be_right_does_not_hide_another_that_may_not():
    site = together("kitchen-plugs", "plugs", "lighting")
    assert severity(site) == "warning"
    both = f"{KINDS['plugs'].name} and {KINDS['lighting'].name}"
    assert both in found(site, CODE).text


def test_a_kitchen_and_a_bathroom_on_one_circuit_are_told_once():
    site = together("kitchen-plugs", "bath-plugs")
    (one,) = (f for f in check_site(site).findings if f.code == CODE)
    assert (one.severity, one.section) == ("warning", SECTIONS["bath-plugs"])


def test_only_a_dwelling_must_have_such_circuits():
    assert severity(together("washer", "lighting", place="common_area")) is None
    assert severity(together("kitchen-plugs", "lighting", place="outbuilding")) is None


def test_a_shared_neutral_entered_as_one_circuit_is_asked_and_a_dryer_of_240_v_is_not():
    assert severity(together("kitchen-plugs", "lighting", spaces=(1, 3), poles=2)) == "warning"
    assert severity(together("dryer", "washer", "lighting", spaces=(1, 3))) is None


@pytest.mark.parametrize(
    ("breaker_a", "change", "left", "own_a"),
    [
        (20.0, "{other} on a circuit apart in space 2", "washer", 20),
        (15.0, "the laundry outlets on a 20 A circuit apart in space 2", "lighting", 20),
        (30.0, "the laundry outlets on a 20 A circuit apart in space 2", "lighting", 20),
    ],
)
def test_its_mend_takes_a_circuit_of_20_a_for_the_outlets(breaker_a, change, left, own_a):
    """The circuit that is right for the outlets keeps them; else they take the new one."""
    site = together("washer", "lighting", breaker_a=breaker_a, wire_size="14")
    tried = next(f for f in check_site(site, recheck=True).findings if f.code == CODE)
    assert tried.recheck.change == change.format(other=KINDS["lighting"].name)
    assert tried.recheck.clears
    said = change.format(other=KINDS["lighting"].name)
    assert said.replace(" on ", " ").removesuffix(" in space 2") in tried.mend
    (offer,) = offers(site, tried, site_rules(site)[0])
    own = offer.site.circuit("x-own")
    assert (own.breaker_a, own.wire_size, own.is_new) == (own_a, "12", True)
    assert [a.kind for a in offer.site.circuit("x").appliances] == [left]
    assert offer.site.circuit("x").breaker_a == breaker_a


def test_a_full_panel_has_no_mend_to_try():
    site = with_parts(
        together("washer", "lighting"), panels=(panel("main", spaces=1, neutral_bonded=True),)
    )
    tried = next(f for f in check_site(site, recheck=True).findings if f.code == CODE)
    assert tried.recheck is None


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.json")), ids=lambda p: p.stem)
def test_the_demos_keep_such_circuits_apart(path):
    assert CODE not in codes(read_site_file(path.read_bytes()))
