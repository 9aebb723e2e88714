"""Which circuits that were moved ask for ground-fault protection, by kind and by place.

The places are those of 210.8(A) as read in a copy of the 2020 text (forums.mikeholt.com post
2711350) and of the 2014 text (tigerloose.com); 422.5(A) of 2020 from electricallicenserenewal.com
section 810; 210.8(D) of 2023 from a page on the 2023 changes.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.checks.ground_fault import ground_fault_asked, moved_without_ground_fault
from server.rules.editions import EDITIONS, rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, codes, found, of_kind


def moved(*circuits, **panel_changes):
    base = builders.backed_up_site(scenarios=(), zones=HOUSE)
    panels = tuple(
        p.model_copy(update=panel_changes) if p.id == "backed" else p for p in base.panels
    )
    return with_parts(base, panels=panels, circuits=(*base.circuits, *circuits))


def sections(kind, spaces=(9,), *, area="Room", **panel_changes):
    """The section that asks in each edition, None where it does not."""
    circuit = of_kind("x", "backed", spaces, kind).model_copy(update={"area": area})
    site = moved(circuit, **panel_changes)
    found_in = {e: ground_fault_asked(site, site.circuit("x"), rulebook(e)) for e in EDITIONS}
    return {e: a.cite.section if a else None for e, a in found_in.items()}


def all_editions(section):
    return dict.fromkeys(EDITIONS, section)


@pytest.mark.parametrize(
    ("kind", "area", "section"),
    [
        ("bath-plugs", "Room", "210.8(A)(1)"),
        ("plugs", "Bathroom", "210.8(A)(1)"),
        ("freezer", "Garage", "210.8(A)(2)"),
        ("plugs", "Porch", "210.8(A)(3)"),
        ("plugs", "Crawl space", "210.8(A)(4)"),
        ("freezer", "Cellar", "210.8(A)(5)"),
        ("kitchen-plugs", "Kitchen", "210.8(A)(6)"),
        ("plugs", "Bedroom", None),
        ("television", "Living room", None),
        ("smoke-alarms", "Cellar", None),
        ("lighting", "Bathroom", None),
        ("outdoor-lights", "Porch", None),
        ("gas-furnace", "Cellar", None),
        ("radon-fan", "Cellar", None),
    ],
)
def test_plugs_go_by_their_place_and_what_is_wired_in_does_not(kind, area, section):
    assert sections(kind, area=area) == all_editions(section)


def test_a_heater_wired_in_at_a_greenhouse_is_asked_for_from_2023():
    """210.8(F)(2), accessory buildings: from memory."""
    found = sections("greenhouse-heater", spaces=(9, 11), detached_building=True)
    named = {"2023": "210.8(F)(2)", "2026": "210.8(F)(2)"}
    assert found == all_editions(None) | named


def test_plugs_of_another_building_stand_in_an_outbuilding():
    assert sections("plugs", detached_building=True) == all_editions("210.8(A)(2)")
    assert sections("lighting", detached_building=True) == all_editions(None)


@pytest.mark.parametrize(
    ("kind", "spaces", "area", "expected"),
    [
        # A pump in a cellar pit: by its outlet in 2017, by 422.5(A) plugged or wired since 2020.
        ("sump-pump", (9,), "Cellar", ["210.8(A)(5)", "210.8(D), 422.5(A)", "210.8(D), 422.5(A)"]),
        ("dishwasher", (9,), "Room", ["210.8(D)", "210.8(D), 422.5(A)", "210.8(D), 422.5(A)"]),
        # 125 V outlets only in 2017; outlets up to 250 V since 2020; 210.8(D) since 2023.
        ("dryer", (9, 11), "Laundry", [None, "210.8(A)(10)", "210.8(D)"]),
        ("range-oven", (9, 11), "Kitchen", [None, None, "210.8(D)"]),
        # Kitchen counters only until 2020; every kitchen outlet since 2023.
        ("refrigerator", (9,), "Kitchen", [None, None, "210.8(A)(6)"]),
        ("microwave", (9,), "Kitchen", [None, None, "210.8(D)"]),
        ("disposer", (9,), "Kitchen", [None, "210.8(A)(7)", "210.8(A)(8)"]),
        ("heat-pump", (9, 11), "North wall", [None, "210.8(F)", "210.8(F)"]),
    ],
)
def test_what_each_edition_adds(kind, spaces, area, expected):
    by_edition = sections(kind, spaces, area=area)
    assert [by_edition[e] for e in ("2017", "2020", "2023")] == expected


def test_the_note_names_those_with_their_section_and_asks_for_places_not_entered():
    site = moved(
        of_kind("sump", "backed", (9,), "sump-pump"),
        of_kind("alarms", "backed", (10,), "smoke-alarms"),
        of_kind("den", "backed", (12,), "plugs").model_copy(update={"area": "Den"}),
        of_kind("spare", "backed", (14,), "plugs"),
    )
    finding = found(site, "ground-fault-on-a-move")
    assert finding.text == (
        "Moving a circuit can require ground-fault protection for it. On a breaker without it, for "
        "dishwashers and sump pumps, plugged in or wired (210.8(D), 422.5(A)): Circuit sump. Where "
        "these stand is not entered, and it decides: Circuit spare."
    )
    assert finding.section == "210.8(D), 422.5(A)"
    assert finding.local


def test_a_ground_fault_breaker_clears_it_and_keeps_what_stops_arcs():
    kitchen = of_kind("kitchen", "backed", (9,), "kitchen-plugs")
    site = moved(kitchen.model_copy(update={"breaker_type": "afci"}))
    (moves,) = moved_without_ground_fault(site, rulebook("2023"))
    assert [c.id for c, _ in moves.asked] == ["kitchen"]
    (finding,) = [
        f for f in check_site(site, recheck=True).findings if f.code == "ground-fault-on-a-move"
    ]
    assert finding.recheck is not None
    assert finding.recheck.clears
    assert finding.recheck.change == "ground-fault breakers on Circuit kitchen"


def test_arc_fault_protection_is_asked_for_rooms_and_not_for_cellars_or_outbuildings():
    site = moved(
        of_kind("den", "backed", (9,), "plugs"),
        of_kind("sump", "backed", (10,), "sump-pump"),
        of_kind("yard", "backed", (12,), "outdoor-lights"),
    )
    assert found(site, "arc-fault-on-a-move").text.endswith("without it: Circuit den.")


@pytest.mark.parametrize(
    ("kind", "spaces", "area", "expected"),
    [
        ("plugs", (9,), "Cellar", ["210.8(B)"] * 3),
        ("freezer", (9,), "Garage", ["210.8(B)"] * 3),
        ("plugs", (9,), "Porch", ["210.8(B)"] * 3),
        ("washer", (9,), "Laundry", [None, "210.8(B)", "210.8(B)"]),
        ("dryer", (9, 11), "Laundry", [None, "210.8(B)", "210.8(D)"]),
        ("sump-pump", (9,), "Cellar", ["210.8(B)", "210.8(D), 422.5(A)", "210.8(D), 422.5(A)"]),
        # 210.8(D) of 2017 is of dwelling units.
        ("dishwasher", (9,), "Hall", [None, "210.8(D), 422.5(A)", "210.8(D), 422.5(A)"]),
        ("plugs", (9,), "Hall", [None, None, None]),
    ],
)
def test_what_several_dwellings_share_goes_by_other_than_dwelling_units(
    kind, spaces, area, expected
):
    """Places and amps of 210.8(B) from memory."""
    circuit = of_kind("x", "backed", spaces, kind)
    site = moved(circuit.model_copy(update={"area": area, "place": "common_area"}))
    asked = [ground_fault_asked(site, site.circuit("x"), rulebook(e)) for e in EDITIONS]
    assert [a.cite.section if a else None for a in asked][:3] == expected


def test_a_shared_circuit_is_not_asked_for_arc_fault_protection():
    """210.12(A), since 2023 (B), names the rooms of a dwelling unit."""
    hall = of_kind("hall", "backed", (9,), "plugs").model_copy(update={"area": "Hall"})
    shared = hall.model_copy(update={"place": "common_area"})
    assert "arc-fault-on-a-move" in codes(moved(hall))
    assert "arc-fault-on-a-move" not in codes(moved(shared))
    new = {"is_new": True}
    assert "new-circuit-arc-fault" in codes(moved(hall.model_copy(update=new)))
    assert "new-circuit-arc-fault" not in codes(moved(shared.model_copy(update=new)))


def test_the_note_for_a_shared_cellar_cites_other_than_dwelling_units():
    plugs = of_kind("cellar", "backed", (9,), "plugs").model_copy(
        update={"area": "Cellar", "place": "common_area"}
    )
    finding = found(moved(plugs), "ground-fault-on-a-move")
    assert finding.section == "210.8(B)"
    assert "for unfinished shared cellars (210.8(B)): Circuit cellar" in finding.text


@pytest.mark.parametrize(
    ("kind", "spaces", "breaker_a", "area", "asked"),
    [
        ("septic-pump", (9,), 20, "Outside", True),
        ("sewage-pump", (9,), 20, "Outside", True),
        ("grinder-pump", (9, 11), 30, "Outside", True),
        ("pool-heater", (9, 11), 50, "Outside", True),
        ("pool-heater", (9, 11), 50, "Pool", True),
        ("pool-heater", (9, 11), 60, "Pool", False),
        ("baseboard", (9, 11), 20, "Pool room", False),
        ("outdoor-lights", (9,), 20, "Outside", False),
    ],
)
def test_whatever_stands_outdoors_is_asked_for_from_2020(kind, spaces, breaker_a, area, asked):
    """210.8(F): outdoor outlets of a dwelling, 50 A or less, but for lights."""
    own = of_kind("x", "main", spaces, kind, breaker_a=breaker_a)
    site = moved(own.model_copy(update={"area": area}))
    for edition in EDITIONS:
        one = ground_fault_asked(site, site.circuits[-1], rulebook(edition))
        assert (one is not None) is (asked and edition != "2017"), edition
        assert one is None or one.cite.section == "210.8(F)"


@pytest.mark.parametrize("ahead", [False, True])
def test_a_panel_behind_an_interlock_kept_its_circuits_whatever_disconnect_is_ahead(ahead):
    """It became a subpanel of the disconnect outside; no circuit was moved."""
    base = builders.interlock_site(scenarios=())
    plugs = of_kind("plugs", "main", (9,), "plugs").model_copy(update={"area": "Garage"})
    first = builders.panel("first", rating_a=200, main_a=100, neutral_bonded=True)
    runs = [f for f in base.feeders if f.from_id != "grid"]
    runs += [builders.feeder("grid", "first"), builders.feeder("first", "lock", "utility")]
    site = with_parts(
        base,
        panels=(*base.panels, first),
        feeders=(*runs[:-1], runs[-1].model_copy(update={"breaker_a": 100, "spaces": (1, 3)})),
        circuits=(*base.circuits, plugs),
    )
    if not ahead:
        stays = builders.circuit("stays", "first", 9, load_w=100)
        site = with_parts(site, circuits=(*site.circuits, stays))
    assert bool(moved_without_ground_fault(site, rulebook("2023"))) is not ahead


@pytest.mark.parametrize(
    ("kind", "area", "severity"),
    [
        ("well-pump", "", "warning"),
        ("well-pump", "Yard", "warning"),
        ("well-pump", "Cellar", "note"),
        ("irrigation-pump", "Basement", "note"),
        # The compressor stands outdoors, whatever room it is entered for.
        ("mini-split", "Bedroom", "warning"),
    ],
)
def test_a_pump_told_indoors_is_asked_where_its_outlet_is(kind, area, severity):
    """210.8(F) is of outdoor outlets; a jet pump in a cellar has its outlet there."""
    own = of_kind("x", "main", (9, 11), kind).model_copy(update={"area": area, "is_new": True})
    site = moved(own)
    finding = found(site, "new-circuit-ground-fault")
    assert (finding.severity, finding.section) == (severity, "210.8(F)")
    assert ("See where the outlet is" in finding.mend) is (severity == "note")
    assert "new-circuit-ground-fault" not in codes(site, edition="2017")
    kept = own.model_copy(update={"breaker_type": "gfci"})
    assert "new-circuit-ground-fault" not in codes(moved(kept))
    old = own.model_copy(update={"is_new": False})
    assert "new-circuit-ground-fault" not in codes(moved(old))


@pytest.mark.parametrize(
    ("kind", "area", "section"),
    [
        ("roof-cable", "", "426.28"),
        ("roof-cable", "Eaves", "426.28"),
        ("roof-cable", "Outside", "426.28"),
        ("heat-tape", "Crawl space", "427.22"),
        ("heat-tape", "Yard", "427.22"),
    ],
)
def test_what_melts_ice_is_asked_for_protection_of_equipment(kind, area, section):
    """426.28 and 427.22, every edition, from memory; 210.8(A)(3) leaves it to them."""
    own = of_kind("x", "main", (9,), kind).model_copy(update={"area": area, "is_new": True})
    for edition in EDITIONS:
        (finding,) = [
            f
            for f in check_site(moved(own), edition=edition).findings
            if f.code == "new-circuit-ground-fault"
        ]
        assert (finding.severity, finding.section) == ("note", section)
        assert "protection of equipment" in finding.text
        assert "30 mA" in finding.mend
    for update in ({"breaker_type": "gfci"}, {"is_new": False}):
        assert "new-circuit-ground-fault" not in codes(moved(own.model_copy(update=update)))
    on_backed = own.model_copy(update={"panel_id": "backed", "is_new": False})
    assert "ground-fault-on-a-move" not in codes(moved(on_backed))


@pytest.mark.parametrize(
    ("area", "asked"),
    [("Roof", True), ("Under the eaves", True), ("Gutters", True), ("Roof space", False)],
)
def test_roof_eaves_and_gutters_are_outdoors(area, asked):
    circuit = of_kind("x", "main", (9,), "plugs").model_copy(update={"area": area})
    one = ground_fault_asked(moved(circuit), circuit, rulebook("2023"))
    assert (one is not None and one.cite.section == "210.8(A)(3)") is asked


@pytest.mark.parametrize(
    ("kind", "area", "asked"),
    [
        ("well-pump", "Well house", "210.8(F)(2)"),
        ("irrigation-pump", "Barn", "210.8(F)(2)"),
        ("water-heater", "Pump house", "210.8(F)(2)"),
        ("barn-lights", "Barn", None),
        ("well-pump", "Crawl space", None),
        ("water-heater", "Cellar", None),
    ],
)
def test_what_is_wired_in_an_accessory_building_is_asked_from_2023(kind, area, asked):
    """210.8(F)(2) names accessory buildings beside the outdoors: from memory."""
    by_edition = sections(kind, (9, 11) if kind != "barn-lights" else (9,), area=area)
    assert by_edition["2023"] == asked
    assert by_edition["2026"] == asked
    assert by_edition["2020"] is None


def test_a_panel_of_another_building_is_an_accessory_building_whatever_its_area():
    assert sections("water-heater", (9, 11), detached_building=True)["2023"] == "210.8(F)(2)"
    large = of_kind("x", "backed", (9, 11), "water-heater", breaker_a=60)
    site = moved(large, detached_building=True)
    assert ground_fault_asked(site, site.circuit("x"), rulebook("2023")) is None


def test_lights_are_asked_for_in_a_crawl_space_and_nowhere_else():
    """210.8(E) of 2017, as quoted on electricallicenserenewal.com; 210.8(C) after, from memory."""
    expected = all_editions("210.8(C)") | {"2017": "210.8(E)"}
    assert sections("lighting", area="Crawl space") == expected
    assert sections("lighting", area="Cellar") == all_editions(None)
    # What plugs in there goes by 210.8(A), and what is wired there by nothing of 210.8(C).
    assert sections("plugs", area="Crawl space") == all_editions("210.8(A)(4)")
    assert sections("radon-fan", area="Crawl space") == all_editions(None)
    assert sections("room-air-large", spaces=(9, 11), area="Crawl space")["2017"] is None


def test_a_shared_crawl_space_has_its_lights_asked_for_too():
    lights = of_kind("x", "backed", (9,), "lighting").model_copy(
        update={"area": "Crawl space", "place": "common_area"}
    )
    asked = ground_fault_asked(moved(lights), lights, rulebook("2023"))
    assert asked is not None
    assert asked.cite.section == "210.8(C)"
    assert not asked.in_control


@pytest.mark.parametrize(("kind", "spaces"), [("heated-floor", (9,)), ("radiant-floor", (9, 11))])
def test_a_heated_floor_is_asked_for_and_mostly_has_it_in_its_thermostat(kind, spaces):
    """424.44, 424.45, 424.99: the sources stand with the row."""
    late = "424.44(E), 424.45(E), 424.99(B)(5)"
    found_in = sections(kind, spaces, area="Bathroom")
    assert found_in == all_editions(late) | {"2017": "424.44(G), 424.45(E), 424.99(B)(5)"}
    floor = of_kind("x", "backed", spaces, kind)
    new = moved(floor.model_copy(update={"area": "Bathroom", "is_new": True}))
    finding = found(new, "new-circuit-ground-fault")
    assert finding.severity == "note"
    assert finding.mend.startswith("See whether its thermostat has it")
