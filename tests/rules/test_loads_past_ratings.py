"""A load with digits too many is told where it stands, beside all else that is found."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests import builders
from tests.rules.check_sites import HOUSE, of_kind, plain

KILN_W = 1_000_000.0
"""1 MW at 240 V is 4,167 A, and two of them 8,333 A: past 6,000 A, the last rating of 240.6(A)."""


def plain_circuits():
    """Those of the builder, one of them behind a breaker above its wire."""
    first, *others = builders.backed_up_site().circuits
    small = {"breaker_a": 25.0, "wire_size": "14", "wire_metal": "copper"}
    return (first.model_copy(update=small), *others)


def site(**changes):
    circuits = (
        *plain_circuits(),
        *(
            of_kind(f"kiln-{n}", "backed", (n, n + 2), "heat-strip", load_w=KILN_W, breaker_a=100)
            for n in (9, 13)
        ),
    )
    defaults = {"scenarios": (), "floor_area_ft2": 1200, "zones": HOUSE, "circuits": circuits}
    return builders.backed_up_site(**defaults | changes)


@pytest.fixture(scope="module")
def report():
    return check_site(site())


def test_hazards_are_found_as_without_it(report):
    lighter = check_site(site(circuits=plain_circuits()))
    faults = {f.key for f in lighter.findings if f.severity != "note"}
    assert ("breaker-above-wire", "a", "") in faults
    assert faults <= {f.key for f in report.findings}


def test_what_carries_it_is_above_its_rating_and_no_device_is_named(report):
    over = [f for f in report.findings if f.code == "demand-above-rating" and f.value > 6000]
    assert {"backed", "ats"} <= {f.element_id for f in over}
    for finding in over:
        if finding.element_id in ("backed", "ats"):
            assert "no standard rating is so large, 6,000 A" in finding.mend


def test_the_worksheet_leads_to_the_largest_rating_and_says_that_it_is_too_small(report):
    element = next(d for d in report.demand if d.element_id == "backed")
    sheet = next(s for s in element.sheets if s.method == "standard")
    assert sheet.needed_a > 2 * KILN_W / 240
    assert sheet.standard_a is None
    last = sheet.amp_lines[-1]
    assert (last.label, last.value) == ("The largest standard rating is too small", 6000.0)


def test_a_circuit_of_it_is_told_to_look_at_its_watts():
    lone = of_kind("kiln", "main", (9,), "heat-strip", load_w=KILN_W, volts=120, breaker_a=20)
    found = check_site(
        builders.backed_up_site(scenarios=(), zones=HOUSE, circuits=(lone,))
    ).findings
    finding = next(f for f in found if f.code == "device-below-load")
    assert finding.value == pytest.approx(1.25 * KILN_W / 120)
    assert "digit too many" in finding.mend
    assert finding.advised is None


def test_its_findings_are_tried_too():
    found = check_site(site(), recheck=True).findings
    assert {f.key for f in found} == {f.key for f in check_site(site()).findings}


@pytest.mark.parametrize(
    ("load_w", "said"),
    [
        (4_100.0, "Use a 25 A breaker"),
        (9_600.0, "Use a 50 A breaker"),
        (96_000.0, "Correct its watts, which ask for 25 times its breaker, or use"),
        (KILN_W, "Correct its watts, which ask for 260 times its breaker, or use"),
    ],
)
def test_a_load_is_brought_down_only_as_far_as_an_owner_can(load_w, said):
    """On 20 A at 240 V: 17.08 A, 40 A, 400 A and 4,167 A, each at 125 % for three hours or more."""
    changes = {"load_w": load_w, "breaker_a": 20, "power_factor": 1.0}
    kiln = of_kind("kiln", "main", (1, 3), "kiln", **changes)
    (finding,) = [f for f in check_site(plain(kiln)).findings if f.code == "device-below-load"]
    assert finding.mend.startswith(said)


@pytest.mark.parametrize(
    ("kinds", "said"),
    [
        (("car-charger-32",), "Bring the load to 62 % of what it is or less, or use a 40 A"),
        (("baseboard", "baseboard"), "Put less on it, or use a 25 A breaker"),
        (("water-heater",), "Use a 25 A breaker"),
    ],
)
def test_only_a_charger_is_set_lower_and_only_of_several_is_one_taken_off(kinds, said):
    """32 A x 1.25 on 25 A; two heaters of 2,000 W x 1.25 on 20 A; 4,500 W x 1.25 on 20 A."""
    first = of_kind("c", "main", (1, 3), kinds[0], breaker_a=25 if kinds[0][0] == "c" else 20)
    loads = tuple(
        a.model_copy(update={"id": f"a{n}", "load_w": 2000.0 if len(kinds) > 1 else a.load_w})
        for n, a in enumerate(first.appliances * len(kinds))
    )
    site = plain(first.model_copy(update={"appliances": loads}))
    (finding,) = [f for f in check_site(site).findings if f.code == "device-below-load"]
    assert finding.mend.startswith(said)
