"""Outdoor temperature and the sun through a scenario."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest

from server.domain.scenario import Weather
from server.domain.site import Place
from server.simulate.weather import ambient, outdoor_f, solar_w, sun_share, warmest_f
from tests.builders import START, double_throw_site, normal_only_site, scenario, with_parts

HOURS = np.arange(48) * 3600.0


def test_the_daily_wave_reaches_its_high_and_low() -> None:
    weather = Weather(low_f=40, high_f=70, hottest_hour=16)
    temps = outdoor_f(weather, datetime(2026, 5, 1), HOURS)
    assert temps[16] == pytest.approx(70)
    assert temps[4] == pytest.approx(40)
    assert temps[:24] == pytest.approx(temps[24:])
    assert temps.mean() == pytest.approx(55)


def test_the_wave_follows_the_clock_from_any_start() -> None:
    weather = Weather(low_f=40, high_f=70)
    at_noon = outdoor_f(weather, datetime(2026, 5, 1, 12), np.array([0.0]))
    from_seven = outdoor_f(weather, datetime(2026, 5, 1, 7, 30), np.array([4.5 * 3600]))
    assert at_noon == pytest.approx(from_seven)


def test_hourly_temperatures_are_joined_and_held_past_their_end() -> None:
    weather = Weather(hourly_f=(10, 20, 40))
    temps = outdoor_f(weather, START, np.array([0.0, 1800.0, 3600.0, 5400.0, 9e5]))
    assert temps == pytest.approx([10, 15, 20, 30, 40])
    assert warmest_f(weather) == 40
    assert warmest_f(Weather(low_f=1, high_f=99)) == 99


def test_a_site_without_arrays_has_no_rows() -> None:
    assert solar_w(normal_only_site(), scenario(), HOURS).shape == (0, 48)


def test_the_same_clock_in_two_zones_is_not_the_same_sun() -> None:
    base = double_throw_site(solar=True)
    best = []
    for zone in ("America/New_York", "America/Los_Angeles"):
        place = Place(latitude_deg=40, longitude_deg=-90, time_zone=zone)
        at_s = np.arange(0, 86_400, 60.0)
        day = scenario(start=datetime(2026, 6, 1))
        best.append(solar_w(with_parts(base, place=place), day, at_s)[0].argmax())
    assert best[0] - best[1] == pytest.approx(180, abs=2)


def test_surroundings_are_outdoors_darkness_and_the_share_of_clear_sky() -> None:
    site = with_parts(normal_only_site(), place=Place(latitude_deg=40, longitude_deg=-90))
    day = scenario(start=datetime(2026, 6, 21), weather=Weather(low_f=50, high_f=80, sun_share=0.5))
    around = ambient(site, day, HOURS[:24])
    assert around.shape == (24, 3)
    assert around[:, 0] == pytest.approx(outdoor_f(day.weather, day.start, HOURS[:24]))
    assert around[[0, 23], 1].tolist() == [1.0, 1.0]
    assert around[12, 1] == 0.0
    assert around[[0, 23], 2].tolist() == [0.0, 0.0]
    assert around[13, 2] > 300.0
    full = scenario(start=day.start, weather=Weather(sun_share=1.0))
    assert ambient(site, full, HOURS[:24])[13, 2] == pytest.approx(2 * around[13, 2])


def test_sun_follows_its_hours_and_is_held_past_their_end() -> None:
    weather = Weather(sun_share=0.5, hourly_sun_share=(1.0, 0.25))
    at_s = np.array([0.0, 3599.0, 3600.0, 9e5])
    assert sun_share(weather, at_s) == pytest.approx([1, 1, 0.25, 0.25])
    assert sun_share(Weather(sun_share=0.5), at_s) == pytest.approx([0.5] * 4)
