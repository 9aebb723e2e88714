"""Which breakers are left off so that a set that a hand loads fits its rating."""

from __future__ import annotations

from server.domain.pairs import in_role
from server.rules.check import check_site
from server.rules.demand.held import holds
from server.rules.demand.left_off import left_off
from server.rules.demand.report import demand_of
from server.rules.editions import site_rules
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind

KILN = of_kind("kiln", "main", (9, 11), "kiln", load_w=9_000, breaker_a=60)


def past(*circuits):
    base = builders.interlock_site(scenarios=())
    return with_parts(base, circuits=(*base.circuits, *circuits))


def sheet_holds(site, set_id):
    rules, _ = site_rules(site)
    element = demand_of(site, set_id, rules=rules)
    return all(holds(site, element, s) for s in element.sheets)


def test_a_set_that_holds_is_not_named():
    assert left_off(past()) == ()


def test_the_sheet_worked_out_without_them_holds_and_needs_each_of_them():
    site = past(KILN, of_kind("saw", "main", (13, 15), "kiln", load_w=4_000, breaker_a=30))
    (one,) = left_off(site)
    assert one.fits
    assert one.counted_a > one.limit_a >= one.left_a
    assert not sheet_holds(site, one.set_id)
    off = site
    for circuit in one.circuits:
        off = in_role(off, circuit.id, "by_hand")
    assert sheet_holds(off, one.set_id)
    for circuit in one.circuits:
        assert not sheet_holds(in_role(off, circuit.id, "on"), one.set_id), circuit.name


def test_what_can_wait_goes_before_what_matters_and_the_largest_first():
    important = of_kind("oven", "main", (13, 15), "kiln", load_w=9_000, breaker_a=60)
    site = past(
        KILN.model_copy(update={"load_class": "deferrable"}),
        important.model_copy(update={"load_class": "important"}),
    )
    (one,) = left_off(site)
    assert one.circuits[0].id == "kiln"


def test_what_must_be_served_and_medical_devices_stay_on():
    must = KILN.model_copy(update={"load_class": "must_serve"})
    (one,) = left_off(past(must))
    assert not one.fits
    assert "kiln" not in {c.id for c in one.circuits}
    assert "use a larger set" in one.words
    assert "may be run with" not in one.words
    oxygen = of_kind("air", "main", (13,), "oxygen-concentrator", load_w=350, volts=120)
    (one,) = left_off(past(KILN, oxygen))
    assert "air" not in {c.id for c in one.circuits}


def test_what_the_house_relies_on_is_to_have_turns_where_it_is_among_them():
    pump = of_kind("pump", "main", (13, 15), "well-pump", load_w=9_000, breaker_a=60)
    (one,) = left_off(past(pump))
    assert [c.id for c in one.circuits] == ["pump"]
    assert one.way.endswith(
        f"{one.circuits[0].name} is relied on for heat, water, a pit or cold food: give turns, "
        "with something else off meanwhile."
    )
    (one,) = left_off(past(KILN))
    assert one.way.endswith("are left.")


def test_its_finding_says_the_same_and_is_tried_so():
    site = past(KILN)
    (one,) = left_off(site)
    finding = next(
        f for f in check_site(site, recheck=True).findings if f.code == "demand-above-rating"
    )
    assert one.way in finding.mend
    assert one.way in one.words
    assert finding.recheck.change.startswith(one.circuits[0].name)
    assert finding.recheck.clears
