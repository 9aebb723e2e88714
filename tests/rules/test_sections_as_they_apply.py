"""Each section where it applies, and nowhere beside it."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.demand.inputs import Dwelling, Load
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
