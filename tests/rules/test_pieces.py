"""A run of several segments: sums by hand, nipples, company, pulls and refusals."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import acos, sin

import pytest

from server.domain.errors import InputError
from server.rules.editions import rulebook
from server.rules.tables import conductor
from server.rules.wiring.carrying import sizes_for
from server.rules.wiring.piece import MOST_PIECES, Piece
from server.rules.wiring.pieces import size_pieces
from server.rules.wiring.raceway import Wires
from server.rules.wiring.run import Run
from server.rules.wiring.sizing import size_run

RULES = rulebook("2023")


def worked(*pieces, load_a=40.0, **run):
    return size_pieces(Run(0, noncontinuous_a=load_a, **run), pieces, RULES)


@pytest.mark.parametrize(
    ("run_ft", "load_a", "metal"),
    list(product((20.0, 150.0, 400.0), (18.0, 60.0, 150.0), ("copper", "aluminum"))),
)
@pytest.mark.parametrize("more", [{}, {"neutral_a": 12.0}, {"volts": 120.0}, {"start_a": 90.0}])
def test_one_open_segment_comes_to_what_one_run_does(run_ft, load_a, metal, more):
    load = {"noncontinuous_a": load_a, "continuous_a": 5.0, "drop_share": 0.08, **more}
    alone = size_run(Run(run_ft, metal=metal, **load), RULES)
    answer = size_pieces(Run(0, **load), [Piece(run_ft, metal=metal)], RULES)
    (one,) = answer.pieces
    assert (one.size, one.least_size, answer.device_a) == (
        alone.size,
        alone.ampacity_size,
        alone.device_a,
    )
    assert (one.ground_size, one.neutral_size) == (alone.ground_size, alone.neutral_size)
    assert answer.drop.dc_v == alone.drop.dc_v
    assert answer.drop.impedance_v == alone.drop.impedance_v
    assert (answer.start_drop and answer.start_drop.dc_v) == (
        alone.start_drop and alone.start_drop.dc_v
    )
    if "neutral_a" not in more:
        assert one.raceways == alone.raceways
    assert one.reason == alone.reason


def test_the_drop_is_the_sum_of_the_segments_by_dc():
    """2 x 100 A x (150 ft x 0.100 + 40 ft x 0.0967) / 1000 = 3.774 V, 1.572 % of 240 V."""
    answer = worked(Piece(150, "4/0", "aluminum"), Piece(40, "2/0"), load_a=100)
    first, second = answer.pieces
    assert first.dc_v == pytest.approx(3.0)
    assert second.dc_v == pytest.approx(0.7736)
    assert answer.drop.dc_v == pytest.approx(3.7736)
    assert answer.drop_share == pytest.approx(3.7736 / 240)
    assert answer.drops_ok


def test_the_drop_by_impedance_takes_the_conduit_of_each_segment():
    """At 0.85: 4/0 Al in PVC R .10 X .041, 2/0 Cu in steel R .10 X .054; 100 A."""
    cos, sine = 0.85, sin(acos(0.85))
    by_hand = (
        2 * 100 * (150 * (0.10 * cos + 0.041 * sine) + 40 * (0.10 * cos + 0.054 * sine)) / 1000
    )
    answer = worked(
        Piece(150, "4/0", "aluminum", kind="pvc40"),
        Piece(40, "2/0", kind="emt"),
        load_a=100,
        power_factor=0.85,
        reckoning="impedance",
    )
    assert answer.drop.impedance_v == pytest.approx(by_hand)
    assert answer.drop_share == pytest.approx(by_hand / 240)
    assert sum(p.impedance_v for p in answer.pieces) == pytest.approx(by_hand)


def test_a_start_is_lost_over_every_segment():
    """60 A more at 0.4 over 100 ft of 6 and 50 ft of 4 copper in PVC, by R and X of the table."""
    sine = sin(acos(0.4))
    start_v = 2 * 60 * (100 * (0.49 * 0.4 + 0.051 * sine) + 50 * (0.31 * 0.4 + 0.048 * sine)) / 1000
    answer = worked(Piece(100, "6"), Piece(50, "4"), load_a=30, start_a=60)
    assert answer.start_drop is not None
    assert answer.start_drop.dc_v == pytest.approx(answer.drop.dc_v + start_v)


def test_the_neutral_that_carries_is_part_of_the_drop_on_every_segment():
    """Leg out, neutral back: (40 A + 25 A) x (100 x 0.491 + 30 x 0.308) / 1000 over 120 V."""
    answer = worked(Piece(100, "6"), Piece(30, "4"), neutral_a=25, neutral_drop_a=25)
    by_hand = 65 * (100 * 0.491 + 30 * 0.308) / 1000
    assert answer.drop.dc_v == pytest.approx(by_hand)
    assert answer.drop.volts == 120
    assert sum(p.dc_v for p in answer.pieces) == pytest.approx(by_hand)


def test_open_segments_grow_together_and_given_ones_stay():
    answer = worked(
        Piece(200, metal="aluminum"),
        Piece(60, "2"),
        Piece(80, metal="copper"),
        load_a=80,
        terminal_c=75,
    )
    outside, given, inside = answer.pieces
    assert given.size == "2"
    assert not given.found
    assert (outside.least_size, inside.least_size) == ("2", "4")
    assert "drops" in outside.reason
    assert answer.drops_ok
    grown = next(t for t in answer.trials if t.drops_ok)
    assert grown.sizes == ("3/0", "2", "3/0")
    assert all(not t.drops_ok for t in answer.trials[: answer.trials.index(grown)])
    assert (outside.size, inside.size) == ("3/0", "2/0")
    assert answer.trials[-1].sizes == ("3/0", "2", "2/0")


@pytest.mark.parametrize(("load_a", "run_ft"), [(120.0, 300.0), (60.0, 600.0), (72.0, 500.0)])
def test_a_drop_of_3_percent_to_the_digit_is_held(load_a, run_ft):
    """4/0 aluminum is of 0.100 ohm/kft (chapter 9, table 8): 2 × 0.1 × 120 A × 300 ft / 1000 =
    7.2 V, 3.00 % of 240 V. 3 % is the advice, and no more than it (215.2(A)(2) note).
    """
    alone = size_run(Run(run_ft, load_a, metal="aluminum"), RULES)
    assert alone.drop_size == "4/0"
    assert alone.drop.dc_v == pytest.approx(7.2)
    assert worked(Piece(run_ft, metal="aluminum"), load_a=load_a).pieces[0].size == "4/0"
    further = size_run(Run(run_ft * 1.001, load_a, metal="aluminum"), RULES)
    assert further.drop_size == "250"


def test_a_segment_without_length_is_refused_with_its_range():
    with pytest.raises(InputError, match=r"0\.1 and 20000 ft") as error:
        worked(Piece(0.0))
    assert error.value.field == "run_ft"


def test_a_short_segment_comes_down_to_what_the_drop_leaves():
    """250 ft of aluminum decide; 20 ft of copper need no such size, and no smaller one holds."""
    answer = worked(Piece(250, metal="aluminum"), Piece(20, metal="copper"), load_a=70)
    long, short = answer.pieces
    assert conductor(short.size).cmil < conductor(long.size).cmil
    assert answer.drops_ok
    for at, piece in enumerate(answer.pieces):
        sizes = sizes_for(answer.run, RULES)
        smaller = sizes[sizes.index(piece.size) - 1]
        given = [Piece(p.piece.run_ft, p.size, metal=p.piece.metal) for p in answer.pieces]
        given[at] = replace(given[at], size=smaller)
        tried = worked(*given, load_a=70)
        assert not (tried.drops_ok and all(p.carries for p in tried.pieces))


def test_a_size_that_is_given_and_too_small_is_told_not_refused():
    answer = worked(Piece(50, "10"), Piece(50, "6"), load_a=50, terminal_c=75)
    small, enough = answer.pieces
    assert not small.carries
    assert "terminals carry 35 A" in small.reason
    assert (small.least_size, enough.least_size) == ("8", "8")
    assert enough.carries
    assert not answer.carries
    assert worked(Piece(200, "8"), load_a=40).drops_ok is False


def test_nothing_here_that_carries_leaves_a_given_size_standing():
    answer = worked(Piece(5, "500"), load_a=900, reckoning="dc")
    assert answer.pieces[0].least_size is None
    with pytest.raises(InputError) as told:
        worked(Piece(5, "500"), Piece(5), load_a=900)
    assert told.value.field == "pieces.1.sets"


def test_a_nipple_is_filled_to_60_percent_and_its_company_lowers_nothing():
    """Table 1 note 4: 24 in or less. Nine more wires would lower 8 AWG by half elsewhere."""
    company = (Wires("12", 9),)
    answer = worked(
        Piece(2, "8", kind="emt", trade_size="3/4", nipple=True, also=company),
        Piece(40, "8", kind="emt", trade_size="1", also=company),
    )
    nipple, run = answer.pieces
    assert nipple.ampacity.bundle_factor == 1.0
    assert run.ampacity.bundle_factor == 0.5
    assert nipple.counted == run.counted == 11
    assert nipple.own_fill is not None
    assert run.own_fill is not None
    assert (nipple.own_fill.allowed_share, run.own_fill.allowed_share) == (0.60, 0.40)
    # 2 x 8 and one 10 ground THWN-2 with nine 12: 0.0732 + 0.0211 + 0.1197 = 0.2140 of 0.533
    assert nipple.own_fill.area_in2 == pytest.approx(0.2140)
    assert nipple.own_fill.share == pytest.approx(0.2140 / 0.533, abs=1e-3)
    assert nipple.own_fill.fits
    assert not run.carries


@pytest.mark.parametrize(("run_ft", "refused"), [(2.0, False), (2.01, True)])
def test_a_nipple_ends_at_24_in(run_ft, refused):
    if not refused:
        assert worked(Piece(10), Piece(run_ft, nipple=True)).pieces[1].ampacity.bundle_factor == 1
        return
    with pytest.raises(InputError, match="24 in or less, 2 ft;") as told:
        worked(Piece(10), Piece(run_ft, nipple=True))
    assert told.value.field == "pieces.1.run_ft"


def test_company_is_counted_unless_it_is_told():
    other = (Wires("12", 4), Wires("8", 1, "bare"))
    assert worked(Piece(10, also=other)).pieces[0].counted == 6
    assert worked(Piece(10, also=other), neutral_a=10).pieces[0].counted == 6
    assert worked(Piece(10, also=other), neutral_a=10, volts=208).pieces[0].counted == 7
    assert worked(Piece(10, also=other), volts=120).pieces[0].counted == 6
    assert worked(Piece(10, current_carrying=3, also=other)).pieces[0].counted == 3


def test_mixed_sizes_ask_for_a_larger_raceway_in_every_kind():
    """Two 6, an 8 ground: 0.1014 + 0.0366 = 0.138. Four 4 more: 0.4676 in².

    40 % of 1-1/4 in is 0.598 in EMT, 0.581 and 0.495 in PVC 40 and 80; of 1 in at most 0.355.
    """
    alone = worked(Piece(30, "6"), device_a=60)
    mixed = worked(Piece(30, "6", also=(Wires("4", 4),)), device_a=60)
    assert alone.pieces[0].ground_size == "10"
    sizes = {k: f and f.raceway.trade_size for k, f in mixed.pieces[0].raceways.items()}
    assert sizes == {"emt": "1-1/4", "pvc40": "1-1/4", "pvc80": "1-1/4", "rmc": "1-1/4"}


def test_the_neutral_lies_in_the_raceway_as_large_as_the_drop_takes_it():
    (one,) = worked(Piece(150, "2"), neutral_a=10, neutral_drop_a=10).pieces
    assert one.neutral_size == "4"
    assert [(w.size, w.count) for w in one.wires] == [("2", 2), ("2", 1), (one.ground_size, 1)]


def test_a_cable_has_no_raceway():
    answer = worked(Piece(30, "8", letters="NM-B"), load_a=30)
    assert answer.pieces[0].wires == ()
    assert answer.pieces[0].raceways == {}
    assert answer.pieces[0].box is None


def test_bends_and_the_box_stand_with_their_segment():
    answer = worked(
        Piece(90, "2", bends_deg=(90, 90, 90, 90, 45)), Piece(20, "8", bends_deg=(90,)), load_a=35
    )
    long, short = answer.pieces
    assert (long.pulls, short.pulls) == ((4,), ())
    # two 2 and the ground grown with them in PVC 40: 1 in
    tube = long.raceways["pvc40"]
    assert tube is not None
    assert tube.raceway.trade_size == "1"
    assert long.box is not None
    assert (long.box.straight_in, long.box.angle_in) == (8, 6)
    assert short.box is None


def test_parallel_raceways_stand_in_one_row():
    answer = worked(Piece(40, "1/0", sets=3, trade_size="2"), load_a=200)
    box = answer.pieces[0].box
    assert box is not None
    assert (box.straight_in, box.angle_in, box.apart_in) == (16, 16, 12)


def test_service_conductors_have_an_electrode_and_no_equipment_ground():
    answer = worked(Piece(30, "4/0", "aluminum"), load_a=150, device_a=200, service=True)
    assert answer.pieces[0].ground_size is None
    assert dict(answer.electrodes) == {"water_pipe": "4", "rod": "6", "concrete": "4"}
    assert worked(Piece(30), load_a=20).electrodes == ()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"size": "7"}, "size"),
        ({"kind": "flex"}, "raceway"),
        ({"trade_size": "9"}, "raceway_trade_size"),
        ({"letters": "X"}, "insulation"),
        ({"sets": 7}, "sets"),
        ({"ambient_c": 86}, "ambient_c"),
        ({"current_carrying": 0}, "current_carrying"),
        ({"run_ft": -1}, "run_ft"),
        ({"bends_deg": (181,)}, "bends_deg"),
        ({"sets": 2, "size": "4"}, "sets"),
        ({"letters": "NM-B", "wet": True}, "insulation"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(change, field):
    with pytest.raises(InputError) as told:
        worked(Piece(**{"run_ft": 10.0, **change}))
    assert told.value.field.split(".")[-1] == field


def test_the_drop_that_nothing_holds_is_refused_with_what_was_tried():
    with pytest.raises(InputError, match=r"Even with 14 and 750 this run drops .* over 3.0 %"):
        worked(Piece(4000, "14"), Piece(10), load_a=12)


def test_from_one_to_so_many_segments():
    for pieces in ((), (Piece(1),) * (MOST_PIECES + 1)):
        with pytest.raises(InputError, match=f"1 to {MOST_PIECES}"):
            worked(*pieces)
    assert len(worked(*(Piece(5),) * MOST_PIECES).pieces) == MOST_PIECES


def test_wet_places_take_the_wet_rating():
    """8 XHHW: 55 A dry, 50 A wet; the terminals' column is 60 °C either way up to 100 A."""
    dry = worked(Piece(10, "8", letters="XHHW", current_carrying=9), load_a=20)
    wet = worked(Piece(10, "8", letters="XHHW", current_carrying=9, wet=True), load_a=20)
    assert dry.pieces[0].ampacity.adjusted_a == pytest.approx(55 * 0.7)
    assert wet.pieces[0].ampacity.adjusted_a == pytest.approx(50 * 0.7)


def test_a_neutral_carries_no_more_than_the_load():
    assert worked(Piece(10), neutral_a=40).pieces[0].neutral_size == "8"
    with pytest.raises(InputError, match="never more than the load of 40 A") as told:
        worked(Piece(10), neutral_a=41)
    assert told.value.field == "neutral_a"


@pytest.mark.parametrize(("volts", "told"), [(120, 0), (208, 0), (240, 0), (277, 1), (480, 1)])
def test_volts_of_no_house_say_what_the_wires_are_taken_for(volts, told):
    notes = worked(Piece(50), volts=volts, load_a=20).notes
    assert sum("without a neutral are taken" in n.text for n in notes) == told


def test_a_size_that_is_not_here_is_told_which_are():
    with pytest.raises(InputError, match=r"'700' here; the sizes are 14, 12, .* 600, 750 "):
        conductor("700")
