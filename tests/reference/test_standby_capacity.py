"""702.4: what an optional standby set must carry, on the house of Annex D1(a).

1500 ft2, 12 kW range, 5.5 kW dryer: 18,600 VA (flylib.com/books/en/2.419.1). That an automatic
switch asks for all of it and a manual one for what is selected is 702.4(B) (2017 to 2023 text).
"""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests import builders
from tests.rules.check_sites import HOUSE, of_kind


def d1a(kind, rated_kw):
    return builders.whole_house_site(
        kind=kind,
        scenarios=(),
        zones=HOUSE,
        floor_area_ft2=1500,
        generators=(builders.generator(rated_kw=rated_kw, rated_kva=rated_kw),),
        circuits=(
            of_kind("range", "main", (1, 3), "range-oven", load_w=12_000, breaker_a=50),
            of_kind("dry", "main", (5, 7), "dryer", load_w=5_500),
        ),
    )


def over(site):
    return [
        f
        for f in check_site(site).findings
        if (f.code, f.element_id) == ("demand-above-rating", "set")
    ]


@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_an_automatic_switch_without_management_asks_for_the_whole_house(edition):
    sheet = demand_of(d1a("automatic", 20), "set", rules=rulebook(edition)).sheet("full")
    assert sheet.total_va == pytest.approx(18_600)
    assert sheet.amps == pytest.approx(77.5)


def test_a_set_below_the_whole_house_is_found_under_702_4():
    """77.5 A, and a little more on the heavier leg, against 15 kVA / 240 V = 62.5 A; 20 kVA is
    83.3 A."""
    (found,) = over(d1a("automatic", 15))
    assert (found.section, found.unit) == ("702.4", "A")
    assert 77.5 <= found.value < 80
    assert 0 < found.limit <= 62.5
    assert not over(d1a("automatic", 20))


def test_by_hand_the_set_carries_what_is_selected():
    """12,000 + 5,500 VA on two circuits that may be on: 17,500 VA, no lighting load added."""
    demand = demand_of(d1a("manual", 20), "set", rules=rulebook("2023"))
    assert demand.sheet("full") is None
    assert demand.sheet("selected").total_va == pytest.approx(17_500)


D2C = (
    of_kind("range", "main", (1, 3), "range-oven", load_w=12_000, breaker_a=50),
    of_kind("water", "main", (5, 7), "water-heater", load_w=4_500),
    of_kind("dish", "main", (9,), "dishwasher", load_w=1_200, power_factor=1.0),
    of_kind("dry", "main", (2, 4), "dryer", load_w=5_000),
    of_kind("pump", "main", (6, 8), "heat-pump", load_w=5_760, power_factor=1.0),
    of_kind("strip", "main", (10, 12), "heat-strip", load_w=15_000, breaker_a=80),
)


def d2c(rated_kw, **feeder):
    base = builders.whole_house_site(
        scenarios=(),
        zones=HOUSE,
        floor_area_ft2=2000,
        circuits=D2C,
        generators=(builders.generator(rated_kw=rated_kw, rated_kva=rated_kw),),
    )
    feeders = tuple(f.model_copy(update=feeder) if f.from_id == "set" else f for f in base.feeders)
    return builders.with_parts(base, feeders=feeders)


@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_the_house_of_d2c_is_34_790_va_at_its_switch_and_at_a_set_wired_for_100_a(edition):
    """Annex D2(c), printed: 34,790 VA, 145 A by the optional method, read from a whole site.

    702.4 asks for the full load that transfers and leaves the way to Article 220; 220.82(A) is for
    conductors of 100 A or more that carry a whole dwelling.
    """
    site = d2c(36, ampacity_a=175)
    at_switch = demand_of(site, "ats", rules=rulebook(edition)).sheet("optional")
    assert (at_switch.total_va, at_switch.rounded_a) == (pytest.approx(34_790), 145)
    at_set = demand_of(site, "set", rules=rulebook(edition)).sheet("full")
    assert (at_set.total_va, at_set.rounded_a) == (pytest.approx(34_790), 145)
    assert at_set.existing_a is not None
    assert any("By the standard method it is 46,525 VA" in n for n in at_set.notes)
    (small,) = over(d2c(30, ampacity_a=150))
    assert "by the optional method for all that transfers" in small.text


def test_a_set_wired_for_less_than_100_a_is_held_to_the_standard_method():
    """By arithmetic: 5,625 general, 8,000 range, 5,000 dryer, 5,700 water heater and dishwasher,
    20,760 heat, 1,440 of the largest motor, VA. The device of
    the first run is of 90 A."""
    for site, said in ((d2c(20), "count for 90 A"), (d2c(36, ampacity_a=99), "count for 99 A")):
        sheet = demand_of(site, "set", rules=rulebook("2023")).sheet("full")
        assert sheet.total_va == pytest.approx(46_525)
        (note,) = (n for n in sheet.notes if n.startswith("702.4"))
        assert "The optional one would come to 34,790 VA" in note
        assert said in note


@pytest.mark.parametrize(
    ("size", "terminal_c", "carried_a", "optional"),
    [("1", 75, 130, True), ("3", 75, 100, True), ("3", None, 85, False), ("4", 75, 85, False)],
)
def test_the_wire_and_not_the_breaker_decides_whether_the_optional_method_may_be_used(
    size, terminal_c, carried_a, optional
):
    """220.82(A) asks for conductors of 100 A. Table 310.16, copper: 1 carries 130 A and 3 100 A at
    75 °C, 3 85 A at 60 °C; the breaker of the set has 90 A."""
    segment = Segment(run_ft=20, size=size, metal="copper", terminal_c=terminal_c)
    site = d2c(22, segments=(segment,), breaker_a=90, ampacity_a=None)
    sheet = demand_of(site, "set", rules=rulebook("2023")).sheet("full")
    assert sheet.total_va == pytest.approx(34_790 if optional else 46_525)
    (note,) = (n for n in sheet.notes if n.startswith("702.4"))
    words = f"at {carried_a} A" if optional else "count for 90 A"
    assert words in note


def test_the_wire_to_a_switch_of_90_a_decides_too():
    """The same on the utility side: 1 copper behind 90 A carries 130 A at 75 °C, 8 copper 50 A."""
    for size, carried_a in (("1", 130), ("8", 50)):
        segment = Segment(run_ft=20, size=size, metal="copper", terminal_c=75)
        base = d2c(22)
        feeders = tuple(
            f.model_copy(update={"segments": (segment,), "breaker_a": 90, "ampacity_a": None})
            if f.to_input == "utility"
            else f
            for f in base.feeders
        )
        site = builders.with_parts(base, feeders=feeders)
        found = demand_of(site, "ats", rules=rulebook("2023"))
        if carried_a >= 100:
            sheet = found.sheet("optional")
            assert sheet.total_va == pytest.approx(34_790)
            assert any("they carry 130 A" in n and "rating is 90 A" in n for n in sheet.notes)
        else:
            (reason,) = (r.reason for r in found.refusals if r.method == "optional")
            assert "those of Transfer switch carry 50 A" in reason


def test_a_set_that_takes_a_part_of_the_house_is_held_to_the_standard_method():
    base = builders.backed_up_site(scenarios=())
    sheet = demand_of(base, "set", rules=rulebook("2023")).sheet("full")
    (note,) = (n for n in sheet.notes if n.startswith("702.4"))
    assert note.endswith("here by the standard method.")
