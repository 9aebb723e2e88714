"""What a set carries by hand, leg by leg: handles' own legs, and ranges and dryers on the neutral.

702.4(A) (2023; 702.4(B)(1) before): all that is meant to run at one time. 220.61(A) and (B)(1):
the neutral carries the largest unbalance, of household cooking and dryers 70 %. From memory.
"""

from __future__ import annotations

import pytest

from server.domain.supply import Handle
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind

RULES = rulebook("2023")


def sheet_of(site):
    return demand_of(site, "set", rules=RULES).sheet("selected")


def on_handles(*legs, crossed=False):
    """1,200 and 600 W of 120 V on opposite legs of the panel, 2,400 W between them, by handles."""
    base = builders.handle_set_site(scenarios=())
    handles = tuple(Handle(circuit_id=c, leg=x) for c, x in zip("abc", legs, strict=False))
    feeders = tuple(
        f.model_copy(update={"swap_legs": crossed}) if f.from_id == "set" else f
        for f in base.feeders
    )
    switch = base.transfer_switches[0].model_copy(update={"handles": handles})
    return with_parts(base, transfer_switches=(switch,), feeders=feeders)


@pytest.mark.parametrize(
    ("site", "l1_a", "l2_a", "neutral_a"),
    [
        (on_handles("L1", "L2"), 10, 5, 10),
        (on_handles("L2", "L1"), 5, 10, 10),
        (on_handles("L1", "L1"), 15, 0, 15),
        (on_handles("L2", "L2"), 0, 15, 15),
        (on_handles("L2", "L2", crossed=True), 15, 0, 15),
        (on_handles("L1", "L1", "L2"), 25, 10, 15),
    ],
)
def test_handles_put_circuits_on_their_own_legs(site, l1_a, l2_a, neutral_a):
    """1,200 / 120 = 10 A, 600 / 120 = 5 A, 2,400 / 240 = 10 A on both."""
    legs = sheet_of(site).legs
    assert (legs.l1_a, legs.l2_a, legs.neutral_a) == pytest.approx((l1_a, l2_a, neutral_a))


def test_the_utility_feeds_them_on_the_legs_of_the_panel():
    loads = {s.method: s for s in demand_of(on_handles("L1", "L1"), "grid", rules=RULES).sheets}
    legs = loads["standard"].legs
    other = demand_of(on_handles("L1", "L2"), "grid", rules=RULES).sheet("standard").legs
    assert (legs.l1_a, legs.l2_a) == (other.l1_a, other.l2_a)


@pytest.mark.parametrize(
    ("legs", "past"), [(("L1", "L1", "L1"), True), (("L1", "L2", "L1"), False)]
)
def test_a_set_is_held_to_the_leg_that_the_handles_fill(legs, past):
    """1,100, 1,200 and 600 W: 24.2 A all on L1, 14.2 A at most else; 5 kW give 20.5 A."""
    parts = (
        of_kind("dish", "main", (1,), "dishwasher", load_w=1100),
        of_kind("cool", "main", (3,), "portable-heater", load_w=1200),
        of_kind("bin", "main", (5,), "portable-heater", load_w=600),
    )
    handles = tuple(Handle(circuit_id=c.id, leg=x) for c, x in zip(parts, legs, strict=True))
    switch = builders.handle_set_site().transfer_switches[0]
    site = builders.handle_set_site(
        scenarios=(),
        zones=HOUSE,
        circuits=parts,
        generators=(builders.generator(rated_kw=5.0, portable=True, start="by_hand"),),
        transfer_switches=(switch.model_copy(update={"handles": handles}),),
    )
    found = [
        f
        for f in check_site(site).findings
        if f.code == "demand-above-rating" and f.element_id == "set"
    ]
    assert bool(found) is past
    for one in found:
        assert "24 A" in one.text


def selecting(*circuits):
    return builders.interlock_site(scenarios=(), circuits=circuits)


def test_a_range_and_a_dryer_lie_on_the_neutral_by_70_percent():
    """8,800 x 0.7 / 240 = 25.67 A; 4,300 x 0.7 / 240 = 12.54 A; 1,500 / 120 = 12.5 A."""
    oven = of_kind("range", "main", (1, 3), "range-oven", load_w=8800)
    dryer = of_kind("dryer", "main", (5, 7), "dryer", load_w=4300, part_120_w=300)
    micro = of_kind("micro", "main", (9,), "microwave", load_w=1500, power_factor=1.0)
    assert sheet_of(selecting(oven)).legs.neutral_a == pytest.approx(25.667, abs=0.01)
    legs = sheet_of(selecting(dryer)).legs
    assert legs.neutral_a == pytest.approx(12.542, abs=0.01)
    # 300 W of it from one leg to neutral: 4,000 / 240 + 300 / 120.
    assert max(legs.l1_a, legs.l2_a) == pytest.approx(19.167, abs=0.01)
    all_of_it = sheet_of(selecting(oven, dryer, micro)).legs
    assert all_of_it.neutral_a == pytest.approx(25.667 + 12.542 + 12.5, abs=0.01)


def test_what_lies_between_the_legs_alone_is_on_no_neutral():
    heater = of_kind("heater", "main", (1, 3), "water-heater", load_w=4500)
    assert sheet_of(selecting(heater)).legs.neutral_a == 0
    part = heater.appliances[0].model_copy(update={"part_120_w": 600})
    told = heater.model_copy(update={"appliances": (part,)})
    assert sheet_of(selecting(told)).legs.neutral_a == pytest.approx(600 / 120)
