"""Two dwelling units that share a service."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.demand.units import one_family, unit_circuits
from server.rules.editions import rulebook
from server.rules.wiring.feeder import governing
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind
from tests.rules.test_demand_site import house_circuit

RULES = rulebook("2023")
KINDS = (
    ("lights", (1,), ("lighting", "plugs")),
    ("oven", (9, 11), ("range-oven", "range-burners")),
    ("heat", (13, 15), ("heat-strip",)),
    ("water", (17, 19), ("water-heater",)),
    ("dryer", (5, 7), ("dryer",)),
)


def flat(panel_id, *, less=()):
    return tuple(
        house_circuit(f"{panel_id}-{name}", panel_id, spaces, *kinds)
        for name, spaces, kinds in KINDS
        if name not in less
    )


def two_flats(*, less=(), shared=(), **changes):
    """A 200 A service, a panel for the house, and a panel for each of two flats of 900 ft²."""
    parts = {
        "services": (builders.service(main_a=200),),
        "panels": (
            builders.panel("common", main_a=200, neutral_bonded=True),
            builders.panel("down", dwelling="Downstairs", floor_area_ft2=900, rating_a=125),
            builders.panel("up", dwelling="Upstairs", floor_area_ft2=900, rating_a=125),
        ),
        "feeders": (
            builders.feeder("grid", "common"),
            builders.feeder("common", "down", breaker_a=125, spaces=(1, 3)),
            builders.feeder("common", "up", breaker_a=125, spaces=(2, 4)),
        ),
        "circuits": (*flat("down"), *flat("up", less=less), *shared),
        "floor_area_ft2": 1800,
        "zones": HOUSE,
    }
    return with_parts(builders.normal_only_site(scenarios=()), **parts | changes)


def test_a_service_of_two_flats_is_counted_by_both_methods_and_the_lesser_governs():
    found = demand_of(two_flats(), "grid", rules=RULES)
    assert {s.method for s in found.sheets} == {"standard", "two_family"}
    two, whole = found.sheet("two_family"), found.sheet("standard")
    (three,) = (x for x in two.lines if x.label.startswith("45 %"))
    assert two.total_va == pytest.approx(0.45 * three.connected_va)
    assert two.total_va < whole.total_va
    assert governing(found) is two
    assert {r.method for r in found.refusals} == {"optional", "existing"}
    assert all("is for one dwelling; 2 were given" in r.reason for r in found.refusals)
    assert two.least_a == whole.least_a == 60


def test_the_method_for_two_dwellings_cites_its_own_list_of_loads():
    """220.84(C)(1) lighting by area, (C)(2) small-appliance and laundry circuits: from memory."""
    two = demand_of(two_flats(), "grid", rules=RULES).sheet("two_family")
    sections = {x.label: x.cite.section for x in two.lines[:3]}
    assert sections == {
        "Lighting and general plugs": "220.84(C)(1)",
        "Small-appliance circuits": "220.84(C)(2)",
        "Laundry circuits": "220.84(C)(2)",
    }


def test_a_house_that_shares_circuits_names_whose_its_panels_are_before_220_82():
    """220.82(A) is for one dwelling unit; what several share tells of more than one."""
    stair = house_circuit("stair", "common", (19,), "lighting").model_copy(
        update={"place": "common_area", "name": "Stair lights"}
    )
    told = two_flats(shared=(stair,))
    panels = tuple(p.model_copy(update={"dwelling": ""}) for p in told.panels)
    found = demand_of(with_parts(told, panels=panels), "grid", rules=RULES)
    assert {s.method for s in found.sheets} == {"standard"}
    assert {r.method for r in found.refusals} == {"optional", "existing"}
    assert all("Stair lights feed what several share" in r.reason for r in found.refusals)
    (sheet,) = found.sheets
    assert any("Which panel is whose" in q for q in sheet.missing)
    assert demand_of(told, "grid", rules=RULES).sheet("two_family") is not None


def test_each_of_two_flats_has_kitchen_and_laundry_circuits_of_its_own():
    lines = demand_of(two_flats(), "grid", rules=RULES).sheet("standard").lines
    quantities = {x.label: x.quantity for x in lines}
    assert quantities["Small-appliance circuits"] == 4
    assert quantities["Laundry circuits"] == 2
    assert quantities["Lighting and general plugs"] == 1800


def test_the_feeder_of_one_flat_carries_a_whole_dwelling():
    found = demand_of(two_flats(), "common-up", rules=RULES)
    assert {s.method for s in found.sheets} == {"standard", "optional", "existing"}
    lines = {x.label: x for x in found.sheet("optional").lines}
    assert lines["Lighting and general plugs"].quantity == 900


def test_of_unlike_flats_the_larger_counts_three_times():
    small = demand_of(two_flats(less=("water",)), "grid", rules=RULES).sheet("two_family")
    like = demand_of(two_flats(), "grid", rules=RULES).sheet("two_family")
    assert small.total_va == pytest.approx(like.total_va)
    assert "Downstairs" in small.title


@pytest.mark.parametrize(
    ("less", "words"), [(("oven",), "electric cooking"), (("heat",), "electric heating or cooling")]
)
def test_a_flat_without_cooking_or_without_heating_and_cooling_bars_the_method(less, words):
    found = demand_of(two_flats(less=less), "grid", rules=RULES)
    assert found.sheet("two_family") is None
    (refused,) = (r for r in found.refusals if r.method == "two_family")
    assert words in refused.reason
    assert "Upstairs" in refused.reason
    assert "220.84(A)" in refused.reason


@pytest.mark.parametrize(("edition", "article"), [("2023", "220"), ("2026", "120")])
def test_two_flats_that_cook_with_gas_count_8_kw_each_of_the_three(edition, article):
    """220.85: three identical units by 220.84, by its (A)(2) exception with 8 kW a unit."""
    rules = rulebook(edition)
    base = two_flats()
    gas = with_parts(base, circuits=tuple(c for c in base.circuits if not c.id.endswith("-oven")))
    sheet = demand_of(gas, "grid", rules=rules).sheet("two_family")
    (taken,) = (x for x in sheet.lines if x.label.startswith("Electric cooking"))
    assert (taken.connected_va, taken.cite.section) == (24_000, f"{article}.84(A)(2) exception")
    (three,) = (x for x in sheet.lines if x.label.startswith("45 %"))
    carried_va = sum(x.connected_va for x in sheet.lines[: sheet.lines.index(three)])
    assert three.demand_va == pytest.approx(0.45 * carried_va)
    assert any("None cooks electrically" in note for note in sheet.notes)
    electric = demand_of(base, "grid", rules=rules).sheet("two_family")
    assert not any("as if each had it" in x.label for x in electric.lines)


def test_what_the_flats_share_is_added_in_full():
    stair = house_circuit("stair", "common", (9,), "lighting", place="common_area")
    with_it = demand_of(two_flats(shared=(stair,)), "grid", rules=RULES).sheet("two_family")
    without = demand_of(two_flats(), "grid", rules=RULES).sheet("two_family")
    (shared,) = (x for x in with_it.lines if x.label == "What the two share")
    assert with_it.total_va - without.total_va == pytest.approx(shared.demand_va)
    assert shared.demand_va == pytest.approx(300 / 0.95)


def test_a_panel_without_a_name_belongs_to_the_one_that_feeds_it():
    base = two_flats()
    site = with_parts(
        base,
        panels=(*base.panels, builders.panel("attic")),
        feeders=(*base.feeders, builders.feeder("up", "attic", breaker_a=60, spaces=(2, 4))),
        circuits=(*base.circuits, house_circuit("attic-plugs", "attic", (1,), "plugs")),
    )
    assert "attic-plugs" in unit_circuits(site)["Upstairs"]
    assert not one_family(site)


def test_without_names_one_service_is_one_family():
    site = two_flats(
        panels=tuple(p.model_copy(update={"dwelling": ""}) for p in two_flats().panels)
    )
    assert one_family(site)
    assert unit_circuits(site) == {}


@pytest.mark.parametrize("edition", ["2017", "2020", "2023", "2026"])
def test_every_edition_checks_two_flats(edition):
    report = check_site(two_flats(), edition=edition)
    sheet = next(d for d in report.demand if d.element_id == "grid").sheet("two_family")
    article = "120" if edition == "2026" else "220"
    assert any(x.cite.section.startswith(f"{article}.85") for x in sheet.lines)


@pytest.mark.parametrize(("site_ft2", "common_ft2"), [(None, None), (None, 0), (1800, None)])
def test_areas_told_at_the_flats_count_at_the_service(site_ft2, common_ft2):
    """2 x 900 ft2 at 3 VA/ft2, wherever it is told: 5,400 VA of lights and plugs."""
    told = two_flats()
    panels = tuple(
        p.model_copy(update={"floor_area_ft2": common_ft2}) if p.id == "common" else p
        for p in told.panels
    )
    site = with_parts(told, floor_area_ft2=site_ft2, panels=panels)
    for element_id in ("grid", "common"):
        sheet = demand_of(site, element_id, rules=RULES).sheet("standard")
        assert sheet.lines[0].connected_va == pytest.approx(5400)
        assert sheet.complete


def test_an_area_that_one_flat_lacks_is_asked_and_said_with_what_is_past_its_rating():
    told = two_flats()
    panels = tuple(
        p.model_copy(update={"floor_area_ft2": None}) if p.id == "up" else p for p in told.panels
    )
    services = (builders.service(main_a=100),)
    site = with_parts(told, floor_area_ft2=None, panels=panels, services=services)
    sheet = demand_of(site, "grid", rules=RULES).sheet("standard")
    assert sheet.lines[0].connected_va == pytest.approx(2700)
    assert sheet.lines[0].note.startswith("at least: area served by ")
    assert any(q.startswith("Floor area served by ") for q in sheet.missing)
    found = check_site(site, edition="2023", recheck=False).findings
    (over,) = (f for f in found if f.code == "demand-above-rating" and f.element_id == "grid")
    assert "at least (a floor area is not told)" in over.text


def test_what_stands_in_an_outbuilding_of_one_counts_once_and_in_full():
    """220.84(B), from memory: a kiln of 9,600 VA is of no unit: in full, not 3 x 45 %."""
    kiln = of_kind("kiln", "down", (2, 4), "kiln", load_w=9600, power_factor=1.0)
    inside = two_flats(shared=(kiln,))
    outside = two_flats(shared=(kiln.model_copy(update={"place": "outbuilding"}),))
    plain = demand_of(two_flats(), "grid", rules=RULES).sheet("two_family")
    barn = demand_of(outside, "grid", rules=RULES).sheet("two_family")
    house = demand_of(inside, "grid", rules=RULES).sheet("two_family")
    assert barn.total_va == pytest.approx(plain.total_va + 9600)
    assert house.total_va == pytest.approx(plain.total_va + 0.45 * 3 * 9600)
    (line,) = (x for x in barn.lines if "outbuildings" in x.label)
    assert line.demand_va == pytest.approx(9600)
    assert line.cite.section == "220.84(B)"
    assert not any("outbuildings" in x.label for x in (*plain.lines, *house.lines))


def test_what_several_share_and_what_stands_in_an_outbuilding_are_one_sum():
    pump = of_kind("pump", "common", (6, 8), "water-heater", load_w=4500)
    kiln = of_kind("kiln", "down", (2, 4), "kiln", load_w=9600, power_factor=1.0)
    kiln = kiln.model_copy(update={"place": "outbuilding"})
    plain = demand_of(two_flats(), "grid", rules=RULES).sheet("two_family")
    both = demand_of(two_flats(shared=(pump, kiln)), "grid", rules=RULES).sheet("two_family")
    assert both.total_va == pytest.approx(plain.total_va + 9600 + 4500)
