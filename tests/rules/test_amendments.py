from __future__ import annotations

import pytest

from server.domain.site import LocalAmendment
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import site_rules
from tests.builders import with_parts

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())


def amended(**changes):
    local = {"figure": "lighting_va_per_ft2", "value": 4.0, "reason": "Ordinance 12"} | changes
    return with_parts(FARM, amendments=(LocalAmendment(**local),))


def lighting(report):
    (line,) = (x for x in report.demand[0].sheets[0].lines if x.label.startswith("Lighting"))
    return line


def test_amended_figure_is_used_and_its_reason_stands_at_the_line():
    before, after = lighting(check_site(FARM)), lighting(check_site(amended()))
    assert after.connected_va == before.connected_va / 3.0 * 4.0
    assert "Ordinance 12" in after.cite.section


def test_amendment_of_no_figure_is_left_out_and_told():
    report = check_site(amended(figure="no_such_figure"))
    (finding,) = (f for f in report.findings if f.code == "amendment-left-out")
    assert "no_such_figure" in finding.text
    assert lighting(report) == lighting(check_site(FARM))


@pytest.mark.parametrize(("value", "left_out"), [(0, True), (62, True), (90, False)])
def test_an_amendment_a_figure_cannot_be_is_left_out_and_told(value, left_out):
    """110.14(C): terminals are marked 60, 75 or 90 °C, and no sum can be worked with another."""
    report = check_site(amended(figure="terminal_low_c", value=value))
    told = [f.text for f in report.findings if f.code == "amendment-left-out"]
    assert bool(told) is left_out
    assert all("60, 75 or 90" in t for t in told)


def test_an_amendment_of_what_is_divided_by_is_left_out_at_0():
    report = check_site(amended(figure="busbar_opposite_share", value=0))
    (told,) = (f.text for f in report.findings if f.code == "amendment-left-out")
    assert "above 0" in told


@pytest.mark.parametrize(
    ("figure", "value", "says"),
    [
        ("fixed_heat_factor", 900, "a factor from 0 to 2; 900 was given."),
        ("fixed_heat_factor", 65, "a factor from 0 to 2; 65 was given; 65 % is 0.65."),
        ("motor_device_factor", 5.1, "a factor from 0 to 5; 5.1 was given"),
        ("fixed_heat_factor", 2, ""),
        ("motor_device_factor", 5, ""),
    ],
)
def test_a_factor_out_of_its_range_is_left_out_and_the_range_told(figure, value, says):
    """65 typed for 65 % would count a heater 65 times."""
    report = check_site(amended(figure=figure, value=value))
    told = [f.text for f in report.findings if f.code == "amendment-left-out"]
    assert bool(told) is bool(says)
    assert all(says in t for t in told)


@pytest.mark.parametrize(
    "figure",
    ["small_appliance_circuits_least", "laundry_circuits_least", "solar_factor",
     "solar_breaker_most", "motor_device_factor"],
)  # fmt: skip
def test_however_large_an_amendment_is_the_site_is_still_checked(figure):
    before = {f.code for f in check_site(FARM).findings if f.severity == "blocking"}
    after = {f.code for f in check_site(amended(figure=figure, value=1e6)).findings}
    assert before <= after


@pytest.mark.parametrize(("load_w", "power_factor"), [(10_001, 0.01), (1e6, 0.01), (1e6, 0.9)])
def test_however_large_a_load_is_the_site_is_still_checked(load_w, power_factor):
    circuits = tuple(
        c.model_copy(
            update={
                "appliances": tuple(
                    a.model_copy(update={"load_w": load_w, "power_factor": power_factor})
                    for a in c.appliances
                )
            }
        )
        for c in FARM.circuits
    )
    found = check_site(FARM.model_copy(update={"circuits": circuits})).findings
    assert "device-below-load" in {f.code for f in found}


def test_site_without_amendments_shares_one_rulebook():
    assert site_rules(FARM)[0] is site_rules(FARM)[0]


def test_area_told_at_the_panels_answers_the_question():
    assert not any("Floor area served" in q for q in check_site(FARM).missing)
    panels = tuple(p.model_copy(update={"floor_area_ft2": None}) for p in FARM.panels)
    untold = check_site(with_parts(FARM, panels=panels))
    assert any("Floor area served" in q for q in untold.missing)
