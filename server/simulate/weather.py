"""Outdoor temperature and solar power through a scenario."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from server.domain.scenario import Scenario, Weather
from server.domain.site import Place, Site
from server.domain.supply import SolarArray
from server.physics.sun import array_w, clear_sky_wm2, darkness, sun_position

Floats = NDArray[np.float64]

_DAY_H = 24


def outdoor_f(weather: Weather, start: datetime, at_s: Floats) -> Floats:
    """Outdoor temperature at each second from the start, same shape. [F].

    Hour by hour where given (held past its end, before its start as ``_told_hours`` says), else a
    daily wave: mean + half the swing x cos(2 pi (hour - hottest)/24).
    """
    if weather.hourly_f:
        hours = _told_hours(at_s, len(weather.hourly_f))
        table = np.array(weather.hourly_f)
        held: Floats = np.interp(hours, np.arange(len(table)), table)
        return held
    hour = start.hour + start.minute / 60.0 + start.second / 3600.0 + at_s / 3600.0
    mean, swing = (weather.low_f + weather.high_f) / 2.0, (weather.high_f - weather.low_f) / 2.0
    wave: Floats = np.cos(2.0 * np.pi * (hour - weather.hottest_hour) / 24.0)
    return mean + swing * wave


def sun_share(weather: Weather, at_s: Floats) -> Floats:
    """Share of clear sky at each second from the start, hour by hour where given; same shape."""
    if not weather.hourly_sun_share:
        return np.full(at_s.shape, weather.sun_share)
    hours = _told_hours(at_s, len(weather.hourly_sun_share)) // 1.0
    hour = np.minimum(hours, len(weather.hourly_sun_share) - 1).astype(np.int64)
    told: Floats = np.array(weather.hourly_sun_share)[hour]
    return told


def _told_hours(at_s: Floats, told: int) -> Floats:
    """Hours from the start, those before it taken from the first day told, else the first hour.

    Nothing is told of them: our own choice. [h]
    """
    hours: Floats = at_s / 3600.0
    return np.where(hours >= 0.0, hours, hours % 24.0 if told >= _DAY_H else 0.0)


def warmest_f(weather: Weather) -> float:
    """Warmest hour of the scenario. [F]."""
    return max(weather.hourly_f) if weather.hourly_f else weather.high_f


def coldest_f(weather: Weather) -> float:
    """Coldest hour of the scenario. [F]."""
    return min(weather.hourly_f) if weather.hourly_f else weather.low_f


def ambient(site: Site, scenario: Scenario, at_s: Floats) -> Floats:
    """What surrounds the house at each second from the start: (times, 3).

    Outdoor temperature [F], darkness from 0 to 1, and irradiance on level ground [W/m2], which is
    clear sky times the scenario's share of it.
    """
    sky = _sky(site.place, scenario.start, at_s.tobytes())
    return np.column_stack(
        (
            outdoor_f(scenario.weather, scenario.start, at_s),
            sky.darkness,
            sky.level_wm2 * sun_share(scenario.weather, at_s),
        )
    )


def solar_w(site: Site, scenario: Scenario, at_s: Floats) -> Floats:
    """Watts each array could give at each second from the start: (arrays, times). [W]."""
    if not site.solar:
        return np.zeros((0, at_s.shape[0]))
    return np.stack(
        [
            _array_w(site.place, array, scenario.start, scenario.weather, at_s.tobytes())
            for array in site.solar
        ]
    )


@dataclass(frozen=True)
class _Sky:
    """Clear sky over a place: seconds since 1970 UTC, darkness 0 to 1, level irradiance [W/m2]."""

    unix_s: Floats
    darkness: Floats
    level_wm2: Floats


@lru_cache(maxsize=16)
def _sky(place: Place, start: datetime, at_s: bytes) -> _Sky:
    """Worked out once for each place and clock, as circuits are moved under it.

    Wall-clock time is taken at the offset in force at the start; a change to or from daylight
    time inside a scenario is not followed.
    """
    local = start.replace(tzinfo=ZoneInfo(place.time_zone))
    unix_s = local.timestamp() + np.frombuffer(at_s)
    zenith, _ = sun_position(
        unix_s, latitude_deg=place.latitude_deg, longitude_deg=place.longitude_deg
    )
    return _Sky(unix_s, darkness(zenith), clear_sky_wm2(zenith))


@lru_cache(maxsize=32)
def _array_w(
    place: Place, array: SolarArray, start: datetime, weather: Weather, at_s: bytes
) -> Floats:
    sky = _sky(place, start, at_s)
    lit = sky.level_wm2 > 0.0
    watts = np.zeros(sky.unix_s.shape)
    watts[lit] = array_w(
        sky.unix_s[lit],
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        tilt_deg=array.tilt_deg,
        azimuth_deg=array.azimuth_deg,
        dc_kw=array.dc_kw,
        ac_kw=array.ac_kw,
        losses_share=array.losses_share,
        level_wm2=(sky.level_wm2 * sun_share(weather, np.frombuffer(at_s)))[lit],
    )
    return watts
