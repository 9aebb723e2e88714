"""What is entered at hours that a run does not hold is told, and no answer is given on it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.next_step import next_step
from server.advise.outage_plan import outage_plan
from server.domain.scenario import Delivery, Stop, SwitchMove, Window
from server.simulate.outside import outside
from server.simulate.run import simulate
from tests.builders import START, double_throw_site, scenario, with_parts


def hours(begin_h: float, end_h: float) -> Window:
    """So many hours from the start of the run."""
    return Window(start=START + timedelta(hours=begin_h), end=START + timedelta(hours=end_h))


def test_an_outage_that_was_never_run_gives_no_answer_and_no_plan():
    site = double_throw_site()
    later = scenario("out", span_h=12, outages=(hours(36, 60),))
    site = with_parts(site, scenarios=(later,))
    run = simulate(site, later)
    assert not run.verdict.fits
    assert run.verdict.sentence.startswith("Not run: no minute of the outage of this scenario")
    assert "olds" not in f"{run.verdict.sentence} {run.verdict.detail}"
    assert outage_plan(run) is None
    assert next_step(site, later).where == "day"


def test_one_of_two_outages_outside_stands_against_what_holds():
    site = double_throw_site()
    day = scenario("out", span_h=12, outages=(hours(2, 3), hours(36, 60)))
    verdict = simulate(with_parts(site, scenarios=(day,)), day).verdict
    assert not verdict.instead
    assert "lies outside the run and was not worked out" in f"{verdict.sentence}"


def test_every_kind_of_row_is_found_by_its_number_and_field():
    day = scenario(
        "out",
        span_h=12,
        outages=(hours(2, 8), hours(12, 14)),
        generator_stops=(Stop(**hours(-3, -2).model_dump()),),
        deliveries=(Delivery(at=START + timedelta(hours=12), gallons=5),),
        switch_moves=(
            SwitchMove(switch_id="dt", at=START + timedelta(hours=12), position="backed_up"),
        ),
    )
    assert [(o.list, o.row, o.step) for o in outside(day)] == [
        ("outages", 1, "start"),
        ("deliveries", 0, "at"),
        ("generator_stops", 0, "start"),
        ("switch_moves", 0, "at"),
    ]


@pytest.mark.parametrize("window", [hours(-2, 1), hours(-5, -1), hours(11.99, 40)])
def test_what_reaches_into_the_run_or_marks_its_begin_is_in_it(window: Window):
    assert outside(scenario("out", span_h=12, outages=(window,))) == ()


def test_a_throw_before_the_run_still_stands():
    move = SwitchMove(switch_id="dt", at=START - timedelta(hours=5), position="backed_up")
    assert outside(scenario("out", span_h=12, switch_moves=(move,))) == ()
