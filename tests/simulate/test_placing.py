"""Where the run shown stands among the other draws."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from server.simulate.placing import Placing, placing, placing_words
from tests.builders import backed_up_site


def placed(*peaks_a: float, shown: int = 0) -> Placing:
    found = placing(np.arange(len(peaks_a)), np.array(peaks_a), shown=shown)
    assert found is not None
    return found


def test_the_others_are_counted_without_the_run_shown():
    found = placed(50.0, 40.0, 60.0, 70.0, 30.0)
    assert (found.higher, found.level, found.lower, found.others) == (2, 0, 2, 4)


def test_peaks_that_read_alike_are_level_and_neither_milder_nor_heavier():
    found = placed(50.0, 50.0, 50.04, 49.96, 50.06, 49.94)
    assert (found.higher, found.level, found.lower) == (1, 3, 1)


def test_it_is_found_by_its_number_not_by_its_place():
    found = placing(np.array([3, 0, 7]), np.array([10.0, 20.0, 30.0]))
    assert found == Placing(20.0, 1, 0, 1)


@pytest.mark.parametrize("number", [[1, 2, 3], [0]])
def test_nothing_is_said_where_it_is_not_there_or_alone(number):
    assert placing(np.array(number), np.full(len(number), 5.0)) is None


@given(st.lists(st.floats(0, 500, width=32), min_size=2, max_size=40))
def test_the_counts_are_those_of_a_plain_look_at_each_other_draw(peaks):
    found = placed(*peaks)
    gaps = [p - peaks[0] for p in peaks[1:]]
    assert found.higher == sum(g >= 0.05 for g in gaps)
    assert found.lower == sum(g <= -0.05 for g in gaps)
    assert found.others == len(gaps)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            Placing(61.2, 119, 2, 78),
            "milder than 60 % of the other draws (119 of 199), level with 2 and heavier than 78.",
        ),
        (Placing(61.2, 120, 0, 79), "(120 of 199), heavier than 79."),
        (Placing(61.2, 99, 100, 0), "milder than 50 % of the other draws (99 of 199), level with"),
        (Placing(61.2, 199, 0, 0), "milder than 100 % of the other draws (199 of 199)."),
        (Placing(61.2, 198, 1, 0), "milder than 99 % of the other draws (198 of 199)"),
        (Placing(61.2, 1, 0, 400), "milder than 1 % of the other draws (1 of 401)"),
        (Placing(61.2, 0, 3, 196), "at Main: none of the other 199 draws peaks higher, 3 the same"),
        (Placing(61.2, 0, 0, 199), "at Main: none of the other 199 draws peaks higher."),
        (Placing(61.2, 0, 199, 0), "peaks at 61.2 A at Main, as every other draw does."),
    ],
)
def test_it_is_said_truly(found, said):
    sentence = placing_words(found, "Main")
    assert sentence.startswith("The run shown peaks at 61.2 A at Main")
    assert said in sentence


@given(st.integers(0, 300), st.integers(0, 300), st.integers(0, 300))
def test_no_share_is_said_to_be_all_or_none_unless_it_is(higher, level, lower):
    if not higher + level + lower:
        return
    share = re.search(r"(\d+) %", placing_words(Placing(9.0, higher, level, lower), "Main"))
    if share:
        assert higher > 0
        assert (share[1] == "100") == (level + lower == 0)
        assert share[1] != "0"


def test_the_odds_place_the_run_by_its_greater_leg():
    site = backed_up_site()
    day = site.scenario("out")
    draws = run_draws(site, day, draws=range(12))
    for row, one in enumerate(odds_of(site, day, draws).limits):
        peaks = draws.peaks_a[:, row, :2].max(axis=1)
        assert one.placing is not None
        assert one.placing.peak_a == pytest.approx(peaks[0])
        assert one.placing.higher == int((peaks[1:] - peaks[0] >= 0.05).sum())
    later = odds_of(site, day, run_draws(site, day, draws=range(5, 9)))
    assert all(one.placing is None for one in later.limits)
