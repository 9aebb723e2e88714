"""Cars that leave with less than they want, told with how much and when."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from server.domain.behaviour import Charger, Week
from server.domain.finding import Finding
from server.domain.scenario import Window
from server.simulate.car_short import departures
from server.simulate.results import Run
from tests.builders import START
from tests.simulate.houses import run_of

CAR = Charger(energy_kwh=10, arrive_hour=13, depart_hour=23)


def told(run: Run) -> list[Finding]:
    return [f for f in run.findings if f.code == "car-leaves-short"]


def run_with(car: Charger = CAR, **changes: Any) -> Run:
    """The run begins at noon; the car is there from 13:00 to 23:00."""
    return run_of(car, **{"load_w": 2000, "span_h": 14} | changes)


def test_a_car_that_is_done_is_not_told_though_it_waited() -> None:
    assert told(run_with()) == []
    assert told(run_with(outage_h=(2, 6))) == []


def test_what_an_outage_kept_from_it_is_told_with_the_hour() -> None:
    """Dark from 14:00 to 22:00: an hour before and an hour after give 4 of 10 kWh."""
    (note,) = told(run_with(outage_h=(2, 10)))
    assert note.value == pytest.approx(6)
    assert "23:00" in note.text
    assert "with 4.0 of the 10.0 kWh" in note.text
    assert "at most" not in note.text
    assert note.severity == "note"


def test_a_charger_too_slow_for_its_hours_is_told_as_that() -> None:
    (note,) = told(run_with(CAR.model_copy(update={"energy_kwh": 30})))
    assert note.value == pytest.approx(10)
    assert "gives 20.0 kWh at most" in note.text


def test_one_that_lacks_next_to_nothing_is_as_good_as_done() -> None:
    assert told(run_with(CAR.model_copy(update={"energy_kwh": 20.4}))) == []


def test_one_still_plugged_in_at_the_end_has_not_left() -> None:
    assert told(run_with(span_h=10, outage_h=(2, 10))) == []


def test_each_time_it_leaves_short_is_counted_and_the_worst_told() -> None:
    out = tuple(
        Window(start=START + timedelta(hours=a), end=START + timedelta(hours=b))
        for a, b in ((2, 10), (24, 36))
    )
    (note,) = told(run_with(span_h=40, outages=out))
    assert note.value == pytest.approx(10)
    assert "0.0 of the 10.0 kWh" in note.text
    assert "and short 1 more time." in note.text


def test_what_it_lacks_is_wanted_again_only_where_it_never_left() -> None:
    stays = CAR.model_copy(update={"leaves": Week(thu=False)})
    assert START.weekday() == 3
    assert told(run_with(stays, span_h=14, outage_h=(2, 10))) == []


def test_two_sessions_of_one_stay_are_one_departure() -> None:
    edge = np.array([0.0, 3600.0, 7200.0])
    (one,) = departures(
        np.array([[0.0, 2000.0, 3600.0], [3600.0, 1000.0, 7200.0]]),
        load_w=1000.0,
        edge_s=edge,
        had_ws=np.array([0.0, 3.6e6, 7.2e6]),
        span_s=7200.0,
    )
    assert one.wanted_kwh == pytest.approx(2.0)  # 1 left over of the first, and 1 more
    assert one.had_kwh == pytest.approx(1.0)
    assert one.could_kwh == pytest.approx(2.0)


def test_the_answer_says_that_a_car_leaves_short() -> None:
    """10 h at 2 kW are 20 of the 30 kWh that it wants, with the utility on throughout."""
    run = run_with(CAR.model_copy(update={"energy_kwh": 30}))
    assert run.verdict.fits
    assert run.verdict.answer() == "Holds, but a car leaves with less than was wanted."
    assert run_with().verdict.answer() == "Holds."
