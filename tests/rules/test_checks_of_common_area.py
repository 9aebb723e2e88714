"""210.25(B): what several dwellings share may not come from the equipment of one of them.

The text of 2017 and 2020 was read at electricallicenserenewal.com, NEC-Content section 819; the
answer for two panels in a shared cellar in forums.mikeholt.com thread 9979.
"""

from __future__ import annotations

import pytest

from server.domain.panel import Panel
from server.domain.supply import Feeder
from server.domain.topology import bus_of_circuit
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from server.rules.mends.recheck import offers
from tests import builders
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


@pytest.mark.parametrize(
    ("where", "change"),
    [
        (
            "none",
            "a house panel for what Panel main feeds of it, on a feed of its own from the meter "
            "with wire for it",
        ),
        (
            "below",
            "panels of the house for what House panel feeds of it, on a feed of its own from the "
            "meter with wire for it",
        ),
    ],
)
def test_the_mend_feeds_them_from_ahead_and_clears_it(where, change):
    report = check_site(two_family(house_panel=where), recheck=True)
    (finding,) = [f for f in report.findings if f.code == CODE]
    assert finding.recheck is not None
    assert (finding.recheck.change, finding.recheck.clears) == (change, True)
    assert finding.recheck.brings == ()


def test_a_pump_that_must_run_stays_on_the_generator_by_the_mend():
    """The switch and the panel behind it are set beside a second time, on the same set."""
    base = builders.backed_up_site(scenarios=())
    den = of_kind("den", "backed", (9,), "plugs")
    hall = of_kind("hall", "main", (10,), "plugs")
    pump = of_kind("pump", "backed", (12,), "sump-pump").model_copy(
        update={"place": "common_area", "load_class": "must_serve"}
    )
    site = with_parts(base, circuits=(den, hall, pump))
    (offer,) = offers(site, found(site, CODE), rulebook("2023"))
    moved = offer.site.circuit("pump")
    assert moved.panel_id == "house-backed"
    assert bus_of_circuit(offer.site)["pump"].kind == "backed_up"
    assert CODE not in codes(offer.site)
    assert {f.from_id for f in offer.site.feeders_into["house-ats"]} == {"house-main", "set"}


def test_the_dwelling_panel_still_carries_its_whole_dwelling_beside_a_house_panel():
    """So the optional method stays permitted on it: the stair is no part of the dwelling."""
    site = with_parts(two_family(house_panel="beside"), floor_area_ft2=1200, zones=HOUSE)
    demand = demand_of(site, "main", rules=rulebook("2023"))
    assert demand.sheet("optional") is not None
