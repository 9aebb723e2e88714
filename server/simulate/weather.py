"""Outdoor temperature and solar power through a scenario."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from server.domain.scenario import Scenario, Weather
from server.domain.site import Site
from server.physics.sun import array_w

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


def solar_w(site: Site, scenario: Scenario, at_s: Floats) -> Floats:
    """Watts each array could give at each second from the start: (arrays, times). [W].

    Wall-clock time is taken at the offset in force at the start; a change to or from daylight
    time inside a scenario is not followed.
    """
    local = scenario.start.replace(tzinfo=ZoneInfo(site.place.time_zone))
    unix_s = local.timestamp() + at_s
    if not site.solar:
        return np.zeros((0, at_s.shape[0]))
    return np.stack(
        [
            array_w(
                unix_s,
                latitude_deg=site.place.latitude_deg,
                longitude_deg=site.place.longitude_deg,
                tilt_deg=array.tilt_deg,
                azimuth_deg=array.azimuth_deg,
                dc_kw=array.dc_kw,
                ac_kw=array.ac_kw,
                losses_share=array.losses_share,
                sun_share=scenario.weather.sun_share,
            )
            for array in site.solar
        ]
    )
