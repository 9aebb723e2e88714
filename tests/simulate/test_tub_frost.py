"""Hot tubs in frost without power, by hand sums of one heat store."""

from __future__ import annotations

import math

import pytest

from server.domain.behaviour import Tub
from server.domain.finding import Finding
from server.domain.scenario import Weather
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import appliance, backed_up_site, circuit, scenario

FROST = Weather(low_f=20, high_f=20)
LOSS_W = (3.75 * 350.0 ** (2.0 / 3.0) + 40.0) / 37.0
"""Of 350 gal with the cover on, for each degree over outdoors. [W/F]"""
HOLDS_H = 350.0 * 8.33 / (LOSS_W * 3.412142)
"""Its time constant. [h]"""


def run_of(*, weather: Weather = FROST, **changes: object) -> Run:
    tub = appliance("tub", 5500, volts=240, name="Hot tub", kind="hot-tub", behaviour=Tub())
    own = circuit("tub", "main", 1, 3, breaker_a=50, appliances=(tub,))
    day = scenario(weather=weather, generator="absent", **changes)
    return simulate(backed_up_site(circuits=(own,)), day)


def notes(run: Run) -> list[Finding]:
    return [f for f in run.findings if f.code == "tub-dark-in-frost"]


def test_it_takes_what_it_loses_and_cools_and_warms_as_one_store() -> None:
    """82 °F over outdoors, 501 W; 20 + 82 exp(-24 / 140) after a day; then 18,766 Btu/h."""
    whole = run_of(span_h=240)
    assert float(whole.circuit_w[0].mean()) == pytest.approx(82.0 * LOSS_W, rel=0.01)
    run = run_of(span_h=48, outage_h=(10, 34))
    water_f = run.level[0]
    was_f, low_f = float(water_f[599]), float(water_f[34 * 60 - 1])
    assert low_f == pytest.approx(20.0 + (was_f - 20.0) * math.exp(-24.0 / HOLDS_H), abs=0.1)
    gain_f_h = (5500.0 - LOSS_W * 75.0) * 3.412142 / (350.0 * 8.33)
    back_h = float((water_f[34 * 60 :] >= was_f).argmax()) / 60.0
    assert back_h == pytest.approx((was_f - low_f) / gain_f_h, abs=0.05)


def test_a_day_of_frost_without_power_is_told_with_its_water_still_warm() -> None:
    (note,) = notes(run_of(span_h=48, outage_h=(10, 34)))
    assert note.value == pytest.approx(24.0, abs=0.05)
    assert "24 h of frost down to 20 °F, from Thu 26 Nov 22:00 on" in note.text
    assert "still 89 °F at the least" in note.text
    assert note.why


def test_hours_before_a_run_begun_inside_the_outage_count() -> None:
    (note,) = notes(run_of(span_h=12, outage_h=(-10, 4)))
    assert note.value == pytest.approx(14.0, abs=0.05)


def test_short_outages_power_and_mild_air_are_not_told() -> None:
    assert notes(run_of(span_h=48)) == []
    assert notes(run_of(span_h=48, outage_h=(10, 21))) == []
    assert notes(run_of(span_h=48, outage_h=(10, 34), weather=Weather(low_f=33, high_f=50))) == []
    only_nights = Weather(low_f=20, high_f=50)
    assert notes(run_of(span_h=72, outage_h=(2, 70), weather=only_nights)) == []


def test_water_that_cools_to_freezing_is_a_warning() -> None:
    """At -20 °F from 102 °F: 32 °F after 140 ln(122 / 52) = 119 h without power."""
    hard = Weather(low_f=-20, high_f=-20)
    early, late = (
        notes(run_of(span_h=hours + 12, outage_h=(10, 10 + hours), weather=hard))[0]
        for hours in (110, 130)
    )
    assert HOLDS_H * math.log(122 / 52) == pytest.approx(119, abs=1)
    assert early.severity == "note"
    assert "Its water is still" in early.text
    assert late.severity == "warning"
    assert "cools to 32 °F and begins to freeze" in late.text
