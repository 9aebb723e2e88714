"""The 20 A circuits that a dwelling must have (210.11(C)); from memory."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import site_rules
from tests.builders import with_parts
from tests.rules.check_sites import codes, of_kind, plain


def site_of(kind, breaker_a, **changes):
    return plain(of_kind("x", "main", (1,), kind, breaker_a=breaker_a).model_copy(update=changes))


@pytest.mark.parametrize(
    ("kind", "breaker_a", "section"),
    [
        ("kitchen-plugs", 15, "210.11(C)(1), 210.52(B)"),
        ("coffee-maker", 15, "210.11(C)(1), 210.52(B)"),
        ("kitchen-plugs", 30, "210.11(C)(1), 210.52(B)"),
        ("kitchen-plugs", 20, None),
        ("washer", 30, "210.11(C)(2), 210.21(B)"),
        ("washer", 15, "210.11(C)(2), 210.21(B)"),
        ("washer", 20, None),
        ("refrigerator", 15, None),  # 210.52(B)(1), exception 2: a circuit of its own, 15 A or more
        ("plugs", 15, None),
    ],
)
def test_a_kitchen_or_laundry_circuit_is_one_of_20_a(kind, breaker_a, section):
    report = check_site(site_of(kind, breaker_a), recheck=True)
    found = [f for f in report.findings if f.code == "plug-circuit-rating"]
    assert [(f.severity, f.section, f.limit) for f in found] == (
        [("warning", section, 20)] if section else []
    )
    for finding in found:
        assert finding.recheck.change == "a 20 A breaker on Circuit x"
        assert finding.recheck.clears


def test_the_circuit_of_an_outbuilding_is_not_asked():
    assert "plug-circuit-rating" not in codes(site_of("kitchen-plugs", 15, place="outbuilding"))


def test_a_breaker_that_is_too_large_for_any_plug_is_told_once():
    found = codes(site_of("washer", 40))
    assert "plug-breaker-large" in found
    assert "plug-circuit-rating" not in found


def test_a_smaller_breaker_on_a_counter_lowers_no_demand():
    """220.52(A): 1,500 VA for each small-appliance circuit, whatever breaker is on it now."""
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    small = with_parts(
        site,
        circuits=tuple(
            c.model_copy(update={"breaker_a": 15.0}) if c.id == "counter-left" else c
            for c in site.circuits
        ),
    )
    rules = site_rules(site)[0]

    def totals(one):
        return [s.total_va for s in demand_of(one, "grid", rules=rules).sheets]

    assert totals(small) == totals(site)
    (finding,) = [f for f in check_site(small).findings if f.code == "plug-circuit-rating"]
    assert "calculated at 1,500 VA all the same" in finding.text


@pytest.mark.parametrize(
    ("kind", "breaker_a", "told"),
    [
        ("plugs", 10, True),
        ("sump-pump", 10, True),
        ("lighting", 10, False),
        ("plugs", 15, False),
        ("bath-plugs", 15, True),
        ("bath-plugs", 20, False),
    ],
)
def test_outlets_ask_for_a_least_circuit(kind, breaker_a, told):
    """210.23(A) of 2023: no outlets on 10 A; 210.11(C)(3): 20 A for those of a bathroom."""
    site = plain(of_kind("x", "main", (1,), kind, breaker_a=breaker_a))
    assert ("plug-circuit-rating" in codes(site)) is told


def test_a_room_unit_of_240_volts_has_a_plug_and_no_plate_of_two_figures():
    site = plain(of_kind("x", "main", (1, 3), "room-air-large"))
    assert "cooling-plate-asked" not in codes(site)
