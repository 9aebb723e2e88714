"""210.25(B): what several dwellings share may not come from the equipment of one of them.

The text of 2017 and 2020 was read at electricallicenserenewal.com, NEC-Content section 819; the
answer for two panels in a shared cellar in forums.mikeholt.com thread 9979.
"""

from __future__ import annotations

from server.domain.panel import Panel
from server.domain.supply import Feeder
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, codes, found, of_kind, plain

CODE = "common-area-on-a-dwelling"


def two_family(*, stair_place="common_area", house_panel="none"):
    """One service; a main panel with a dwelling's kitchen; the stair lights where ``house_panel``
    says: in it (``none``), on a panel it feeds (``below``) or on one of the service (``beside``).
    """
    kitchen = of_kind("kitchen", "main", (1,), "kitchen-plugs", breaker_a=20)
    panel_id = "main" if house_panel == "none" else "common"
    stair = of_kind("stair", panel_id, (3,), "outdoor-lights").model_copy(
        update={"place": stair_place}
    )
    if house_panel == "none":
        return plain(kitchen, stair)
    base = plain(kitchen)
    common = Panel(id="common", name="House panel", rating_a=100, main_a=60, spaces=12)
    start, breaker = ("grid", None) if house_panel == "beside" else ("main", 60)
    feeder = Feeder(
        id="to-common", name="House feeder", from_id=start, to_id="common", breaker_a=breaker
    )
    return with_parts(
        base,
        panels=(*base.panels, common),
        feeders=(*base.feeders, feeder),
        circuits=(kitchen, stair),
    )


def test_stair_lights_on_a_dwellings_panel_are_found_with_how_many():
    finding = found(two_family(), CODE)
    assert (finding.severity, finding.section) == ("warning", "210.25(B)")
    assert (finding.value, finding.limit, finding.unit) == (1, 0, "circuits")
    assert "on 1 circuit: Circuit stair." in finding.text
    assert finding.local
    assert finding.why
    assert finding.who


def test_a_house_panel_beside_the_dwelling_is_in_order_and_one_behind_it_is_not():
    assert CODE not in codes(two_family(house_panel="beside"))
    finding = found(two_family(house_panel="below"), CODE)
    assert finding.element_id == "common"
    assert "by way of Panel main" in finding.text


def test_one_dwelling_has_nothing_in_common():
    assert CODE not in codes(two_family(stair_place="dwelling"))
    assert CODE not in codes(two_family(stair_place="outbuilding"))


def test_the_mend_feeds_them_from_ahead_and_clears_it():
    for site, change in (
        (two_family(), "a house panel on Service grid for what Panel main feeds of it"),
        (two_family(house_panel="below"), "House panel fed from Service grid"),
    ):
        (finding,) = [f for f in check_site(site, recheck=True).findings if f.code == CODE]
        assert finding.recheck is not None
        assert (finding.recheck.change, finding.recheck.clears) == (change, True)


def test_the_dwelling_panel_still_carries_its_whole_dwelling_beside_a_house_panel():
    """So the optional method stays permitted on it: the stair is no part of the dwelling."""
    site = with_parts(two_family(house_panel="beside"), floor_area_ft2=1200, zones=HOUSE)
    demand = demand_of(site, "main", rules=rulebook("2023"))
    assert demand.sheet("optional") is not None
