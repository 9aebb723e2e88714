"""What a mend names first is what is tried: a main, a hand, wire without a raceway."""

from __future__ import annotations

import pytest

from server.domain.supply import Battery
from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind, plain, solar_site, wired_shed


def tried(site, code):
    """The finding of a code with its mend re-checked."""
    return next(f for f in check_site(site, recheck=True).findings if f.code == code)


def test_the_main_that_a_mend_names_first_is_tried_and_its_place_left_to_look_at():
    """175 A + 59.4 A is within 120 % of 200 A at the far end; 125 A is under the load."""
    kilns = tuple(
        of_kind(f"kiln-{n}", "main", (n, n + 2), "kiln", load_w=20_000, breaker_a=80)
        for n in (2, 6)
    )
    battery = Battery(id="b", name="Battery", panel_id="main", usable_kwh=13, inverter_kw=11.4)
    base = solar_site()
    site = with_parts(base, solar=(), batteries=(battery,), circuits=(*base.circuits, *kilns))
    finding = tried(site, "solar-busbar")
    assert "(175 A is a standard size)" in finding.mend
    assert finding.recheck.change == "a main of 175 A in Panel main, its sources at the far end"
    assert "only a note is left" in finding.recheck.said
    assert finding.recheck.said.endswith("No other finding is new or worse.")


def test_a_portable_set_is_relieved_by_hand_and_by_no_manager():
    """702.4: by hand one chooses what runs together."""
    base = builders.interlock_site(scenarios=())
    heavy = of_kind("kiln", "main", (9, 11), "kiln", load_w=9_000, breaker_a=60)
    finding = tried(with_parts(base, circuits=(*base.circuits, heavy)), "demand-above-rating")
    assert finding.mend.startswith("It may be run with these breakers left off: ")
    assert "management" not in finding.mend
    assert finding.recheck.change.endswith("kept off until switched on by hand")
    assert finding.recheck.clears


@pytest.mark.parametrize(("insulation", "words"), [("SER", False), ("THWN-2", True)])
def test_a_cable_is_renewed_without_a_raceway(insulation, words):
    finding = tried(
        wired_shed("6", insulation=insulation),
        "wire-too-small",
    )
    assert ("in a raceway to fit" in finding.recheck.change) is words


def test_a_continuous_branch_cites_the_section_of_branches_alone():
    (finding,) = [
        f
        for f in check_site(plain(of_kind("k", "main", (1, 3), "kiln", breaker_a=40))).findings
        if f.code == "device-below-load"
    ]
    assert finding.section == "210.20(A)"


def test_more_cooking_than_one_breaker_may_feed_is_shared_out():
    """Two tops of 7 kW and an oven of 4.5 kW are 77 A; 60 A is the most. Note 4 takes one top and
    up to two ovens together, so that one top less is mended.
    """
    oven = of_kind("ovens", "main", (1, 3), "wall-oven", breaker_a=50)
    top = of_kind("top", "main", (5, 7), "cooktop").appliances[0]
    loads = (
        oven.appliances[0].model_copy(update={"load_w": 4500.0}),
        *(top.model_copy(update={"id": f"top-{n}", "load_w": 7000.0}) for n in range(2)),
    )
    finding = tried(plain(oven.model_copy(update={"appliances": loads})), "device-below-load")
    assert finding.mend == (
        "Put less on it, or give what draws most a circuit of its own: 60 A is the most for a "
        "range, cooktop or oven on one breaker."
    )
    assert finding.recheck.change.endswith("on a new circuit of its own in space 2")
    assert finding.recheck.clears
