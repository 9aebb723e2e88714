"""What stands in no dwelling: pumps and barns, and the panels of other buildings.

220.53 speaks of the appliances of a dwelling; 430.24 adds motors and 125 % of the largest;
310.12 is for the load of a dwelling; 250.32, 225.31 and 225.33 for other buildings: all of it from
memory.
"""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.demand.report import demand_of
from server.rules.wiring.feeder import feeder_wiring, governing
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, RULES, codes, found, of_kind

PUMPS = ((7.5, (1, 3)), (5.0, (2, 4)), (3.0, (5, 7)), (2.0, (6, 8)))


def farmyard(*more, **changes):
    """A house and a pump house of four irrigation pumps, the largest of 7-1/2 hp."""
    pumps = tuple(
        of_kind(
            f"pump-{n}", "pump", spaces, "irrigation-pump", load_w=750 * hp, horsepower=hp
        ).model_copy(update={"place": "outbuilding"})
        for n, (hp, spaces) in enumerate(PUMPS)
    )
    base = builders.normal_only_site(scenarios=(), floor_area_ft2=1800, zones=HOUSE)
    shed = builders.panel("pump", detached_building=True, **changes)
    run = builders.feeder(
        "main", "pump", breaker_a=90, segments=(Segment(run_ft=200, size="1/0", metal="aluminum"),)
    )
    return with_parts(
        base,
        panels=(*base.panels, shed),
        feeders=(*base.feeders, run),
        circuits=(*base.circuits, *pumps, *more),
    )


def test_pumps_of_a_farm_have_no_share_of_a_dwellings_appliances():
    """Table 430.248 at 230 V: 40, 28, 17 and 12 A; 97 A x 240 V and 25 % of 9,600 VA: 25,680 VA."""
    sheet = demand_of(farmyard(), "main-pump", rules=RULES).sheet("standard")
    assert sheet.total_va == pytest.approx(25_680)


def test_pumps_make_a_farm_of_the_service_that_feeds_them():
    site = farmyard()
    service = demand_of(site, "grid", rules=RULES)
    assert governing(service).method == "farm"
    assert any("Largest farm load, Panel pump" in x.label for x in governing(service).lines)


def test_the_set_of_a_whole_farm_carries_it_by_the_same_part():
    base = builders.whole_house_site(scenarios=(), floor_area_ft2=1800, zones=HOUSE)
    yard = farmyard()
    house = base.panels[0].id
    run = yard.feeders[-1].model_copy(update={"from_id": house})
    pumps = tuple(c for c in yard.circuits if c.panel_id == "pump")
    site = with_parts(
        base,
        panels=(*base.panels, yard.panels[-1]),
        feeders=(*base.feeders, run),
        circuits=(*base.circuits, *pumps),
    )
    of_service = demand_of(site, site.services[0].id, rules=RULES).sheet("farm")
    full = demand_of(site, site.generators[0].id, rules=RULES).sheet("full")
    assert of_service is not None
    assert full is not None
    assert full.total_va == pytest.approx(of_service.total_va)
    assert any("Part V" in note for note in full.notes)


def test_wire_of_a_farm_has_no_share_of_a_dwellings():
    service = builders.feeder(
        "grid", "main", segments=(Segment(run_ft=30, size="4/0", metal="aluminum"),)
    )
    yard = farmyard()
    site = with_parts(yard, feeders=(service, *(f for f in yard.feeders if f.to_id != "main")))
    wires = {w.feeder_id: w for w in feeder_wiring(site, rules=RULES)}
    assert not wires["grid-main"].whole_dwelling
    house = with_parts(
        site,
        panels=tuple(p for p in site.panels if p.id != "pump"),
        feeders=(service,),
        circuits=tuple(c for c in site.circuits if c.panel_id != "pump"),
    )
    assert {w.feeder_id: w for w in feeder_wiring(house, rules=RULES)}["grid-main"].whole_dwelling


def test_an_old_three_wire_feeder_asks_for_electrode_and_disconnect_as_well():
    site = farmyard(neutral_bonded=True)
    assert "detached-three-wire" in codes(site)
    note = found(site, "detached-building")
    assert "four-wire" not in note.text
    assert "electrode" in note.text
    assert "four-wire" in found(farmyard(), "detached-building").text


def test_a_building_with_more_than_six_handles_needs_a_main():
    more = tuple(
        of_kind(f"light-{n}", "pump", (space,), "lighting")
        for n, space in enumerate((9, 10, 11), start=1)
    )
    assert "detached-many-disconnects" not in codes(farmyard(*more[:2]))
    assert found(farmyard(*more), "detached-many-disconnects").value == 7
    assert "detached-many-disconnects" not in codes(farmyard(*more, main_a=100))
    pair = (
        more[0].model_copy(update={"multiwire_partner_id": more[1].id}),
        more[1].model_copy(update={"multiwire_partner_id": more[0].id}),
    )
    assert "detached-many-disconnects" not in codes(farmyard(*pair, more[2]))


@pytest.mark.parametrize(
    ("place", "section"),
    [("Bathroom", "240.24(E)"), ("Clothes closet, hall", "240.24(D)"), ("Garage", "")],
)
def test_a_panel_stands_neither_in_a_bathroom_nor_in_a_clothes_closet(place, section):
    base = builders.normal_only_site(scenarios=())
    panels = tuple(p.model_copy(update={"location": place}) for p in base.panels)
    site = with_parts(base, panels=panels)
    if not section:
        assert "panel-misplaced" not in codes(site)
        return
    assert found(site, "panel-misplaced").section == section
