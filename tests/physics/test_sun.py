"""Limits of the solar sums; the comparison with pvlib stands in tests/reference."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from server.physics.sun import array_w, clear_sky_wm2, darkness, inverter_w, sun_position

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


def test_inverter_gives_nothing_from_nothing() -> None:
    assert inverter_w(np.array([0.0, -5.0]), ac_kw=5.0) == pytest.approx([0.0, 0.0])
