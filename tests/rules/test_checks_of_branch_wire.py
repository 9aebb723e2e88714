"""Branch wire that was read: its breaker and its load."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.rules.check_sites import codes, found, of_kind, plain


def wired(kind, spaces, size, *, breaker_a, metal="copper", **changes):
    circuit = of_kind("x", "main", spaces, kind, breaker_a=breaker_a, **changes)
    return plain(circuit.model_copy(update={"wire_size": size, "wire_metal": metal}))


def severities(site, code):
    return [f.severity for f in check_site(site).findings if f.code == code]


@pytest.mark.parametrize(
    ("size", "metal", "breaker_a", "severity"),
    [
        ("14", "copper", 15, None),
        ("14", "copper", 20, "blocking"),
        ("12", "copper", 20, None),
        ("12", "copper", 25, "blocking"),
        ("12", "aluminum", 20, "blocking"),
        ("10", "copper", 30, None),
    ],
)
def test_small_wire_has_its_own_largest_breaker(size, metal, breaker_a, severity):
    site = wired("plugs", (1,), size, breaker_a=breaker_a, metal=metal)
    assert severities(site, "breaker-above-wire") == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("breaker_a", "severity"), [(60, None), (70, "note"), (80, "blocking")]
)  # 6 copper: 55 A at 60 °C, next size 60 A; 65 A at 75 °C, next size 70 A
def test_larger_wire_may_stand_behind_the_next_standard_breaker(breaker_a, severity):
    site = wired("heat-strip", (1, 3), "6", breaker_a=breaker_a, load_w=5000)
    assert severities(site, "breaker-above-wire") == ([severity] if severity else [])


def test_a_motor_of_its_own_may_stand_behind_a_breaker_above_its_wire():
    """1 hp at 240 V: 8 A x 1.25 = 10 A on 14 copper, behind 20 A (240.4(G))."""
    site = wired("well-pump", (1, 3), "14", breaker_a=20)
    assert "breaker-above-wire" not in codes(site)
    assert "branch-wire-small" not in codes(site)


def test_wire_is_held_to_its_load():
    """A 48 A charger asks for 60 A; 8 copper carries 40 A, or 50 A at 75 °C."""
    site = wired("car-charger-48", (1, 3), "8", breaker_a=60)
    finding = found(site, "branch-wire-small")
    assert (finding.value, finding.limit) == (40, pytest.approx(60, abs=0.01))
    assert severities(site, "branch-wire-small") == ["warning"]
    assert "branch-wire-small" not in codes(wired("car-charger-48", (1, 3), "4", breaker_a=60))


def test_wire_that_is_not_in_the_table_says_so():
    assert (
        "14 aluminum"
        in found(
            wired("plugs", (1,), "14", breaker_a=15, metal="aluminum"), "branch-wire-small"
        ).text
    )


def test_wire_that_was_read_everywhere_is_not_asked_for():
    assert "branch-wire-unknown" not in codes(wired("plugs", (1,), "12", breaker_a=20))
    assert "branch-wire-unknown" in codes(plain(of_kind("x", "main", (1,), "plugs")))


@pytest.mark.parametrize(
    ("volts", "spaces", "horsepower", "severity"),
    [
        (120, (1,), 0.1, "blocking"),
        (120, (1,), 12.0, "blocking"),
        (240, (1, 3), 15.0, "warning"),
        (120, (1,), 0.5, None),
    ],
)
def test_a_motor_that_is_not_in_the_table_has_its_wire_protected_as_any(
    volts, spaces, horsepower, severity
):
    """240.4(G) sends to 430.52, which goes by the table."""
    own = of_kind("x", "main", spaces, "other", volts=volts, horsepower=horsepower, breaker_a=60)
    site = plain(own.model_copy(update={"wire_size": "14"}))
    above = [f.severity for f in check_site(site).findings if f.code == "breaker-above-wire"]
    assert above == ([severity] if severity else [])
