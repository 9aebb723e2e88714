"""Motors that Table 430.248 has no row for: between its rows, and past its last."""

from __future__ import annotations

import pytest

from tests.rules.check_sites import codes, found, of_kind, plain


def pump(horsepower, *, breaker_a=20, load_w=1500):
    return plain(
        of_kind(
            "pump", "main", (1, 3), "well-pump", load_w=load_w, horsepower=horsepower,
            power_factor=1.0, breaker_a=breaker_a,
        )
    )  # fmt: skip


@pytest.mark.parametrize(("horsepower", "asked"), [(10, False), (12, True), (7, False)])
def test_past_its_last_row_the_amps_of_the_plate_are_asked_for(horsepower, asked):
    site = pump(horsepower, breaker_a=100, load_w=9600)
    assert ("motor-past-table" in codes(site)) is asked
    if asked:
        one = found(site, "motor-past-table")
        assert (one.severity, one.section) == ("warning", "430.6(A)(1)")
        assert "by its watts alone, 40.0 A" in one.text


@pytest.mark.parametrize(("breaker_a", "large"), [(25, False), (30, True)])
def test_between_its_rows_a_breaker_is_held_to_amps_in_proportion(breaker_a, large):
    """By hand: 1-1/4 hp lies half way from 8 A to 10 A; 250 % of 9 A is 22.5 A, next 25 A."""
    assert ("motor-device-large" in codes(pump(1.25, breaker_a=breaker_a))) is large
