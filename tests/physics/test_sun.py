"""Limits of the solar sums; the comparison with pvlib stands in tests/reference."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from server.physics.sun import (
    _diffuse_share,
    array_w,
    clear_sky_wm2,
    darkness,
    inverter_w,
    sun_position,
)

NOON = datetime(2026, 6, 21, 20, tzinfo=UTC).timestamp()


def power(at: np.ndarray, **changes: Any) -> np.ndarray:
    figures = {
        "latitude_deg": 38.0,
        "longitude_deg": -120.0,
        "tilt_deg": 25.0,
        "azimuth_deg": 180.0,
        "dc_kw": 5.0,
        "ac_kw": 5.0,
        "losses_share": 0.14,
        "level_wm2": clear_level(at),
    }
    return array_w(at, **figures | changes)


def clear_level(at: np.ndarray, share: float = 1.0) -> np.ndarray:
    zenith, _ = sun_position(at, latitude_deg=38.0, longitude_deg=-120.0)
    return clear_sky_wm2(zenith) * share


DAY = NOON + np.arange(-12 * 60, 12 * 60) * 60.0


def test_night_gives_nothing_and_no_minute_is_negative() -> None:
    watts = power(DAY)
    zenith, _ = sun_position(DAY, latitude_deg=38.0, longitude_deg=-120.0)
    assert np.all(watts[zenith > 91.0] == 0.0)
    assert watts.min() == 0.0
    assert np.isfinite(watts).all()


def test_the_sun_stands_south_and_high_at_noon_on_the_longest_day() -> None:
    zenith, azimuth = sun_position(DAY, latitude_deg=38.0, longitude_deg=-120.0)
    best = int(zenith.argmin())
    assert zenith[best] == pytest.approx(38.0 - 23.44, abs=0.02)
    assert azimuth[best] == pytest.approx(180.0, abs=1.0)
    assert np.all((azimuth >= 0.0) & (azimuth < 360.0))


def test_no_sun_gives_no_power_and_more_sun_more() -> None:
    assert np.all(power(DAY, level_wm2=clear_level(DAY, 0.0)) == 0.0)
    bright, dull = (power(DAY, level_wm2=clear_level(DAY, share)) for share in (0.9, 0.5))
    assert bright.sum() > dull.sum()


def test_lamps_come_on_through_the_twilight() -> None:
    """Sun 6 degrees up, on the horizon, 6 degrees down, at midnight."""
    assert darkness(np.array([0.0, 84.0, 90.0, 96.0, 150.0])).tolist() == [0, 0, 0.5, 1, 1]


def test_an_east_roof_peaks_before_a_west_roof() -> None:
    east, west = (
        power(DAY, azimuth_deg=90.0, tilt_deg=40.0),
        power(DAY, azimuth_deg=270.0, tilt_deg=40.0),
    )
    assert east.argmax() < power(DAY).argmax() < west.argmax()
    assert east.sum() == pytest.approx(west.sum(), rel=0.01)


def test_a_small_inverter_clips() -> None:
    assert power(DAY, ac_kw=2.0).max() == 2000.0
    assert power(DAY, ac_kw=2.0).sum() < power(DAY).sum()


def test_poles_and_dateline_stay_finite() -> None:
    for latitude in (-90.0, 0.0, 90.0):
        for longitude in (-180.0, 180.0):
            assert np.isfinite(power(DAY, latitude_deg=latitude, longitude_deg=longitude)).all()


def test_clear_sky_below_the_horizon_is_dark() -> None:
    assert np.all(clear_sky_wm2(np.array([90.0, 90.1, 180.0])) < 1e-9)
    assert clear_sky_wm2(np.array([0.0]))[0] == pytest.approx(1098.0 * np.exp(-0.059))


def test_the_tilt_of_the_earth_shrinks_by_a_fifth_of_a_minute_of_arc_in_twenty_years() -> None:
    """23.439° - 0.0000004° a day (Michalsky 1988); from 2000 to mid 2050 that is 0.0074°."""
    for year, days in ((2000, 172), (2050, 18_435)):
        noon = datetime(year, 6, 21, 12, tzinfo=UTC).timestamp()
        at = noon + np.arange(-43_200.0, 43_200.0, 10.0)
        zenith, _ = sun_position(at, latitude_deg=0.0, longitude_deg=0.0)
        assert zenith.min() == pytest.approx(23.439 - 4e-7 * days, abs=0.002)


# Where the sine of the sun's height is rounded past one.
OVERHEAD = (
    (1895622237.5400827, -18.735633084638923, 157.1172408069175),
    (1842191775.7246702, 19.54460143094272, -59.95456062762999),
    (1791081613.306746, -4.31081196899957, 137.15011453814247),
)


@pytest.mark.parametrize(("at", "latitude_deg", "longitude_deg"), OVERHEAD)
def test_the_sun_straight_above_and_below_has_a_place(
    at: float, latitude_deg: float, longitude_deg: float
) -> None:
    moment = np.array([at])
    zenith, _ = sun_position(moment, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    assert zenith[0] == pytest.approx(0.0, abs=1e-5)
    zenith, _ = sun_position(
        moment, latitude_deg=-latitude_deg, longitude_deg=longitude_deg + 180.0
    )
    assert zenith[0] == pytest.approx(180.0, abs=1e-5)


@pytest.mark.parametrize(
    ("clearness", "share"),
    [
        (0.0, 1.0),
        (0.1, 0.991),  # 1 - 0.09 k up to 0.22
        (0.22, 0.9802),
        (0.5, 0.65915),  # 0.9511 - 0.0802 + 1.097 - 2.07975 + 0.771
        (0.8, 0.1652696),  # 0.9511 - 0.12832 + 2.80832 - 8.518656 + 5.0528256
        (0.8001, 0.165),
        (1.0, 0.165),
    ],
)
def test_the_sky_gives_the_share_that_erbs_printed(clearness: float, share: float) -> None:
    assert _diffuse_share(np.array([clearness]))[0] == pytest.approx(share, abs=1e-7)


def test_a_wall_facing_away_from_the_sun_has_half_the_sky_and_a_tenth_of_the_ground() -> None:
    """Isotropic sky: (1 + cos 90°)/2 of the sky light and 0.2 (1 - cos 90°)/2 of the level light.

    The clearness behind the sky light is the level light over 1366.1 W/m² x
    (1 + 0.033 cos(2 pi day/365.2425)) x the cosine of the zenith.
    """
    zenith, azimuth = sun_position(np.array([NOON]), latitude_deg=38.0, longitude_deg=-120.0)
    cosine = math.cos(math.radians(zenith[0]))
    level = 1098.0 * cosine * math.exp(-0.059 / cosine)
    days_since_1970 = 20_625 + 20 / 24  # 2026-06-21 20:00, 56 years with 14 leap days and 171 days
    year = 2.0 * math.pi * days_since_1970 / 365.2425
    clearness = level / (1366.1 * (1.0 + 0.033 * math.cos(year)) * cosine)
    sky = level * _diffuse_share(np.array([clearness]))[0]
    dc_w = np.array([(0.5 * sky + 0.1 * level) * 5.0 * 0.86])
    away = power(np.array([NOON]), tilt_deg=90.0, azimuth_deg=azimuth[0] + 180.0)
    assert away == pytest.approx(inverter_w(dc_w, ac_kw=5.0), rel=1e-9)


def test_half_a_watt_is_worth_the_part_load_curve() -> None:
    """A 1 W inverter at 0.48 of its DC rating: 0.96/0.9637 x (0.9858 - 0.0162 p - 0.0059/p)."""
    assert inverter_w(np.array([0.5]), ac_kw=0.001) == pytest.approx([0.4811], abs=1e-4)


def test_inverter_gives_nothing_from_nothing() -> None:
    assert inverter_w(np.array([0.0, -5.0]), ac_kw=5.0) == pytest.approx([0.0, 0.0])
