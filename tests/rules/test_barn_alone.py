"""A barn on a service of its own: no lines of a dwelling, and one building of all that is in it.

220.52 ("in each dwelling unit"), 220.82(A), 220.102(B), Table 220.102 and 220.103: from memory.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.demand.units import one_family, serves_no_dwelling
from server.rules.wiring.feeder import governing
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES, of_kind

GENERAL = ("Lighting and general plugs", "Small-appliance circuits", "Laundry circuits")


def outside(circuit, **changes):
    return circuit.model_copy(update={"place": "outbuilding"} | changes)


def barn(**changes):
    """Service and panel of a barn: a 5 hp pump, mats of 9,000 W and four outlets."""
    pump = of_kind("pump", "main", (1, 3), "irrigation-pump", load_w=5000, horsepower=5)
    mats = of_kind("mats", "main", (2, 4), "heat-mats", load_w=9000)
    plugs = of_kind("plugs", "main", (5,), "plugs", load_w=300, volts=120)
    circuits = (outside(pump), outside(mats), outside(plugs, plug_outlets=4))
    return builders.normal_only_site(circuits=circuits, scenarios=(), **changes)


def labels(sheet):
    return [line.label for line in sheet.lines]


def test_a_barn_has_no_lines_of_a_dwelling():
    """Table 430.248: 28 A x 240 V = 6,720; 9,000; 4 x 180 = 720; 25 % of 6,720: 18,120 VA."""
    found = demand_of(barn(), "grid", rules=RULES)
    sheet = found.sheet("standard")
    assert not set(GENERAL) & set(labels(sheet))
    assert sheet.total_va == pytest.approx(18_120)
    assert {r.method for r in found.refusals} == {"optional", "existing"}
    assert all("feeds outbuildings alone" in r.reason for r in found.refusals)


def test_what_is_in_one_barn_is_one_farm_load():
    """All at one time, in full: 6,720 + 9,000 + 720 = 16,440 VA, 68.5 A."""
    sheet = governing(demand_of(barn(), "grid", rules=RULES))
    assert sheet.method == "farm"
    assert sheet.title.endswith("farm buildings")
    assert sheet.total_va == pytest.approx(16_440)
    assert sheet.amps == pytest.approx(68.5)
    (one,) = [x for x in labels(sheet) if "farm load" in x]
    assert one == "Largest farm load, Panel main, at 100 %"
    assert any(n.startswith("No dwelling hangs on it: its farm loads alone") for n in sheet.notes)


def test_a_second_building_behind_the_barn_is_a_load_of_its_own():
    """Half the mats in a greenhouse of its own: 100 % of the barn and 75 % of 4,500 VA."""
    site = barn()
    mats = of_kind("more", "green", (1, 3), "heat-mats", load_w=4500)
    site = with_parts(
        site,
        panels=(*site.panels, builders.panel("green", detached_building=True)),
        feeders=(*site.feeders, builders.feeder("main", "green", breaker_a=60)),
        circuits=(*site.circuits, outside(mats)),
    )
    sheet = governing(demand_of(site, "grid", rules=RULES))
    assert sheet.total_va == pytest.approx(16_440 + 0.75 * 4_500)
    behind = demand_of(site, "main-green", rules=RULES)
    assert [s.method for s in behind.sheets] == ["standard"]
    assert behind.sheets[0].total_va == pytest.approx(4_500)


def test_a_panel_within_the_barn_is_of_the_same_building():
    site = barn()
    mats = of_kind("more", "loft", (1, 3), "heat-mats", load_w=4500)
    site = with_parts(
        site,
        panels=(*site.panels, builders.panel("loft")),
        feeders=(*site.feeders, builders.feeder("main", "loft", breaker_a=60)),
        circuits=(*site.circuits, outside(mats)),
    )
    sheet = governing(demand_of(site, "grid", rules=RULES))
    assert [x for x in labels(sheet) if "farm load" in x] == [
        "Largest farm load, Panel main, at 100 %"
    ]
    assert sheet.total_va == pytest.approx(16_440 + 4_500)


def test_a_shed_without_anything_of_a_farm_is_worked_out_by_the_standard_method():
    site = barn()
    (plugs,) = [c for c in site.circuits if c.id == "plugs"]
    found = demand_of(with_parts(site, circuits=(plugs,)), "grid", rules=RULES)
    assert [s.method for s in found.sheets] == ["standard"]
    assert found.sheets[0].total_va == pytest.approx(720)


def test_the_service_is_none_of_a_dwelling_and_needs_60_a():
    """230.79(D), from memory; 230.85 and 230.67 are for dwellings."""
    site = barn()
    assert serves_no_dwelling(site, "grid")
    assert demand_of(site, "grid", rules=RULES).sheet("standard").least_a == 60
    of_dwellings = {"emergency-disconnect", "surge-protection"}
    assert not of_dwellings & {f.code for f in check_site(site).findings}


@pytest.mark.parametrize("area_ft2", [None, 0.0])
def test_a_house_not_entered_yet_is_told_by_its_floor_area(area_ft2):
    assert serves_no_dwelling(barn(floor_area_ft2=area_ft2), "grid")
    house = barn(floor_area_ft2=1800)
    assert not serves_no_dwelling(house, "grid")
    assert one_family(house)
    assert set(GENERAL) <= set(labels(demand_of(house, "grid", rules=RULES).sheet("standard")))


def test_fastened_things_of_a_barn_cite_no_section_of_a_dwellings_appliances():
    """220.53 is of a dwelling; a motor stands at 220.50, what else is fastened at 220.14(A)."""
    site = barn()
    heater = of_kind("heater", "main", (6, 8), "water-heater", load_w=4500)
    site = with_parts(site, circuits=(*site.circuits, outside(heater)))
    sections = {
        x.label: x.cite.section
        for x in demand_of(site, "grid", rules=RULES).sheet("standard").lines
    }
    assert sections["Irrigation pump, 1 1/2 hp"] == "220.50, 430.24"
    (heat,) = [name for name in sections if "ater heater" in name]
    assert sections[heat] == "220.14(A)"
