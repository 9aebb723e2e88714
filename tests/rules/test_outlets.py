"""Lights and plugs of outbuildings and common areas, which no floor area carries.

180 VA for each yoke: 220.14(I), as quoted in forums.mikeholt.com threads 2554556 and 2584179. What
lights draw: 220.14(D), from memory.
"""

from __future__ import annotations

import pytest

from server.rules.demand.mapping import Facts
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind

RULES = rulebook("2023")


def shed(*circuits, **panel_changes):
    """A backed-up panel in a shed; the house of 1,500 ft² has nothing else but one counter."""
    base = builders.backed_up_site(scenarios=(), floor_area_ft2=1500, zones=HOUSE)
    panels = tuple(
        p.model_copy(update={"detached_building": True, **panel_changes}) if p.id == "backed" else p
        for p in base.panels
    )
    counter = of_kind("counter", "main", (10,), "kitchen-plugs", breaker_a=20)
    return with_parts(base, panels=panels, circuits=(counter, *circuits))


def plugs(outlets=None, **changes):
    circuit = of_kind("plugs", "backed", (9,), "workshop-plugs", load_w=500, power_factor=1.0)
    return circuit.model_copy(update={"plug_outlets": outlets, **changes})


def lights():
    return of_kind("lamps", "backed", (10,), "lighting", load_w=200, power_factor=1.0)


def sheet(site, element_id="backed", method="standard", **facts):
    demand = demand_of(site, element_id, rules=RULES, facts=Facts(**facts))
    found = demand.sheet(method)
    assert found is not None
    return found


def line(of, word):
    return next(x for x in of.lines if word in x.label)


def test_four_outlets_and_the_lamps_of_a_shed_are_lines_of_its_feeder():
    """4 x 180 = 720 VA of plugs and 200 VA of lamps: 920 VA in all."""
    found = sheet(shed(plugs(4), lights()), "ats-backed")
    assert line(found, "outlets").demand_va == 720
    assert (line(found, "outlets").quantity, line(found, "outlets").each) == (4, 180)
    assert line(found, "outlets").cite.section == "220.14(I)"
    assert line(found, "Lights").demand_va == 200
    assert line(found, "Lights").cite.section == "220.14(D)"
    assert found.total_va == pytest.approx(920)
    assert found.complete
    assert line(found, "Lighting").connected_va == 0


def test_they_count_at_the_service_too_beside_the_floor_area():
    """Area 4,500 + 3,000 + 1,500 = 9,000: 3,000 + 35 % of 6,000 = 5,100 VA, and 920 VA."""
    assert sheet(shed(plugs(4), lights()), "grid").total_va == pytest.approx(6020)


def test_the_optional_method_takes_them_to_its_steps():
    """9,000 + 920 = 9,920 VA, all in the first 10,000 VA; without them 9,000 VA."""
    found = sheet(shed(plugs(4), lights()), "grid", "optional")
    assert line(found, "outlets").connected_va == 720
    assert found.total_va == pytest.approx(9920)
    assert sheet(shed(), "grid", "optional").total_va == pytest.approx(9000)


def test_what_is_entered_on_them_counts_where_it_is_more():
    """Two outlets are 360 VA; 500 VA is entered on them: 250 VA each."""
    found = line(sheet(shed(plugs(2))), "outlets")
    assert (found.each, found.demand_va) == (250, 500)
    assert "more" in found.note


def test_outlets_not_counted_are_asked_and_count_at_what_is_entered():
    found = sheet(shed(plugs(), lights()))
    assert found.missing == ("How many outlets for plugs these have, outside a dwelling: "
                             "Circuit plugs.",)  # fmt: skip
    assert line(found, "outlets").demand_va == 500
    assert "not counted" in line(found, "outlets").note


def test_rooms_in_a_detached_building_go_by_their_floor_area():
    """A studio of 300 ft² at 3 VA."""
    studio = shed(plugs(), lights(), floor_area_ft2=300)
    for found in (sheet(studio), sheet(shed(plugs()), area_ft2_by_panel={"backed": 300})):
        assert line(found, "Lighting").connected_va == 900
        assert not [x for x in found.lines if "outlets" in x.label]


@pytest.mark.parametrize("place", ["outbuilding", "common_area"])
def test_a_circuit_of_the_house_panel_can_feed_another_place(place):
    barn = of_kind("barn", "main", (12,), "workshop-plugs", load_w=400).model_copy(
        update={"place": place, "plug_outlets": 3}
    )
    found = sheet(shed(barn), "grid")
    assert line(found, "outlets").demand_va == 540
    assert found.legs.l2_a - found.legs.l1_a == pytest.approx(4.5)


def test_alarms_count_at_what_they_draw_and_need_no_count_of_outlets():
    alarms = of_kind("alarms", "backed", (9,), "smoke-alarms", load_w=10, power_factor=1.0)
    found = sheet(shed(alarms))
    assert found.complete
    assert line(found, "alarms").demand_va == 10
    assert line(found, "alarms").cite.section == "220.14(A)"


@pytest.mark.parametrize(
    ("edition", "section", "area"),
    [
        ("2017", "220.14(I)", "220.14(J)"),
        ("2023", "220.14(I)", "220.41"),
        ("2026", "120.14(I)", "120.41"),
    ],
)
def test_each_edition_cites_its_own_and_says_what_an_authority_may_leave_out(
    edition, section, area
):
    cite = rulebook(edition).figure("receptacle_va").cite
    assert cite.section == section
    assert "authority may leave those out" in cite.local
    assert area in cite.local


def part_v(site, method="optional"):
    found = sheet(site, "grid", method)
    return [note for note in found.notes if "Part V" in note]


def test_an_ordinary_shed_is_no_farm_building():
    assert part_v(shed(plugs(4), lights())) == []


@pytest.mark.parametrize(
    "kind", ["barn-lights", "heat-mats", "greenhouse-heater", "walk-in-cooler"]
)
@pytest.mark.parametrize("method", ["optional", "existing"])
def test_what_is_in_a_building_makes_a_farm_building_of_it(kind, method):
    found = part_v(shed(of_kind("farm", "backed", (12, 14), kind), lights()), method)
    assert len(found) == 1
    assert "220.102, 220.103" in found[0]
    assert all(name in found[0] for name in ("Circuit farm", "Circuit lamps"))


def test_a_circuit_of_the_house_panel_tells_of_its_own_outbuilding_alone():
    hens = of_kind("hens", "main", (12,), "stock-tank-heater").model_copy(
        update={"place": "outbuilding"}
    )
    bench = of_kind("bench", "main", (14,), "workshop-plugs").model_copy(
        update={"place": "outbuilding"}
    )
    (note,) = part_v(shed(hens, bench, lights()))
    assert "Circuit hens" in note
    assert "bench" not in note
    assert "lamps" not in note


def test_heat_mats_in_the_house_are_no_farm_load():
    assert part_v(shed(of_kind("mats", "main", (12,), "heat-mats"), lights())) == []
