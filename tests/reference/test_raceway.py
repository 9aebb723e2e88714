"""Raceway fill against printed figures."""

from __future__ import annotations

import pytest

from server.domain.errors import InputError
from server.physics.raceway import fill_share, permitted_count
from server.rules.editions import rulebook
from server.rules.tables import conductor, raceway, raceways
from server.rules.wiring.pulls import least_box, pull_points, pull_points_needed
from server.rules.wiring.raceway import (
    Wires,
    allowed_share,
    fill,
    trade_size_needed,
    trade_sizes,
)

RULES = rulebook("2023")


def test_six_10_awg_in_1_in_emt():
    """electricianmath.com: .1458 of .864 is 16.875 %; 40 % is .346; .2002 is left."""
    inside = raceway("emt", "1").total_in2
    used = 6 * 0.0243
    assert fill_share([0.0243] * 6, inside_in2=inside) == pytest.approx(0.16875)
    assert 0.40 * inside == pytest.approx(0.346, abs=0.0005)
    assert 0.346 - used == pytest.approx(0.2002)


@pytest.mark.parametrize(
    ("trade", "size", "count"),
    [
        ("3/4", "14", 22),
        ("3/4", "12", 16),
        ("3/4", "10", 10),
        ("3/4", "8", 6),
        ("3/4", "6", 4),
        ("1", "12", 26),
        ("1", "6", 7),
        ("1/2", "12", 9),
        ("1/2", "10", 5),
        ("1/2", "8", 3),
    ],
)
def test_annex_c_counts_of_thhn_in_emt(trade, size, count):
    """Annex C as remembered, and by note 7: a fraction of 0.8 or more rounds up.

    1/2 in with 10 AWG is 5.76: it stays 5.
    """
    wires = [Wires(size, count, "THHN")]
    more = [Wires(size, count + 1, "THHN")]
    assert fill(kind="emt", trade_size=trade, wires=wires, rules=RULES).fits
    assert not fill(kind="emt", trade_size=trade, wires=more, rules=RULES).fits
    printed = raceway("emt", trade).total_in2 * 0.40
    assert (
        permitted_count(
            allowed_in2=printed, wire_in2=conductor(size).area_in2["thhn"], round_up_at=0.8
        )
        == count
    )


def test_rounding_up_is_only_for_wires_alike():
    alike = fill(kind="emt", trade_size="3/4", wires=[Wires("8", 6, "THHN")], rules=RULES)
    mixed = fill(
        kind="emt",
        trade_size="3/4",
        wires=[Wires("8", 5, "THHN"), Wires("8", 1, "XHHW")],
        rules=RULES,
    )
    assert alike.share > alike.allowed_share
    assert alike.fits
    assert alike.rounded_up
    assert not mixed.fits
    assert not mixed.rounded_up


@pytest.mark.parametrize("ground", ["4", "2", "1/0"])
def test_3_in_is_the_smallest_common_size_for_six_250_and_a_ground(ground):
    """Common practice, no source. Six 250 kcmil THWN-2 with a 4, 2 or 1/0 ground."""
    wires = [Wires("250", 6), Wires(ground, 1)]
    found = trade_sizes(wires=wires, rules=RULES)
    assert {kind: one.raceway.trade_size for kind, one in found.items()} == {
        "emt": "3",
        "pvc40": "3",
        "pvc80": "3",
        "rmc": "3",
    }
    for kind in found:
        assert not fill(kind=kind, trade_size="2-1/2", wires=wires, rules=RULES).fits


def test_shares_by_count_and_nipple():
    """Table 1: 53, 31, 40 %; a nipple of 24 in or less 60 %."""
    shares = [allowed_share(count=n, nipple_in=None, rules=RULES) for n in (1, 2, 3, 7)]
    assert shares == [0.53, 0.31, 0.40, 0.40]
    assert allowed_share(count=7, nipple_in=24, rules=RULES) == 0.60
    with pytest.raises(InputError, match="24"):
        allowed_share(count=7, nipple_in=25, rules=RULES)


@pytest.mark.parametrize(
    ("trade", "two", "one"),
    [
        ("1/2", 0.094, 0.161),
        ("3/4", 0.165, 0.283),
        ("1", 0.268, 0.458),
        ("1-1/4", 0.464, 0.793),
        ("1-1/2", 0.631, 1.079),
        ("2", 1.040, 1.778),
    ],
)
def test_printed_31_and_53_percent_of_emt(trade, two, one):
    total = raceway("emt", trade).total_in2
    assert 0.31 * total == pytest.approx(two, abs=0.0008)
    assert 0.53 * total == pytest.approx(one, abs=0.0008)


def test_jamming_is_warned_of_between_2_8_and_3_2():
    """Three 1/0 THWN-2 (0.486 in) in 1-1/4 and 1-1/2 EMT: ratios 2.84 and 3.31."""
    jam = fill(kind="emt", trade_size="1-1/4", wires=[Wires("1/0", 3)], rules=RULES)
    free = fill(kind="emt", trade_size="1-1/2", wires=[Wires("1/0", 3)], rules=RULES)
    four = fill(kind="emt", trade_size="1-1/2", wires=[Wires("1/0", 4)], rules=RULES)
    assert jam.jam == pytest.approx(2.84, abs=0.005)
    assert jam.jams
    assert not free.jams
    assert four.jam is None


def test_bare_ground_takes_its_bare_area():
    bare = fill(kind="pvc40", trade_size="2", wires=[Wires("4", 1, "bare")], rules=RULES)
    assert bare.area_in2 == pytest.approx(0.042, abs=0.0005)


def test_too_many_wires_are_refused_with_the_largest_size():
    with pytest.raises(InputError, match="largest here"):
        trade_size_needed(kind="emt", wires=[Wires("500", 20)], rules=RULES)
    assert trade_sizes(wires=[Wires("500", 20)], rules=RULES)["emt"] is None


@pytest.mark.parametrize(
    "call",
    [
        lambda: fill(kind="emt", trade_size="5", wires=[Wires("12", 1)], rules=RULES),
        lambda: fill(kind="hose", trade_size="1", wires=[Wires("12", 1)], rules=RULES),
        lambda: fill(kind="emt", trade_size="1", wires=[], rules=RULES),
        lambda: Wires("13", 1),
        lambda: Wires("12", 0),
        lambda: Wires("12", 1, "NM-B"),
        lambda: pull_points_needed([200], rules=RULES),
    ],
)
def test_what_is_not_in_the_tables_is_refused(call):
    with pytest.raises(InputError):
        call()


def test_pull_points():
    assert pull_points_needed([], rules=RULES) == 0
    assert pull_points_needed([90, 90, 45, 45, 90], rules=RULES) == 0
    assert pull_points_needed([90, 90, 90, 90, 15], rules=RULES) == 1
    assert pull_points_needed([90] * 9, rules=RULES) == 2


def test_every_kind_has_all_ten_sizes():
    assert {k: sum(r.kind == k for r in raceways()) for k in ("emt", "pvc40", "pvc80", "rmc")} == {
        "emt": 10,
        "pvc40": 10,
        "pvc80": 10,
        "rmc": 10,
    }


def test_box_of_a_straight_pull():
    """codebookcity.com quiz 314-09: 2 in EMT, 8 times the trade size (53 x 8 = 424 mm)."""
    box = least_box(trade_size="2", largest_wire="4", rules=RULES)
    assert box is not None
    assert box.straight_in == 16
    assert box.straight_in * 25.4 == pytest.approx(424, rel=0.05)
    assert box.straight.value == 16
    assert box.straight.source.startswith("314.28(A)(1)")
    assert [t.name for t in box.straight.terms] == ["Largest raceway", "Straight pull"]
    assert [t.value for t in box.straight.terms] == [2, 8]
    assert box.working.source.startswith("314.28(A)(2)")


def test_box_of_an_angle_pull_adds_the_other_raceways_of_the_row():
    """314.28(A)(2) as mikeholt.com 114639 quotes it: 6 times the largest, and the others' sum."""
    one = least_box(trade_size="3", largest_wire="500", rules=RULES)
    three = least_box(trade_size="3", largest_wire="500", raceways=3, rules=RULES)
    assert one is not None
    assert three is not None
    assert (one.angle_in, three.angle_in) == (18, 24)
    assert one.apart_in == three.apart_in == 18
    assert one.straight_in == three.straight_in == 24
    assert three.working.value == 24


def test_a_box_is_by_length_from_4_awg_and_by_volume_below():
    """voltagelab.com: 6 AWG and smaller by 314.16, 4 AWG and larger by 314.28."""
    assert least_box(trade_size="1", largest_wire="6", rules=RULES) is None
    assert least_box(trade_size="1", largest_wire="4", rules=RULES) is not None
    with pytest.raises(InputError, match="between 1 and 60"):
        least_box(trade_size="1", largest_wire="4", raceways=0, rules=RULES)


def test_pull_points_stand_before_the_bend_that_is_too_many():
    assert pull_points([], rules=RULES) == ()
    assert pull_points([90, 90, 90, 90], rules=RULES) == ()
    assert pull_points([90, 90, 90, 90, 15], rules=RULES) == (4,)
    assert pull_points([180, 180, 45, 180, 135, 15], rules=RULES) == (2, 5)
    with pytest.raises(InputError, match="between 0 and 180"):
        pull_points([181], rules=RULES)
