"""A clamp reading is held against the run at its minute, or at its time of day."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from server.domain.survey import ClampReading
from server.simulate.clamp import compare, places, same_time
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import circuit, double_throw_site, scenario, with_parts

HOURS = 12


@pytest.fixture(scope="module")
def run() -> Run:
    """600 W all day on L1 of the main panel: 5.0 A at 120 V, nothing on L2."""
    site = with_parts(double_throw_site(), circuits=(circuit("a", "main", 1, load_w=600),))
    day = scenario().model_copy(update={"span_h": float(HOURS)})
    return simulate(with_parts(site, scenarios=(day,)), day)


def reading(when: datetime, l1_a: float, l2_a: float, element_id: str = "grid") -> ClampReading:
    return ClampReading(id="r", element_id=element_id, at=when, l1_a=l1_a, l2_a=l2_a)


def test_every_place_is_there_once(run: Run):
    found = [p.element_id for p in places(run)]
    assert len(found) == len(set(found))
    assert {"grid", "a"} <= set(found)


def test_a_reading_near_the_run_fits_and_tells_how_far_apart(run: Run):
    when = run.scenario.start + timedelta(hours=2)
    compared = compare(run, reading(when, 5.6, 0.0))
    assert compared is not None
    assert compared.at == when
    assert compared.fits
    assert [leg.apart_a for leg in compared.legs] == pytest.approx([0.6, 0.0], abs=1e-5)


@pytest.mark.parametrize(("l1_a", "fit"), [(6.2, "above"), (3.8, "below"), (5.9, "inside")])
def test_a_reading_outside_the_range_tells_which_way(run: Run, l1_a: float, fit: str):
    compared = compare(run, reading(run.scenario.start + timedelta(hours=2), l1_a, 0.0))
    assert compared is not None
    assert [leg.fit for leg in compared.legs] == [fit, "inside"]
    assert compared.fits is (fit == "inside")


def test_another_day_is_held_against_the_same_time_of_day(run: Run):
    other = run.scenario.start - timedelta(days=40) + timedelta(hours=1)
    assert same_time(run, other) == run.step_of(run.scenario.start + timedelta(hours=1))


def test_a_time_the_run_does_not_reach_is_not_compared(run: Run):
    before = run.scenario.start - timedelta(hours=1)
    assert compare(run, reading(before, 5, 0)) is None


def test_a_place_that_is_gone_is_not_compared(run: Run):
    assert compare(run, reading(run.scenario.start, 5, 0, "attic")) is None
