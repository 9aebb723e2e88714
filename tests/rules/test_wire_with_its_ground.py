"""A larger wire and the ground it asks for, and a load that is brought down to its device."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.builders import with_parts
from tests.rules.check_sites import wired_shed

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


def found_of(site):
    return {f.code: f for f in check_site(site).findings}
