"""Findings stand on the section that asks for them, in the editions that have it."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.rules.check_sites import codes, found, of_kind, plain, wired_shed


def test_a_small_ground_cites_the_table_of_grounds():
    assert found(wired_shed("1/0", ground_size="10"), "ground-too-small").section == "250.122"


@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_the_shutdown_outside_is_asked_from_2020(edition):
    asked = "generator-shutdown" in codes(wired_shed("1/0"), edition=edition)
    assert asked == (edition != "2017")


@pytest.mark.parametrize(
    ("kind", "continuous", "section"),
    [
        ("dryer", False, "210.22, 210.23"),
        ("dryer", True, "210.20(A)"),
        ("water-heater", False, "422.13"),
        ("car-charger-48", True, "625.41"),
    ],
)
def test_a_breaker_below_its_load_cites_the_rule_of_that_load(kind, continuous, section):
    site = plain(of_kind("x", "main", (1, 3), kind, breaker_a=15, continuous=continuous))
    finding = found(site, "device-below-load")
    assert (finding.section, finding.rule) == (section, f"NEC 2023, {section}")


def test_a_demand_above_its_rating_cites_the_rule_of_the_equipment():
    heavy = of_kind("kiln", "main", (9, 11), "heat-strip", load_w=90_000, breaker_a=300)
    sections = {
        f.element_id: f.section
        for f in check_site(plain(heavy)).findings
        if f.code == "demand-above-rating"
    }
    assert sections == {"grid": "230.42(A), 230.79", "main": "408.30"}


def test_equipment_for_a_demand_comes_in_ratings_of_its_own():
    """175 A is a size of a breaker; panels and switches are made for 150 and 200 A."""
    heavy = of_kind("kiln", "main", (9, 11), "heat-strip", load_w=90_000, breaker_a=300)
    finding = next(
        f
        for f in check_site(plain(heavy)).findings
        if f.code == "demand-above-rating" and f.element_id == "main"
    )
    assert "or use equipment rated" in finding.mend
    assert " A or more." in finding.mend


def test_why_a_plug_circuit_is_of_20_a_speaks_of_every_room_it_is_asked_in():
    site = plain(of_kind("bath", "main", (1,), "bath-plugs", breaker_a=15))
    assert found(site, "plug-circuit-rating").why.startswith("A kitchen, laundry or bathroom ")


def test_sources_read_stay_out_of_the_line_that_is_shown_first():
    for finding in check_site(wired_shed("1/0", ground_size="10")).findings:
        assert "http" not in finding.rule
        assert finding.rule.startswith(("NEC 2023, ", "Common practice"))
