"""A larger wire and the ground it asks for, and a load that is brought down to its device."""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.rules.check import check_site
from server.rules.editions import rulebook
from server.rules.mends.recheck import offers
from tests.builders import with_parts
from tests.rules.check_sites import garage, wired_shed

FEEDER = "main-ats-utility"


def of_feeder(site, *, recheck=False):
    found = check_site(site, recheck=recheck).findings
    return {f.code: f for f in found if f.element_id == FEEDER}


def with_segment(site, **changes):
    feeders = tuple(
        f.model_copy(update={"segments": tuple(s.model_copy(update=changes) for s in f.segments)})
        if f.id == FEEDER
        else f
        for f in site.feeders
    )
    return with_parts(site, feeders=feeders)


def test_a_larger_wire_names_the_ground_it_asks_for():
    """250.122(B), by hand: 100 A asks for 6 aluminum (26,240 cmil) with 1/0 (105,600), its least
    wire at 60 °C; 4/0 (211,600) for the drop: 26,240 x 211,600 / 105,600 = 52,580, 3 AWG."""
    site = wired_shed("1", load_w=25_000, ground_size="6", ground_metal="aluminum")
    drop = of_feeder(site, recheck=True)["drop-above-advice"]
    assert drop.mend == "Use larger wire. 4/0 aluminum with a ground of 3 aluminum holds it."
    assert drop.recheck.change.startswith("4/0 aluminum with a ground of 3 aluminum the whole")
    assert (drop.recheck.clears, drop.recheck.brings) == (True, ())
    assert "ground-too-small" in of_feeder(with_segment(site, size="4/0"))
    both = of_feeder(with_segment(site, size="4/0", ground_size="3"))
    assert not {"ground-too-small", "drop-above-advice"} & set(both)


@pytest.mark.parametrize("laid", [{}, {"ground_size": "1/0", "ground_metal": "aluminum"}])
def test_no_ground_is_named_where_none_is_told_or_enough_lies(laid):
    drop = of_feeder(wired_shed("1", load_w=25_000, **laid), recheck=True)["drop-above-advice"]
    assert drop.mend == "Use larger wire. 4/0 aluminum holds it."
    assert drop.recheck.clears


def test_a_ground_that_is_enough_stays_with_the_larger_wire():
    """What lies is not made smaller: 1/0 aluminum, over the 3 that is asked for."""
    site = wired_shed("1", load_w=25_000, ground_size="1/0", ground_metal="aluminum")
    drop = of_feeder(site, recheck=True)["drop-above-advice"]
    assert (drop.recheck.clears, drop.recheck.brings) == (True, ())


def test_a_grown_ground_is_told_by_the_device_and_not_by_the_load():
    site = wired_shed("4/0", load_w=25_000, ground_size="6", ground_metal="aluminum")
    text = of_feeder(site)["ground-too-small"].text
    assert "as its wire is larger than its device of 100 A asks for)" in text
    assert "than the load asks for" not in text


@pytest.mark.parametrize(("load_w", "held"), [(25_000, True), (12_000, False)])
def test_a_load_brought_down_to_its_device_is_told_as_that(load_w, held):
    place = {"ambient_f": 122, "current_carrying": 6}
    finding = of_feeder(wired_shed("4", load_w=load_w, run_ft=20, **place))["wire-too-small"]
    assert ("a load brought down to its device" in finding.text) == held


def test_what_holds_a_load_down_is_told_with_one_stop():
    legs_apart = of_feeder(wired_shed("1", load_w=25_000))["drop-above-advice"].text
    assert "brought down to its breaker, on its heavier leg; 3 % is" in legs_apart
    alike = check_site(garage(2, breaker_a=80, size="12"))
    (drop,) = (f for f in alike.findings if (f.code, f.element_id) == ("drop-above-advice", "gf"))
    assert "brought down to its breaker; 3 % is the usual advice" in drop.text


@pytest.mark.parametrize(
    ("load_w", "less"),
    [
        (8_000, "or a breaker of 80 A"),
        (18_500, "or bring the load down to 75 A and use a breaker of 80 A"),
    ],
)
def test_wire_under_its_device_where_it_lies_asks_for_a_smaller_device(load_w, less):
    """3 copper of THWN-2, by hand: 115 A x 0.82 (Table 310.15(B)(1), 118 °F) x 0.8 (four wires) =
    75.4 A, which may stand behind 80 A and never behind 100 A, whatever its load (240.4(B)).
    """
    place = {"metal": "copper", "run_ft": 20, "terminal_c": 75, "ambient_f": 118}
    site = wired_shed("3", load_w=load_w, current_carrying=4, ground_size="8", **place)
    small = of_feeder(site, recheck=True)["wire-too-small"]
    assert small.severity == "blocking"
    assert small.mend.endswith(f", {less}.")
    assert small.recheck.clears
    behind_80 = with_parts(
        site,
        feeders=tuple(
            f.model_copy(update={"breaker_a": 80.0}) if f.id == FEEDER else f for f in site.feeders
        ),
    )
    assert ("wire-too-small" in of_feeder(behind_80)) == (load_w > 18_000)


def test_a_smaller_breaker_is_tried_where_no_wire_is_advised():
    """6 copper in the same place: 75 A x 0.82 x 0.8 = 49.2 A, behind 50 A at most."""
    site = wired_shed("6", metal="copper", run_ft=20, terminal_c=75, load_w=5_000, ambient_f=118,
        current_carrying=4)  # fmt: skip
    finding = replace(of_feeder(site)["wire-too-small"], advised=None)
    (offer,) = offers(site, finding, rulebook("2023"))
    assert offer.words.startswith("a breaker of 50 A on ")
    assert "wire-too-small" not in of_feeder(offer.site)


def test_a_ground_right_for_the_largest_device_of_its_wire_is_a_note_behind_a_smaller_one():
    """3 copper of 100 A (75 °C) with 8 copper: right behind 100 A (Table 250.122). Behind 90 A, for
    which 4 copper would do, 250.122(B) makes it 52,620 / 41,740 x 16,510 = 20,814 cmil, a 6.
    """
    wire = {"metal": "copper", "load_w": 12_000, "ground_size": "8", "terminal_c": 75}
    behind_100 = found_of(wired_shed("3", breaker_a=100, **wire))
    assert "ground-too-small" not in behind_100
    behind_90 = found_of(wired_shed("3", breaker_a=90, **wire))
    assert behind_90["ground-too-small"].severity == "note"
    assert "Behind a device of 100 A" in behind_90["ground-too-small"].text
    smaller = found_of(wired_shed("3", breaker_a=90, **wire | {"ground_size": "10"}))
    assert smaller["ground-too-small"].severity == "warning"


def test_wire_that_just_carries_all_of_its_device_is_a_note_with_the_ground_of_the_table():
    """1/0 copper carries 150 A (75 °C). A 1 of 130 A may stand behind 150 A too (240.4(B)), and by
    it a ground grows: 105,600 / 83,690 x 26,240 = 33,110 cmil, a 4 and not a 6.
    """
    wire = {"metal": "copper", "load_w": 12_000, "terminal_c": 75, "breaker_a": 150}
    found = found_of(wired_shed("1/0", ground_size="6", **wire))["ground-too-small"]
    assert found.severity == "note"
    assert "1/0 copper is the smallest that carries all of its device of 150 A" in found.text
    assert "Behind a device of" not in found.text
    for larger in (("1/0", "8"), ("2/0", "8")):
        size, ground = larger
        short = found_of(wired_shed(size, ground_size=ground, **wire))["ground-too-small"]
        assert short.severity == "warning"
        assert "Behind a device of 150 A" not in short.text


def found_of(site):
    return {f.code: f for f in check_site(site).findings}
