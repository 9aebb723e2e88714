"""What is on a branch circuit against its rating: summed, fastened beside outlets, on one plug.

220.18 (2017, 2020), 220.11 (2023) and 120.11 (2026) hold the total to the rating; 210.23(A)(1) and
(A)(2), in 2023 (B)(1) and (B)(2), hold one thing on a plug to 80 % and what is fastened to 50 %
where lights or plugs are on the circuit too. Shares: ecmweb.com Code Q&A; numbers from memory.
424.4(A): two or more outlets of fixed heat behind 30 A at most (2017: 424.3(A)), from memory.
"""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.check import check_site
from tests.rules.check_sites import of_kind, plain

SUM_OF = {"2017": "220.18", "2020": "220.18", "2023": "220.11", "2026": "120.11"}
SHARES_OF = {"2017": "210.23(A)", "2020": "210.23(A)", "2023": "210.23(B)", "2026": "210.23(B)"}


def on_one(breaker_a, *kinds_and_watts, spaces=(1,), edition="2023", **changes):
    """Findings about one circuit of these kinds and watts, with their mends worked in."""
    things = tuple(
        KINDS[kind].appliance(f"{kind}-{n}", load_w=watts, power_factor=1.0, horsepower=None)
        for n, (kind, watts) in enumerate(kinds_and_watts)
    )
    base = of_kind("one", "main", spaces, kinds_and_watts[0][0], breaker_a=breaker_a)
    circuit = base.model_copy(update={"appliances": things, "continuous": False, **changes})
    report = check_site(plain(circuit, code_edition=edition), recheck=True)
    return {f.code: f for f in report.findings if f.element_id == "one"}


@pytest.mark.parametrize("edition", SUM_OF)
def test_a_dishwasher_and_a_microwave_are_more_than_20_amperes(edition):
    """(1,500 + 1,500) / 120 = 25 A. Fastened or not, the microwave has no room beside it."""
    found = on_one(20, ("dishwasher", 1500), ("microwave", 1500), edition=edition)
    one = found["device-below-load"]
    assert (one.severity, one.value) == ("warning", pytest.approx(25.0))
    assert SUM_OF[edition] in one.section
    assert one.recheck.clears
    assert not one.recheck.brings
    assert "fastened-past-half" not in found


def test_what_is_fastened_is_summed_beside_a_microwave():
    """(1,500 + 900 + 1,500) / 120 = 32.5 A."""
    found = on_one(20, ("dishwasher", 1500), ("disposer", 900), ("microwave", 1500))
    assert found["device-below-load"].value == pytest.approx(32.5)


def test_what_is_fastened_on_both_legs_is_summed_by_the_leg():
    """120 V things of 1,500 W on one leg each: 12.5 A on either, and not 25 A."""
    things = (("dishwasher", 1500), ("microwave", 1500))
    left, right = (
        KINDS[kind].appliance(kind, load_w=watts, power_factor=1.0, on_pole=pole)
        for pole, (kind, watts) in enumerate(things, 1)
    )
    base = of_kind("one", "main", (1, 3), "dishwasher", breaker_a=20)
    circuit = base.model_copy(update={"appliances": (left, right)})
    told = {f.code for f in check_site(plain(circuit)).findings if f.element_id == "one"}
    assert "device-below-load" not in told


def test_two_heaters_that_plug_in_are_a_note_as_one_can_be_unplugged():
    """3,000 / 120 = 25 A behind 15 A."""
    one = on_one(15, ("portable-heater", 1500), ("portable-heater", 1500))["device-below-load"]
    assert (one.severity, one.value) == ("note", pytest.approx(25.0))
    assert one.recheck.clears


@pytest.mark.parametrize(("breaker_a", "told"), [(30, True), (35, False)])
def test_such_a_sum_is_told_up_to_30_amperes(breaker_a, told):
    """4,500 / 120 = 37.5 A; a larger breaker on plugs has a finding of its own."""
    found = on_one(breaker_a, *(("portable-heater", 1500),) * 3)
    assert ("device-below-load" in found) == told


@pytest.mark.parametrize(
    "things",
    [
        (("kitchen-plugs", 500), ("toaster", 1400), ("electric-kettle", 1500)),
        (("refrigerator", 700), ("microwave", 1500), ("toaster", 1400)),
        (("dishwasher", 1200), ("disposer", 900)),
    ],
)  # fmt: skip
def test_what_is_used_by_turns_and_what_fits_is_told_nothing(things):
    """A kettle and a toaster are not counted together; 2,200 W and 2,100 W are within 20 A."""
    assert "device-below-load" not in on_one(20, *things)


@pytest.mark.parametrize("edition", SHARES_OF)
def test_what_is_fastened_may_take_half_beside_plugs(edition):
    """1,500 / 120 = 12.5 A of 20 A, half of which 1,200 W just take. A septic alarm is wired."""
    found = on_one(20, ("sump-pump", 1500), ("lighting", 300), edition=edition)
    one = found["fastened-past-half"]
    assert (one.severity, one.value, one.limit) == ("warning", pytest.approx(12.5), 10)
    assert one.section == f"{SHARES_OF[edition]}(2)"
    assert one.recheck.clears
    assert not one.recheck.brings
    assert "fastened-past-half" not in on_one(20, ("sump-pump", 1200), ("lighting", 300))
    assert "fastened-past-half" not in on_one(20, ("sump-pump", 1500), ("septic-alarm", 10))
    assert "fastened-past-half" not in on_one(20, ("sump-pump", 1500))


def test_heating_and_cooling_of_one_unit_count_once_of_that_half():
    """1,500 W at 240 V, 6.25 A, heating or cooling: one at a time, within 10 A of 20 A (220.60)."""
    unit = (("mini-split", 1500), ("mini-split-cooling", 1500), ("lighting", 100))
    base = of_kind("one", "main", (1, 3), "mini-split", breaker_a=20)
    things = tuple(
        KINDS[kind].appliance(kind, load_w=watts, power_factor=1.0) for kind, watts in unit
    )
    circuit = base.model_copy(update={"appliances": things})
    told = {f.code for f in check_site(plain(circuit)).findings if f.element_id == "one"}
    assert not told & {"fastened-past-half", "device-below-load"}


@pytest.mark.parametrize("edition", SHARES_OF)
def test_one_thing_on_a_plug_may_take_80_percent_of_several_outlets(edition):
    """1,800 / 120 = 15 A; 80 % of 15 A is 12 A. The usual 1,500 W, 12.5 A, are let pass."""
    one = on_one(15, ("portable-heater", 1800), edition=edition)["plugged-past-share"]
    assert (one.severity, one.value, one.limit) == ("note", pytest.approx(15.0), 12)
    assert one.section == f"{SHARES_OF[edition]}(1)"
    assert "plugged-past-share" not in on_one(15, ("portable-heater", 1500))
    assert "plugged-past-share" not in on_one(20, ("portable-heater", 1800))


def test_an_outlet_alone_on_its_circuit_has_no_such_share():
    """210.22: an individual branch circuit may be loaded to its rating."""
    assert "plugged-past-share" not in on_one(15, ("microwave", 1750))
    assert "plugged-past-share" in on_one(15, ("microwave", 1750), ("toaster", 800))


@pytest.mark.parametrize(("edition", "section"), [("2017", "424.3(A)"), ("2023", "424.4(A)")])
def test_no_device_is_offered_above_what_several_heaters_may_have(edition, section):
    """6,000 / 240 x 1.25 = 31.25 A; the next size, 35 A, is more than 30 A."""
    heaters = (("wall-heater", 3000), ("wall-heater", 3000))
    found = on_one(20, *heaters, spaces=(1, 3), edition=edition, wire_size="12")
    one = found["device-below-load"]
    assert one.advised is None
    assert "30 A is the most for several heaters" in one.mend
    assert one.recheck.clears
    assert not one.recheck.brings
    wire = found["branch-wire-small"]
    assert wire.advised is None
    assert "a circuit of its own" in wire.mend
    large = on_one(40, *heaters, spaces=(1, 3), edition=edition)["breaker-above-appliance"]
    assert large.section == section


@pytest.mark.parametrize(
    ("watts", "advised_a"), [((2000, 1600), None), ((2500, 2400), 30), ((2500, 2000), 25)]
)
def test_up_to_30_amperes_a_larger_device_is_offered_for_heaters(watts, advised_a):
    """4,900 / 240 x 1.25 = 25.5 A; 4,500: 23.4 A; 3,600: 18.75 A, which its 20 A carry."""
    found = on_one(20, *(("wall-heater", w) for w in watts), spaces=(1, 3))
    if advised_a is None:
        assert "device-below-load" not in found
    else:
        assert found["device-below-load"].advised.amps == advised_a


def test_a_dryer_is_offered_no_device_that_its_cord_is_not_made_for():
    """8,000 / 240 = 33.3 A; a dryer’s outlet is behind 30 A (common practice, no source)."""
    one = on_one(30, ("dryer", 8000), spaces=(1, 3))["device-below-load"]
    assert one.advised is None
    assert "30 A is the most" in one.mend


@pytest.mark.parametrize(("watts", "told"), [(1950, set()), (1980, {"warning"})])
def test_breaker_and_wire_drop_the_same_part_of_an_ampere(watts, told):
    """1,950 / 120 x 1.25 = 20.3 A is 20 A; 1,980 make 21 A (220.5(B), 210.20(A), 210.19(A))."""
    found = on_one(20, ("plugs", watts), continuous=True, wire_size="12")
    codes = ("device-below-load", "branch-wire-small")
    assert {found[c].severity for c in codes if c in found} == told
    assert (codes[0] in found) == (codes[1] in found)


@pytest.mark.parametrize(
    ("kind", "told"),
    [("portable-heater", True), ("plugs", False), ("bath-plugs", False), ("lighting", False)],
)
def test_outlets_summed_and_wired_lights_are_no_one_thing_on_a_plug(kind, told):
    """1,800 / 120 = 15 A on 15 A; the share is of one thing with a cord and a plug."""
    found = on_one(15, (kind, 1800))
    assert ("plugged-past-share" in found) == told


def test_one_draws_and_several_draw():
    one = on_one(20, ("sump-pump", 1500), ("lighting", 300))["fastened-past-half"]
    assert " on Circuit one draws 12.5 A" in one.text
    two = on_one(20, ("sump-pump", 900), ("disposer", 600), ("lighting", 300))
    assert " on Circuit one draw 12.5 A" in two["fastened-past-half"].text
    assert one.text.endswith("is on it.")
    three = on_one(20, ("sump-pump", 1500), ("lighting", 100), ("plugs", 100))
    assert three["fastened-past-half"].text.endswith("are on it.")
