"""Ratings of a branch circuit of several outlets.

210.18 (2017: 210.3): 15, 20, 30, 40 and 50 A; source: electricalcode.net article 210 part 2.
210.23(D) (2017 and 2020: (C)): in a dwelling 40 and 50 A for cooking appliances fastened in place
alone; 424.3(A) of 2017: fixed heat on 15, 20, 25 or 30 A; both from memory.
"""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.check import check_site
from tests.rules.check_sites import of_kind, plain

CODE = "several-outlets-rating"


def together(*loads: tuple[str, float], device_a: float, place: str = "dwelling", **changes):
    (first, first_w), *rest = loads
    circuit = of_kind("both", "main", (1, 3), first, load_w=first_w, breaker_a=device_a)
    others = (KINDS[k].appliance(f"x{i}", load_w=w) for i, (k, w) in enumerate(rest))
    circuit = circuit.model_copy(update={"appliances": (*circuit.appliances, *others)})
    return plain(circuit.model_copy(update={"place": place, **changes}))


def told(site, code: str = CODE, edition: str = "2023"):
    return [f for f in check_site(site, edition=edition, recheck=True).findings if f.code == code]


@pytest.mark.parametrize(("edition", "section"), [("2017", "210.3"), ("2023", "210.18")])
@pytest.mark.parametrize(
    ("loads", "device_a"),
    [
        ((("sauna", 6000), ("hot-tub", 6000)), 60),
        ((("wall-oven", 5000), ("cooktop", 9600)), 60),
        ((("well-pump", 1500), ("water-heater", 3000)), 25),
        ((("well-pump", 1500), ("water-heater", 4500)), 35),
    ],
)
def test_a_rating_between_or_above_is_none_of_several_outlets(loads, device_a, edition, section):
    (one,) = told(together(*loads, device_a=device_a), edition=edition)
    assert (one.severity, one.section, one.value) == ("warning", section, device_a)
    assert one.limit == 50
    assert "15, 20, 30, 40 or 50 A" in one.text


@pytest.mark.parametrize(
    ("edition", "section"),
    [("2017", "210.23(C)"), ("2020", "210.23(C)"), ("2023", "210.23(D)"), ("2026", "210.23(D)")],
)
@pytest.mark.parametrize("device_a", [40, 50])
def test_40_and_50_a_are_for_cooking_in_a_dwelling(device_a, edition, section):
    tanks = (("water-heater", 2800), ("water-heater", 2800))
    (one,) = told(together(*tanks, device_a=device_a), edition=edition)
    assert (one.severity, one.section, one.limit) == ("warning", section, 30)
    assert one.advised.amps == 30  # 2 x 2,800 W, 125 %: 29.2 A
    assert told(together(*tanks, device_a=device_a, place="outbuilding")) == []
    cooking = (("wall-oven", 4000), ("cooktop", 5000))
    assert told(together(*cooking, device_a=device_a)) == []


@pytest.mark.parametrize(
    ("loads", "device_a"),
    [
        ((("water-heater", 3000), ("well-pump", 1500)), 30),
        ((("radiant-floor", 2400), ("baseboard", 2000)), 25),  # 424.3(A)
        ((("range-oven", 4000), ("range-burners", 7000)), 60),  # one range, one outlet
        ((("heat-strip", 9600), ("air-handler", 500)), 60),  # one unit
        ((("mini-split", 2000), ("mini-split", 2000)), 25),  # 430.53, 440
        ((("well-pump", 1500), ("well-pump", 1500)), 25),  # 430.53
        ((("car-charger-24", 5760), ("car-charger-24", 5760)), 60),  # 625.40
    ],
)
def test_what_is_one_outlet_or_has_a_rule_of_its_own_is_let_be(loads, device_a):
    assert told(together(*loads, device_a=device_a)) == []


def test_a_dryer_or_two_heaters_past_30_a_have_their_own_findings():
    """One heater beside a tank has none of its own, so the rating of several outlets is told."""
    dryer = (("dryer", 5000), ("water-heater", 2800))
    heaters = (("baseboard", 4000), ("baseboard", 4000))
    mixed = (("baseboard", 3000), ("water-heater", 2800))
    assert told(together(*dryer, device_a=40)) == []
    assert told(together(*heaters, device_a=40)) == []
    assert len(told(together(*mixed, device_a=40))) == 1


def test_no_such_rating_is_offered():
    """1,500 W and 4,500 W: past 30 A, and neither 35 A nor 40 A is for them."""
    pump = told(
        together(("water-heater", 4500), ("water-heater", 4500), device_a=30), "device-below-load"
    )
    assert [f.advised for f in pump] == [None]
    assert "a circuit of its own" in pump[0].mend
    ovens = (("wall-oven", 6000), ("cooktop", 6000))
    (oven,) = told(together(*ovens, device_a=20), "device-below-load")
    assert oven.advised.amps in (30, 40)


def test_tools_that_plug_in_leave_a_note():
    """A shop in a garage may be taken as no part of the dwelling unit."""
    (one,) = told(together(("welder", 4800), ("air-compressor", 2800), device_a=50))
    assert one.severity == "note"


def test_grow_lights_are_given_no_25_a():
    """1,980 W, continuous: 16.5 x 1.25 = 20.6 A; lights stand on 20 A (210.23(B); 2023: (C))."""
    lights = of_kind(
        "grow", "main", (1,), "grow-lights", load_w=1980, volts=120, power_factor=1, breaker_a=20
    )
    (one,) = told(plain(lights), "device-below-load")
    assert one.value == pytest.approx(20.6, abs=0.05)
    assert one.advised is None


def test_between_the_legs_they_are_given_none_either():
    """4,000 W at 240 V, continuous: 16.7 x 1.25 = 20.8 A; 210.6(A) is asked about beside it."""
    lights = of_kind(
        "grow", "main", (1, 3), "grow-lights", load_w=4000, volts=240, power_factor=1, breaker_a=20
    )
    (one,) = told(plain(lights), "device-below-load")
    assert one.value == pytest.approx(20.8, abs=0.05)
    assert one.advised is None
    assert "25 A" not in one.mend


@pytest.mark.parametrize(("device_a", "told_so"), [(20, False), (25, True)])
def test_grow_lights_behind_25_a_are_asked_about(device_a, told_so):
    """A dwelling's lights are on 20 A at most (210.23)."""
    lights = of_kind(
        "grow", "main", (1,), "grow-lights", load_w=1500, volts=120, breaker_a=device_a
    )
    assert bool(told(plain(lights), "plug-breaker-large")) is told_so


@pytest.mark.parametrize(
    ("kinds", "told_so"),
    [
        (("portable-heater", "portable-heater"), False),
        (("barn-lights", "barn-lights"), False),
        (("well-pump", "water-heater"), True),
    ],
)
@pytest.mark.parametrize("device_a", [25, 35])
def test_plugs_and_lights_past_20_a_have_a_finding_of_their_own(kinds, told_so, device_a):
    found = told(together(*((k, 1000) for k in kinds), device_a=device_a))
    assert bool(found) == told_so


def test_at_20_a_plugs_and_lights_have_the_rating_they_may_have():
    assert told(together(("portable-heater", 1000), ("lighting", 100), device_a=20)) == []


@pytest.mark.parametrize(("device_a", "told_so"), [(30, False), (31, True)])
def test_up_to_30_a_is_open_to_all_of_several(device_a, told_so):
    found = told(together(("water-heater", 2000), ("baseboard", 1000), device_a=device_a))
    assert bool(found) == told_so
