"""Gas of propane vessels held to the printed tables, with what lies between them by hand."""

from __future__ import annotations

from itertools import pairwise

import pytest

from server.physics.propane_vapour import CYLINDER_GAL, vapour

BTU_PER_FT3 = 91_333 / 36.38


@pytest.mark.parametrize(
    ("outdoor_f", "least_gal", "cfh"),
    [
        # Owner's manual 206484GS of a standby set, p. 14, "Required Propane Tank Size".
        (32, 750, 300),
        (10, 115, 50),
        (0, 250, 50),
        (20, 400, 150),
        (20, 1000, 300),
        (10, 750, 200),
        (0, 400, 100),
        (0, 1000, 200),
        (-10, 2500, 300),
        (-30, 1000, 100),
        (-40, 2500, 200),
    ],
)
def test_half_full_tank_gives_what_its_row_prints(outdoor_f, least_gal, cfh):
    found = vapour(capacity_gal=least_gal, level=0.5, outdoor_f=outdoor_f)
    assert found.btu_h == pytest.approx(cfh * BTU_PER_FT3)
    assert not found.at_least


@pytest.mark.parametrize(("room_gal", "of_one_gal"), [(1000, 500), (80, 40)])
def test_two_vessels_give_twice_what_one_of_them_gives(room_gal, of_one_gal):
    pair = vapour(capacity_gal=room_gal, level=0.5, outdoor_f=20, vessels=2)
    one = vapour(capacity_gal=of_one_gal, level=0.5, outdoor_f=20)
    assert (pair.btu_h, pair.source) == (pytest.approx(2 * one.btu_h), one.source)


@pytest.mark.parametrize(
    ("outdoor_f", "pounds", "btu_h"),
    [
        # Manual TP-6727 of a standby set, 10/11, appendix D, figure 1 (p. 63).
        (0, 100, 113_000),
        (20, 100, 167_000),
        (60, 100, 277_000),
        (70, 50, 167_000),
        (40, 30, 85_000),
        (0, 10, 28_000),
    ],
)
def test_cylinder_of_100_lb_gives_what_is_printed(outdoor_f, pounds, btu_h):
    level = 0.8 * pounds / 100
    found = vapour(capacity_gal=CYLINDER_GAL, level=level, outdoor_f=outdoor_f)
    assert found.btu_h == pytest.approx(btu_h)
    assert not found.at_least


@pytest.mark.parametrize(
    ("capacity_gal", "level", "outdoor_f", "cfh"),
    [
        # Halfway from 400 gal (150 CFH) to 500 gal (200 CFH) at 20 F.
        (450, 0.5, 20, 175),
        # 500 gal: 150 CFH at 0 F and 200 at 20 F with 150 at 10 F between: 15 F is halfway.
        (500, 0.5, 15, 175),
        # A quarter of the way up from -44 F, where nothing boils, to 200 CFH of 2500 gal at -40 F.
        (2500, 0.5, -43, 50),
        # 120 gal are 0.48 of the 250 gal that 50 CFH need at 0 F; 0.48^(2/3) = 0.613.
        (120, 0.5, 0, 30.65),
        # K 60 at a fifth full beside 90 at half (TP-6727): two thirds of 150 CFH.
        (500, 0.2, 0, 100),
    ],
)
def test_between_the_rows_it_is_straight(capacity_gal, level, outdoor_f, cfh):
    found = vapour(capacity_gal=capacity_gal, level=level, outdoor_f=outdoor_f)
    assert found.btu_h == pytest.approx(cfh * BTU_PER_FT3, rel=1e-3)


@pytest.mark.parametrize(
    ("capacity_gal", "level", "outdoor_f", "edge"),
    [
        (750, 0.5, 80, (750, 0.5, 32)),
        (5000, 0.5, 0, (2000, 0.5, 0)),
        (500, 0.8, 0, (500, 0.6, 0)),
        (CYLINDER_GAL, 0.8, 95, (CYLINDER_GAL, 0.8, 70)),
    ],
)
def test_above_the_tables_it_says_at_least_and_adds_nothing(capacity_gal, level, outdoor_f, edge):
    found = vapour(capacity_gal=capacity_gal, level=level, outdoor_f=outdoor_f)
    inside = vapour(capacity_gal=edge[0], level=edge[1], outdoor_f=edge[2])
    assert found.at_least
    assert not inside.at_least
    assert found.btu_h == pytest.approx(inside.btu_h)


def test_empty_or_at_its_boiling_point_it_gives_nothing():
    for gallons in (5.9, 500.0):
        assert vapour(capacity_gal=gallons, level=0.0, outdoor_f=60).btu_h == 0.0
        assert vapour(capacity_gal=gallons, level=0.8, outdoor_f=-44).btu_h == 0.0


def test_larger_warmer_or_fuller_never_gives_less():
    def gives(gallons, level, outdoor_f):
        return vapour(capacity_gal=gallons, level=level, outdoor_f=outdoor_f).btu_h

    sizes = (3, 6, 30, 59, 114.9, 115, 120, 250, 300, 500, 1000, 2500, 6000)
    levels = (0.0, 0.05, 0.1, 0.3, 0.5, 0.6, 0.8, 1.0)
    temps = (-60, -44, -40, -20, 0, 7, 20, 32, 50, 70, 90)
    for a, b in (*pairwise(sizes[:5]), *pairwise(sizes[5:])):
        assert all(gives(a, s, t) <= gives(b, s, t) + 1e-6 for s in levels for t in temps)
    for a, b in pairwise(levels):
        assert all(gives(g, a, t) <= gives(g, b, t) + 1e-6 for g in sizes for t in temps)
    for a, b in pairwise(temps):
        assert all(gives(g, s, a) <= gives(g, s, b) + 1e-6 for g in sizes for s in levels)
