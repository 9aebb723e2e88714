"""Propane cylinders held to what suppliers print of them."""

from __future__ import annotations

import pytest

from server.advise.begin.cylinders import CYLINDERS

PRINTED_GAL = {"lb-20": 4.7, "lb-100": 23.6}
"""Gallons in a full one: kineticpetro.com/specs-20-lb-lpg-tank, and
explainthat.org/how-many-gallons-are-in-a-100-lb-propane-tank, as read in 2026."""
PRINTED_BTU = {"lb-20": 430_270}
"""Heat in a full one: kineticpetro.com/specs-20-lb-lpg-tank, as read in 2026."""


@pytest.mark.parametrize("cylinder_id", PRINTED_GAL)
def test_gallons_are_those_printed(cylinder_id: str) -> None:
    assert round(CYLINDERS[cylinder_id].liquid_gal, 1) == PRINTED_GAL[cylinder_id]


@pytest.mark.parametrize("cylinder_id", PRINTED_BTU)
def test_heat_is_that_printed_within_half_a_percent(cylinder_id: str) -> None:
    assert CYLINDERS[cylinder_id].heat_btu == pytest.approx(PRINTED_BTU[cylinder_id], rel=0.005)


def test_a_cylinders_room_is_that_of_its_water_capacity() -> None:
    """A 20 lb cylinder is stamped WC 47.6 lb, from memory; water is 8.34 lb a gallon."""
    assert CYLINDERS["lb-20"].tank_gal == pytest.approx(47.6 / 8.34, rel=0.05)
