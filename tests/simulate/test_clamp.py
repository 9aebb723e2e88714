"""A clamp reading is held against the run at its minute, or at its time of day."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from server.domain.behaviour import Hourly
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


@pytest.fixture(scope="module")
def idle() -> Run:
    """A 1200 W pump (10 A at 120 V, L1) and a 2400 W heater (10 A at 240 V) that are never on."""
    off = Hourly(shares=(0.0,) * 24)
    both = (circuit("pump", "main", 1, load_w=1200), circuit("heater", "main", 9, 11, load_w=2400))
    circuits = tuple(
        c.model_copy(
            update={
                "appliances": tuple(a.model_copy(update={"behaviour": off}) for a in c.appliances)
            }
        )
        for c in both
    )
    day = scenario().model_copy(update={"span_h": float(HOURS)})
    return simulate(with_parts(double_throw_site(), circuits=circuits, scenarios=(day,)), day)


@pytest.mark.parametrize(
    ("element_id", "read", "agrees"),
    [
        ("pump", (10.4, 0.0), (10.0, 0.0)),
        ("pump", (12.5, 0.0), None),
        ("pump", (0.0, 10.0), None),
        ("heater", (9.5, 10.5), (10.0, 10.0)),
        ("heater", (10.0, 0.0), None),
        ("grid", (10.0, 0.0), None),
    ],
)
def test_a_circuit_the_run_has_off_is_held_against_what_it_draws_when_on(
    idle: Run, element_id: str, read: tuple[float, float], agrees: tuple[float, float] | None
):
    compared = compare(idle, reading(idle.scenario.start + timedelta(hours=2), *read, element_id))
    assert compared is not None
    assert not compared.fits
    if agrees is None:
        assert compared.running is None
    else:
        assert compared.running is not None
        assert compared.running.off
        assert compared.running.amps == pytest.approx(agrees, abs=1e-6)
