"""The lines that stand in for a maker's points, beside the published figures they are read from."""

from __future__ import annotations

import numpy as np
import pytest

from server.physics.engine_set import UNIT_OF_FUEL, Fuel
from server.physics.fuel_curve import fuel_curve
from server.physics.fuel_guess import GUESS_LINES, GUESS_SHARE, guess_line

GAL_BTU = 91.333
"""1000 Btu in a gallon of propane, EIA (2012)."""

# Fuel, rated kW, share of full load, published burn in gal/h, or 1000 Btu/h of natural gas.
PUBLISHED: list[tuple[Fuel, float, float, float]] = [
    # A published rule for a portable set: about 0.65 gal/h at half load.
    ("gasoline", 5, 0.5, 0.65),
    # Makers' sheets, propane: 25 kW liquid-cooled, and 12 kW in 1000 Btu/h.
    ("propane", 25, 0.5, 2.9),
    ("propane", 25, 1.0, 4.3),
    ("propane", 12, 0.5, 128 / GAL_BTU),
    ("propane", 12, 1.0, 213 / GAL_BTU),
    # Makers' sheets, natural gas, half and full. The 10 and 14 kW rows of the same list are left
    # out: at half load they burn 80 and 76 % of full, more than any other.
    ("natural_gas", 12, 0.5, 119),
    ("natural_gas", 12, 1.0, 197),
    ("natural_gas", 18, 0.5, 169),
    ("natural_gas", 18, 1.0, 247),
    ("natural_gas", 20, 0.5, 164),
    ("natural_gas", 20, 1.0, 287),
    ("natural_gas", 22, 0.5, 204),
    ("natural_gas", 22, 1.0, 327),
    ("natural_gas", 24, 0.5, 203),
    ("natural_gas", 24, 1.0, 306),
    ("natural_gas", 26, 0.5, 188),
    ("natural_gas", 26, 1.0, 333),
    # A published diesel chart by quarters of load, and a second one at full load.
    ("diesel", 20, 0.25, 0.6),
    ("diesel", 20, 0.5, 0.9),
    ("diesel", 20, 0.75, 1.3),
    ("diesel", 20, 1.0, 1.6),
    ("diesel", 60, 0.25, 1.8),
    ("diesel", 60, 0.5, 2.9),
    ("diesel", 60, 0.75, 3.8),
    ("diesel", 60, 1.0, 4.8),
    ("diesel", 8, 1.0, 0.69),
    ("diesel", 10, 1.0, 0.88),
    ("diesel", 15, 1.0, 1.22),
]


def burn(fuel: Fuel, rated_kw: float, share: float) -> float:
    curve = fuel_curve(fuel=fuel, rated_kw=rated_kw, points=[])
    assert curve.guess
    return float(curve.rate_per_h(np.array([rated_kw * share]))[0])


@pytest.mark.parametrize(("fuel", "rated_kw", "share", "published"), PUBLISHED)
def test_guess_is_near_what_is_published(
    fuel: Fuel, rated_kw: float, share: float, published: float
) -> None:
    near = {"natural_gas": 0.22, "diesel": 0.10}.get(fuel, 0.01)
    assert burn(fuel, rated_kw, share) == pytest.approx(published, rel=near)
    assert near < GUESS_SHARE


def test_five_kilowatts_of_gasoline_at_half_load_burn_the_published_figure() -> None:
    assert burn("gasoline", 5, 0.5) == pytest.approx(0.65)


def test_propane_at_three_of_25_kilowatts_burns_1_84_gallons_an_hour() -> None:
    """0.060 × 25 + 0.112 × 3 by hand."""
    assert burn("propane", 25, 3 / 25) == pytest.approx(1.836)


def test_propane_between_its_two_sheets_takes_no_leap_and_burns_more_the_larger_the_set() -> None:
    """At 4 kW of load: 12 kW burn 1.09 gal/h and 25 kW 1.95, each by its own sheet."""
    sizes = [12, 12.01, 14, 15, 15.01, 16, 20, 24.99, 25]
    burns = [burn("propane", kw, 4 / kw) for kw in sizes]
    assert burns == sorted(burns)
    assert burns[1] == pytest.approx(burns[0], rel=0.002)
    assert burns[-2] == pytest.approx(burns[-1], rel=0.002)
    assert burns[4] == pytest.approx(burns[3], rel=0.002)
    assert burns[0] == pytest.approx(128 / GAL_BTU - 2 * (213 - 128) / GAL_BTU / 12 * 2, rel=0.002)
    assert burns[-1] == pytest.approx(0.060 * 25 + 0.112 * 4)
    assert "between the two by size" in guess_line("propane", 16).words


@pytest.mark.parametrize("fuel", sorted(UNIT_OF_FUEL))
def test_idle_is_within_the_published_13_to_59_percent_of_full(fuel: Fuel) -> None:
    for line in GUESS_LINES[fuel]:
        full = line.idle_per_rated_kw + line.per_kwh
        assert 0.13 <= line.idle_per_rated_kw / full <= 0.59


@pytest.mark.parametrize("fuel", sorted(UNIT_OF_FUEL))
def test_every_size_has_a_line_that_says_what_it_was_read_from(fuel: Fuel) -> None:
    sizes = [line.to_kw for line in GUESS_LINES[fuel]]
    assert sizes == sorted(sizes)
    for rated_kw in (1, 15, 15.1, 60, 500):
        assert "published" in guess_line(fuel, rated_kw).words
