"""Lamps follow the sun and the people."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import numpy as np
import pytest

from server.domain.behaviour import Lighting
from server.physics.sun import darkness
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario
from tests.simulate.houses import kwh, run_of, taken_w

WINTER = datetime(2026, 12, 21)
SUMMER = datetime(2026, 6, 21)
EXACT = Lighting(spread_min=0)
NONE_BUT_DARK = Lighting(dark_share=1, day_share=0, night_share=1, up_hour=0, bed_hour=0)


def at(watts: np.ndarray, hour: float) -> float:
    return float(watts[round(hour * 60)])


def day(**changes: Any) -> np.ndarray:
    behaviour = changes.pop("behaviour", EXACT)
    return taken_w(run_of(behaviour, **{"start": WINTER} | changes))


def test_lights_are_on_after_sunset_while_people_are_home() -> None:
    """39° N, 98° W on the solstice: the sun sets about 17:15 by the clock there (from memory)."""
    watts = day()
    assert at(watts, 12) == pytest.approx(100)
    assert at(watts, 19) == pytest.approx(600)
    assert at(watts, 23.5) == pytest.approx(50)
    assert 100 < at(watts, 17.25) < 600
    assert np.all(np.diff(watts[15 * 60 : 19 * 60]) >= -1e-3)


def test_lights_are_low_when_nobody_is_home() -> None:
    away = day(people=0)
    assert at(away, 12) == 0.0
    assert away.max() == pytest.approx(50)
    assert away.max() < 0.1 * day().max()


def test_fewer_people_light_less_and_guests_no_more() -> None:
    """One of four: a quarter of the evening's 600 W and three quarters of the night's 50 W."""
    assert at(day(people=1), 19) == pytest.approx(0.25 * 600 + 0.75 * 50)
    assert at(day(people=10), 19) == pytest.approx(600)


def test_summer_evenings_are_lit_later() -> None:
    winter, summer = day(), day(start=SUMMER)
    assert at(winter, 18.5) == pytest.approx(600)
    assert at(summer, 18.5) == pytest.approx(100)
    assert summer.sum() < winter.sum()


def test_lamps_from_dusk_to_dawn_burn_for_the_hours_without_sun() -> None:
    """9.4 h of sun at 39° N on the solstice: 14.6 h of night, twilight half on either side."""
    assert kwh(run_of(NONE_BUT_DARK, start=WINTER)) == pytest.approx(14.6, abs=0.3)


def test_darkness_is_that_of_civil_twilight() -> None:
    assert darkness(np.array([0.0, 84.0, 90.0, 96.0, 150.0])) == pytest.approx([0, 0, 0.5, 1, 1])


@pytest.mark.parametrize("step_s", [10, 600])
def test_energy_does_not_hang_on_the_step(step_s: int) -> None:
    minute = kwh(run_of(Lighting(), start=WINTER))
    assert kwh(run_of(Lighting(), start=WINTER, step_s=step_s)) == pytest.approx(minute, rel=0.005)


def test_people_go_to_bed_at_another_moment_each_night_and_draw() -> None:
    site = normal_only_site(
        circuits=tuple(
            circuit(f"c{i}", "main", 1 + i, appliances=(appliance(f"l{i}", 100, behaviour=b),))
            for i, b in enumerate((Lighting(), Lighting(spread_min=0)))
        )
    )
    days = scenario(start=WINTER, span_h=72)
    moments = set()
    for draw in (0, 1):
        drawn, exact = simulate(site, days, draw=draw).circuit_w
        for night in range(3):
            edge = night * 1440 + int(22.5 * 60)
            assert exact[edge - 1] == pytest.approx(60)
            assert exact[edge] == pytest.approx(5)
            window = drawn[edge - 40 : edge + 40]
            moments.add(int(np.argmax(window < 30)))
            assert window[0] == pytest.approx(60)
            assert window[-1] == pytest.approx(5)
    assert len(moments) >= 5


def test_bedtime_after_midnight_and_people_who_are_always_up() -> None:
    late = day(behaviour=Lighting(bed_hour=1.5, spread_min=0), span_h=26)
    assert [round(at(late, h)) for h in (1, 2, 25)] == [600, 50, 600]
    always = day(behaviour=Lighting(up_hour=7, bed_hour=7))
    assert at(always, 3) == pytest.approx(600)


def test_a_night_of_any_spread_keeps_its_order() -> None:
    short = Lighting(up_hour=23, bed_hour=22.5, spread_min=120)
    watts = day(behaviour=short, span_h=240)
    assert watts.min() >= 50 - 1e-3
    assert np.count_nonzero(np.abs(watts - 50) < 1) > 0
