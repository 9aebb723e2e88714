"""Outdoor temperature and solar power through a scenario."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from server.domain.scenario import Scenario, Weather
from server.domain.site import Site
from server.physics.sun import array_w, clear_sky_wm2, darkness, sun_position

Floats = NDArray[np.float64]


def outdoor_f(weather: Weather, start: datetime, at_s: Floats) -> Floats:
    """Outdoor temperature at each second from the start, same shape. [F].

    Hour by hour where given (held past its end), else a daily wave: mean + half the swing x
    cos(2 pi (hour - hottest)/24).
    """
    if weather.hourly_f:
        hours = at_s / 3600.0
        table = np.array(weather.hourly_f)
        held: Floats = np.interp(hours, np.arange(len(table)), table)
        return held
    hour = start.hour + start.minute / 60.0 + start.second / 3600.0 + at_s / 3600.0
    mean, swing = (weather.low_f + weather.high_f) / 2.0, (weather.high_f - weather.low_f) / 2.0
    wave: Floats = np.cos(2.0 * np.pi * (hour - weather.hottest_hour) / 24.0)
    return mean + swing * wave


def warmest_f(weather: Weather) -> float:
    """Warmest hour of the scenario. [F]."""
    return max(weather.hourly_f) if weather.hourly_f else weather.high_f


def level_sun_wm2(site: Site, scenario: Scenario, at_s: Floats) -> Floats:
    """Irradiance on level ground at each second from the start, same shape. [W/m2].

    Clear sky times the scenario's share of it.
    """
    zenith, _ = _sun(site, scenario, at_s)
    return clear_sky_wm2(zenith) * scenario.weather.sun_share


def ambient(site: Site, scenario: Scenario, at_s: Floats) -> Floats:
    """What surrounds the house at each second from the start: (times, 3).

    Outdoor temperature [F], darkness from 0 to 1, and irradiance on level ground [W/m2].
    """
    zenith, _ = _sun(site, scenario, at_s)
    return np.column_stack(
        (
            outdoor_f(scenario.weather, scenario.start, at_s),
            darkness(zenith),
            level_sun_wm2(site, scenario, at_s),
        )
    )


def solar_w(site: Site, scenario: Scenario, at_s: Floats) -> Floats:
    """Watts each array could give at each second from the start: (arrays, times). [W]."""
    if not site.solar:
        return np.zeros((0, at_s.shape[0]))
    level = level_sun_wm2(site, scenario, at_s)
    return np.stack(
        [
            array_w(
                _unix_s(site, scenario, at_s),
                latitude_deg=site.place.latitude_deg,
                longitude_deg=site.place.longitude_deg,
                tilt_deg=array.tilt_deg,
                azimuth_deg=array.azimuth_deg,
                dc_kw=array.dc_kw,
                ac_kw=array.ac_kw,
                losses_share=array.losses_share,
                level_wm2=level,
            )
            for array in site.solar
        ]
    )


def _unix_s(site: Site, scenario: Scenario, at_s: Floats) -> Floats:
    """Seconds since 1970 UTC.

    Wall-clock time is taken at the offset in force at the start; a change to or from daylight
    time inside a scenario is not followed.
    """
    local = scenario.start.replace(tzinfo=ZoneInfo(site.place.time_zone))
    return local.timestamp() + at_s


def _sun(site: Site, scenario: Scenario, at_s: Floats) -> tuple[Floats, Floats]:
    """Zenith and azimuth of the sun over the site. [degrees]."""
    return sun_position(
        _unix_s(site, scenario, at_s),
        latitude_deg=site.place.latitude_deg,
        longitude_deg=site.place.longitude_deg,
    )
