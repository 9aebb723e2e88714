"""Each section where it applies, and nowhere beside it."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.optional import optional
from server.rules.demand.report import demand_of
from server.rules.demand.standard import standard
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, codes, found, of_kind, plain

RULES = rulebook("2023")


def sheet_of(circuit, element_id="grid"):
    return demand_of(plain(circuit), element_id, rules=RULES).sheet("standard")


def line(sheet, word):
    return next(x for x in sheet.lines if word in x.label.lower())


@pytest.mark.parametrize(("load_w", "counted"), [(5000, 5000), (4500, 5000), (5400, 5400)])
def test_a_dryer_counts_its_kilowatts_as_kva_and_5000_at_least(load_w, counted):
    """220.54: 5,000 W or the nameplate, whichever is larger; kVA are taken as kW there."""
    dryer = of_kind("dry", "main", (1, 3), "dryer", load_w=load_w, power_factor=0.99)
    assert line(sheet_of(dryer), "dryer").demand_va == counted


def test_a_range_counts_its_kilowatts_as_kva_too():
    """Table 220.55, column C: one range of up to 12 kW is 8 kW; above it 5 % for each kW more."""
    oven = of_kind("oven", "main", (1, 3), "range-oven", load_w=12_000, power_factor=0.98)
    found_line = line(sheet_of(oven), "oven")
    assert (found_line.connected_va, found_line.demand_va) == (12_000, 8000)


def test_a_selected_dryer_counts_the_same_on_a_set():
    dryer = of_kind("dry", "main", (9, 11), "dryer", load_w=5000, power_factor=0.99)
    base = builders.interlock_site(scenarios=())
    sheet = demand_of(with_parts(base, circuits=(dryer,)), "set", rules=RULES).sheet("selected")
    assert sheet.total_va == 5000


@pytest.mark.parametrize(
    ("load", "section"),
    [
        (Load("Furnace blower", "air_handler", 600, motor_va=600), "220.50, 430.24"),
        (Load("Heat pump", "heat_pump", 3500, motor_va=3500), "220.50, 440.6"),
        (Load("Strip heat", "central_heat", 5000), "220.51"),
        (Load("Baseboard", "room_heat", 1500), "220.51"),
    ],
)
def test_blowers_and_heat_pumps_are_motors_and_only_elements_are_fixed_heat(load, section):
    sheet = standard(Dwelling("House", 1000, loads=(load,)), RULES)
    assert line(sheet, load.name.lower()).cite.section == section
    assert line(sheet, load.name.lower()).demand_va == load.va


def fed(**panel_changes):
    base = builders.backed_up_site(scenarios=(), zones=HOUSE)
    panels = tuple(
        p.model_copy(update=panel_changes) if p.id == "backed" else p for p in base.panels
    )
    return with_parts(base, panels=panels)


def test_surge_protection_is_asked_of_feeders_to_a_dwelling_and_not_to_a_shed():
    """215.18: a feeder that supplies a dwelling unit; a shed is none, a studio may be."""
    code = "surge-protection-feeders"
    assert code in codes(fed())
    assert code not in codes(fed(detached_building=True))
    assert code in codes(fed(detached_building=True, floor_area_ft2=400))


@pytest.mark.parametrize(
    ("edition", "section", "words"),
    [
        ("2017", "702.7(A)", "names each standby source"),
        ("2020", "702.7(A), 230.85", "The emergency disconnect of Service grid outdoors (230.85)"),
        ("2023", "702.7(A), 230.85", "means to stop the engine"),
    ],
)
def test_the_source_sign_stands_at_the_emergency_disconnect_since_2020(edition, section, words):
    findings = check_site(builders.backed_up_site(scenarios=()), edition=edition).findings
    (sign,) = [f for f in findings if f.code == "standby-sign"]
    assert sign.section == section
    assert words in sign.text
    assert sign.local or edition == "2017"


def test_a_rating_of_80_a_is_spoken_with_its_own_article():
    large = of_kind("x", "main", (1, 3), "dryer", breaker_a=80)
    assert "has an 80 A breaker" in found(plain(large), "breaker-above-appliance").text


@pytest.mark.parametrize(
    ("edition", "table", "old_cable"),
    [
        ("2017", "430.52, Table 430.52", "250.140 exception"),
        ("2020", "430.52, Table 430.52", "250.140 exception"),
        ("2023", "430.52, Table 430.52(C)(1)", "250.140(B)"),
        ("2026", "430.52, Table 430.52(C)(1)", "250.140(B)"),
    ],
)
def test_a_section_that_moved_is_cited_as_its_edition_has_it(edition, table, old_cable):
    """Tables took the number of their own text in 2023, and exceptions became text: from memory."""
    pump = of_kind("pump", "main", (9, 11), "well-pump", breaker_a=60, horsepower=1)
    dryer = of_kind("dry", "main", (1, 3), "dryer").model_copy(
        update={"grounding": "three_wire_old", "is_new": True}
    )
    findings = check_site(plain(pump, dryer), edition=edition).findings
    sections = {f.code: f.section for f in findings}
    assert sections["motor-device-large"] == table
    assert sections["old-three-wire-new"] == old_cable


@pytest.mark.parametrize(
    ("edition", "heat_va", "words"),
    [
        ("2017", 3000, "cooling is larger"),
        ("2017", 3474, "only one of the two does"),
        ("2017", 3900, "heating is larger"),
        ("2023", 3000, "cooling is larger"),
        ("2023", 3474, "only one of the two does"),
        ("2023", 3900, "cooling at 125 % is larger"),
        ("2023", 4400, "heating is larger"),
    ],
)
def test_what_is_left_out_says_how_it_compares(edition, heat_va, words):
    """220.60: the smaller is left out; from 2020 a motor is compared at 125 %."""
    loads = (
        Load("Heating", "central_heat", heat_va),
        Load("Cooling", "cooling", 3474, motor_va=3474),
    )
    sheet = standard(Dwelling("House", 1000, loads=loads), rulebook(edition))
    (left,) = (x for x in sheet.lines if x.note.startswith("not counted"))
    assert words in left.note


def test_a_heat_pump_that_heats_is_a_motor_too():
    """4,800 VA and 25 % of itself pass 125 % of 4,000 VA (220.50, 220.60, 430.24)."""
    loads = (
        Load("Heating", "heat_pump", 4800, motor_va=4800),
        Load("Cooling", "cooling", 4000, motor_va=4000),
    )
    for edition in ("2017", "2023"):
        sheet = standard(Dwelling("House", 1000, loads=loads), rulebook(edition))
        counted = {x.label: x.demand_va for x in sheet.lines}
        assert counted["Heating"] == 4800
        assert counted["25 % of the largest motor, Heating"] == 1200
        (left,) = (x for x in sheet.lines if x.note.startswith("not counted"))
        assert left.label == "Cooling"
        of_motor = "heating is larger with the largest motor" in left.note
        assert of_motor == (edition == "2023")
    assert left.demand_va == 0


@pytest.mark.parametrize(
    ("heat_va", "words"),
    [(3000, "another selection is larger"), (3474, "only one of the two does")],
)
def test_an_equal_selection_of_the_optional_method_is_not_called_smaller(heat_va, words):
    """220.82(C): the largest of the selections counts."""
    loads = (Load("Heat", "heat_pump", heat_va), Load("Cooling", "cooling", 3474))
    sheet = optional(Dwelling("House", 1000, loads=loads), RULES)
    (left,) = (x for x in sheet.lines if x.note.startswith("not counted"))
    assert words in left.note


def test_a_blower_that_runs_beside_the_selection_is_not_called_left_out():
    loads = (
        Load("Baseboard", "room_heat", 9000),
        Load("Cooling", "cooling", 2000),
        Load("Blower", "air_handler", 500, motor_va=500),
    )
    sheet = optional(Dwelling("House", 1000, loads=loads), RULES)
    assert [x.label for x in sheet.lines if x.note.startswith("not counted")] == ["Cooling"]


def heat_pump(**changes):
    """Both halves of one machine on a circuit: 3,300 W at 0.95 each, 14.47 A at 240 V."""
    heat = of_kind("hp", "main", (9, 11), "heat-pump", load_w=3300, power_factor=0.95)
    cool = of_kind("hc", "main", (9, 11), "heat-pump-cooling", load_w=3300, power_factor=0.95)
    return heat.model_copy(update={"appliances": (*heat.appliances, *cool.appliances)} | changes)


def test_a_heat_pump_asks_its_circuit_for_one_of_its_halves():
    """220.60: 14.47 A, and 18.1 A of wire (440.32): 20 A and 12 copper are right, 15 A is not."""
    right = plain(heat_pump(breaker_a=20, wire_size="12"))
    assert not {"device-below-load", "branch-wire-small"} & codes(right)
    small = found(plain(heat_pump(breaker_a=15, wire_size="14")), "branch-wire-small")
    assert small.limit == pytest.approx(18.1, abs=0.01)


@pytest.mark.parametrize(("cool_w", "kept"), [(3300, "heating"), (4000, "cooling")])
def test_a_selection_by_hand_counts_the_larger_of_heating_and_cooling(cool_w, kept):
    """220.60: one machine; 3,300 W or 4,000 W and not both."""
    machine = heat_pump()
    hot, cold = (
        a.model_copy(update={"power_factor": 1.0, "name": name, "load_w": w})
        for a, name, w in zip(
            machine.appliances, ("heating", "cooling"), (3300, cool_w), strict=True
        )
    )
    machine = machine.model_copy(update={"appliances": (hot, cold)})
    base = builders.interlock_site(scenarios=())
    sheet = demand_of(with_parts(base, circuits=(machine,), zones=HOUSE), "set", rules=RULES)
    sheet = sheet.sheet("selected")
    assert sheet.total_va == max(3300, cool_w)
    assert {x.label.split(": ")[-1]: x.demand_va > 0 for x in sheet.lines} == {
        "heating": kept == "heating",
        "cooling": kept == "cooling",
    }
    (left,) = (x for x in sheet.lines if not x.demand_va)
    assert left.cite.section == "220.60"
