"""Runs on the bench against sums done by hand from the printed tables."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from server.domain.errors import InputError
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


@pytest.mark.parametrize(
    ("load", "device_a", "size"),
    [
        ({"continuous_a": 16.1}, 30, "10"),  # 16.1 x 1.25 = 20.1 A
        ({"continuous_a": 16.0}, 20, "12"),
        ({"noncontinuous_a": 31.0}, 40, "8"),
        ({"noncontinuous_a": 44.0}, 50, "6"),
    ],
)
def test_a_circuit_of_several_outlets_is_of_a_rating_that_outlets_have(load, device_a, size):
    """210.18 (210.3 before 2020): 15, 20, 30, 40 or 50 A; 25, 35 and 45 A are left out."""
    run = Run(0, **load, volts=240, receptacles=True, drop_share=0.05)
    answer = bench(run, Piece(20))
    assert (answer.device_a, answer.device.value) == (device_a, device_a)
    assert answer.pieces[0].size == size
    assert not any(n.wrong for n in answer.notes)


@pytest.mark.parametrize(
    ("edition", "device_a", "said"),
    [
        ("2017", 25, "15, 20, 30, 40 or 50 A (210.3); 25 A is none of them."),
        ("2023", 45, "15, 20, 30, 40 or 50 A (210.18); 45 A is none of them."),
        ("2023", 60, "60 A is none of them: a larger one is for industry alone."),
    ],
)
def test_another_rating_for_several_outlets_is_told(edition, device_a, said):
    run = Run(0, noncontinuous_a=22, device_a=device_a, receptacles=True)
    answer = size_pieces(run, [Piece(20)], rulebook(edition))
    assert [n.text.endswith(said) for n in answer.notes if n.wrong] == [True]


def test_outlets_of_20_a_are_kept_off_a_larger_circuit():
    """Table 210.21(B)(3): 30 A stands on 30 A; 20 A and less have 15 or 20 A."""
    told = {}
    for device_a in (20, 30):
        run = Run(0, noncontinuous_a=12, device_a=device_a, receptacles=True)
        told[device_a] = [n.text for n in bench(run, Piece(20)).notes]
    assert told[20] == []
    assert told[30] == ["Receptacles of 15 A or 20 A may not stand on 30 A (210.21(B), 210.23)."]


@pytest.mark.parametrize(("metal", "least"), [("copper", "8"), ("aluminum", "6")])
def test_service_conductors_are_not_smaller_than_8_copper_or_6_aluminum(metal, least):
    """230.23(B) and 230.31(B): ecmweb.com, electrical services part 4."""
    run = Run(0, noncontinuous_a=12, device_a=15, volts=240, service=True)
    found = bench(run, Piece(20, metal=metal))
    assert found.pieces[0].size == least
    assert not any(n.wrong for n in found.notes)
    given = bench(run, Piece(20, "10", metal))
    assert [n.text for n in given.notes if n.wrong] == [
        f"Service conductors are not smaller than {least} {metal} (230.23(B), 230.31(B)), but to a "
        "single branch circuit of limited load."
    ]
    feeds = bench(replace(run, service=False), Piece(20, "10", metal))
    assert feeds.notes == ()


def test_a_service_below_what_its_disconnect_must_be_is_told():
    """230.79(C) and (D): 100 A for a one-family dwelling, 60 A elsewhere; 230.42(B) the wire."""
    notes = {}
    for device_a in (90, 100):
        run = Run(0, noncontinuous_a=80, device_a=device_a, service=True)
        notes[device_a] = [n.text for n in bench(run, Piece(20)).notes]
    assert notes[100] == []
    assert len(notes[90]) == 1
    assert "100 A at least for a one-family dwelling and 60 A elsewhere" in notes[90][0]
    assert notes[90][0].endswith("(230.42(B), 230.79).")


def test_above_800_a_the_wire_carries_all_of_its_device():
    """240.4(C): 2 x 750 copper carry 2 x 475 = 950 A at 75 C, over the load of 790 A but under the
    device of 1,000 A; 3 x 400 carry 3 x 335 = 1,005 A."""
    run = Run(0, noncontinuous_a=790, device_a=1000, terminal_c=75)
    why = "above 800 A the wire carries all of its device, 1000 A (240.4(B), 240.4(C)); it carries "
    with pytest.raises(InputError) as refused:
        bench(run, Piece(20, sets=2))
    assert str(refused.value) == f"Not even 2 × 750 copper will do: {why}950 A. 3 sets would."
    assert bench(run, Piece(20, "750", sets=2)).pieces[0].reason == f"{why}950 A"
    assert bench(run, Piece(20, sets=3)).pieces[0].size == "400"


def test_one_wire_that_is_too_small_is_told_by_the_largest():
    with pytest.raises(InputError, match=r"Not even 750 copper will do: .* 2 sets would\."):
        bench(Run(0, noncontinuous_a=600, device_a=600, terminal_c=75), Piece(20))


@pytest.mark.parametrize(
    ("device_a", "near"),
    [(85, "are 80 A and 90 A"), (12, "are 10 A and 15 A"), (10, None), (80, None), (601, None)],
)
def test_a_rating_that_is_not_standard_is_told(device_a, near):
    """240.6(A); 601 A is of fuses, 10 A of fuses and, since 2023, of breakers."""
    answer = bench(Run(0, noncontinuous_a=9, device_a=device_a, terminal_c=75), Piece(20, sets=2))
    said = [n.text for n in answer.notes]
    assert said == (
        [f"{device_a} A is no standard rating (240.6(A)); the nearest {near}."] * bool(near)
    )


@pytest.mark.parametrize("volts", [130, 277, 480, 600])
def test_a_neutral_is_refused_where_a_leg_is_not_of_120_v(volts):
    run = Run(0, noncontinuous_a=40, neutral_a=10, neutral_drop_a=10, volts=volts)
    with pytest.raises(InputError) as refused:
        bench(run, Piece(20))
    assert refused.value.field == "neutral_a"
    assert bench(replace(run, neutral_a=None, neutral_drop_a=None), Piece(20)).drop.volts == volts


@pytest.mark.parametrize("volts", [208, 240])
def test_a_neutral_is_worked_out_on_legs_of_120_v(volts):
    run = Run(0, noncontinuous_a=40, neutral_a=40, neutral_drop_a=40, volts=volts)
    assert bench(run, Piece(20)).drop.volts == 120
