"""Five runs on the bench against sums done by hand from the printed tables."""

from __future__ import annotations

import math

import pytest

from server.rules.editions import rulebook
from server.rules.wiring.piece import Piece
from server.rules.wiring.pieces import size_pieces
from server.rules.wiring.run import Run

RULES = rulebook("2023")


def bench(run, *pieces):
    return size_pieces(run, pieces, RULES)


def test_drop_by_table_8_and_by_table_9():
    """3 copper, PVC, 150 ft, 80 A: Table 8 0.245, Table 9 R 0.25 and X 0.047 ohm per 1000 ft."""
    answer = bench(Run(0, noncontinuous_a=80, device_a=100, power_factor=0.85), Piece(150, "3"))
    ohm = 0.25 * 0.85 + 0.047 * math.sqrt(1 - 0.85**2)
    assert answer.drop.dc_v == pytest.approx(2 * 80 * 0.245 * 0.150)
    assert answer.drop.impedance_v == pytest.approx(2 * 80 * ohm * 0.150)


def test_ampacity_in_its_place_and_at_its_terminals():
    """4 copper THHN: 95 A at 90 °C x 0.87 at 45 °C x 0.80 for six = 66.1 A; 60 °C column 70 A.
    40 A and 125 % of 16 A are 60 A: it carries, behind 60 A."""
    place = Piece(50, "4", letters="THHN", ambient_c=45, current_carrying=6)
    answer = bench(Run(0, noncontinuous_a=40, continuous_a=16, device_a=60), place)
    (one,) = answer.pieces
    assert one.ampacity.adjusted_a == pytest.approx(95 * 0.87 * 0.80)
    assert one.ampacity.terminal_a == 70
    assert one.carries


def test_fill_by_tables_1_4_and_5():
    """Three 1/0 THWN-2 (0.1855 in²) and their 4 AWG ground (0.0824): 0.6389 in². PVC 40 of
    1-1/4 in permits 0.40 x 1.453 = 0.581, of 1-1/2 in 0.40 x 1.986 = 0.794."""
    run = Run(0, noncontinuous_a=120, device_a=150, neutral_a=120, terminal_c=75)
    (one,) = bench(run, Piece(30, "1/0", trade_size="1-1/4")).pieces
    assert one.own_fill.area_in2 == pytest.approx(3 * 0.1855 + 0.0824)
    assert one.own_fill.allowed_in2 == pytest.approx(0.40 * 1.453)
    assert not one.own_fill.fits
    assert one.raceways["pvc40"].raceway.trade_size == "1-1/2"


def test_ground_grown_with_its_wire():
    """250.122(B): 100 A asks for 8 (16,510 cmil) and, at 75 °C, 3 copper (52,620). With 1/0
    (105,600): 16,510 x 105,600 / 52,620 = 33,133 cmil, so 4 AWG (41,740), not 6 (26,240)."""
    run = Run(0, noncontinuous_a=95, device_a=100, terminal_c=75)
    (one,) = bench(run, Piece(300, "1/0")).pieces
    assert (one.least_size, one.ground_size) == ("3", "4")


def test_box_of_three_raceways():
    """314.28(A): three of 2-1/2 in: straight 8 x 2.5 = 20 in; angle 6 x 2.5 + 2 x 2.5 = 20 in;
    raceways of the same wires 6 x 2.5 = 15 in apart."""
    run = Run(0, noncontinuous_a=500, device_a=600, terminal_c=75)
    (one,) = bench(run, Piece(30, "4/0", sets=3, trade_size="2-1/2")).pieces
    assert (one.box.straight_in, one.box.angle_in, one.box.apart_in) == (20, 20, 15)
