"""Clear-sky solar power on a tilted array.

Sun position: low-precision series of the Astronomical Almanac as given by J. J. Michalsky, "The
Astronomical Almanac's algorithm for approximate solar position (1950-2050)", Solar Energy 40 (3),
1988. Clear sky: B. Haurwitz, "Insolation in relation to cloudiness and cloud density", J.
Meteorology 2, 1945. Split into beam and sky: D. G. Erbs, S. A. Klein, J. A. Duffie, Solar Energy
28 (4), 1982. Sky on the tilt: isotropic (Liu and Jordan 1960), ground reflectance 0.2. Power:
A. P. Dobos, "PVWatts Version 5 Manual", NREL/TP-6A20-62641 (2014), section 8 and 9, cells at 25 C.
Compared with pvlib in the tests.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_SOLAR_CONSTANT_WM2 = 1366.1
_ALBEDO = 0.2
_HORIZON_DEG = 90.0
_NOMINAL_INVERTER = 0.96
_REFERENCE_INVERTER = 0.9637


def sun_position(
    unix_s: Array, *, latitude_deg: float, longitude_deg: float
) -> tuple[Array, Array]:
    """Zenith and azimuth of the sun, azimuth from north clockwise. [degrees].

    ``unix_s`` are seconds since 1970 UTC, any shape.
    """
    days = unix_s / 86_400.0 + 2_440_587.5 - 2_451_545.0
    mean_longitude = np.deg2rad((280.460 + 0.9856474 * days) % 360.0)
    anomaly = np.deg2rad((357.528 + 0.9856003 * days) % 360.0)
    ecliptic = mean_longitude + np.deg2rad(1.915) * np.sin(anomaly)
    ecliptic += np.deg2rad(0.020) * np.sin(2.0 * anomaly)
    obliquity = np.deg2rad(23.439 - 4e-7 * days)
    declination = np.arcsin(np.sin(obliquity) * np.sin(ecliptic))
    ascension = np.arctan2(np.cos(obliquity) * np.sin(ecliptic), np.cos(ecliptic))
    greenwich_h = (6.697375 + 0.0657098242 * days + (unix_s % 86_400.0) / 3600.0) % 24.0
    hour_angle = np.deg2rad(greenwich_h * 15.0 + longitude_deg) - ascension
    latitude = np.deg2rad(latitude_deg)
    sin_elevation = np.sin(latitude) * np.sin(declination)
    sin_elevation += np.cos(latitude) * np.cos(declination) * np.cos(hour_angle)
    zenith = np.rad2deg(np.arccos(np.clip(sin_elevation, -1.0, 1.0)))
    azimuth = np.arctan2(
        -np.cos(declination) * np.sin(hour_angle),
        np.sin(declination) * np.cos(latitude)
        - np.cos(declination) * np.sin(latitude) * np.cos(hour_angle),
    )
    return zenith, np.rad2deg(azimuth) % 360.0


def clear_sky_wm2(zenith_deg: Array) -> Array:
    """Clear-sky irradiance on level ground (Haurwitz 1945). [W/m2]."""
    cosine = np.cos(np.deg2rad(zenith_deg))
    ghi = 1098.0 * cosine * np.exp(-0.059 / np.where(cosine > 0.0, cosine, 1.0))
    return np.where(cosine > 0.0, ghi, 0.0)


def darkness(zenith_deg: Array) -> Array:
    """How far lamps are wanted, from 0 with the sun 6 degrees up to 1 with it 6 degrees down.

    Civil twilight ends with the sun 6 degrees below the horizon (U.S. Naval Observatory); that
    lamps come on over the same span above it is common practice, no source.
    """
    return np.clip((zenith_deg - 84.0) / 12.0, 0.0, 1.0)


def _diffuse_share(clearness: Array) -> Array:
    """Share of level irradiance that comes from the sky (Erbs 1982)."""
    low = 1.0 - 0.09 * clearness
    k = clearness
    middle = 0.9511 - 0.1604 * k + 4.388 * k**2 - 16.638 * k**3 + 12.336 * k**4
    return np.where(k <= 0.22, low, np.where(k > 0.8, 0.165, middle))


def array_w(
    unix_s: Array,
    *,
    latitude_deg: float,
    longitude_deg: float,
    tilt_deg: float,
    azimuth_deg: float,
    dc_kw: float,
    ac_kw: float,
    losses_share: float,
    level_wm2: Array,
) -> Array:
    """AC watts of an array under this irradiance on level ground. [W], >= 0, same shape."""
    zenith, azimuth = sun_position(unix_s, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    level = np.where(zenith < _HORIZON_DEG, level_wm2, 0.0)
    cosine = np.maximum(np.cos(np.deg2rad(zenith)), 0.065)
    day = (unix_s / 86_400.0) % 365.2425
    outside = _SOLAR_CONSTANT_WM2 * (1.0 + 0.033 * np.cos(2.0 * np.pi * day / 365.2425))
    clearness = level / (outside * cosine)
    diffuse = level * _diffuse_share(clearness)
    beam = (level - diffuse) / cosine
    tilt = np.deg2rad(tilt_deg)
    facing = np.cos(np.deg2rad(zenith)) * np.cos(tilt) + np.sin(np.deg2rad(zenith)) * np.sin(
        tilt
    ) * np.cos(np.deg2rad(azimuth - azimuth_deg))
    on_array = beam * np.maximum(facing, 0.0)
    on_array += diffuse * (1.0 + np.cos(tilt)) / 2.0
    on_array += level * _ALBEDO * (1.0 - np.cos(tilt)) / 2.0
    dc_w = dc_kw * on_array * (1.0 - losses_share)
    return inverter_w(dc_w, ac_kw=ac_kw)


def inverter_w(dc_w: Array, *, ac_kw: float) -> Array:
    """AC watts from DC watts by the PVWatts inverter curve, clipped at the rating. [W]."""
    rated_dc_w = ac_kw * 1000.0 / _NOMINAL_INVERTER
    part = np.maximum(dc_w / rated_dc_w, 1e-9)
    scale = _NOMINAL_INVERTER / _REFERENCE_INVERTER
    efficiency = scale * (-0.0162 * part - 0.0059 / part + 0.9858)
    return np.clip(np.where(dc_w > 0.0, efficiency * dc_w, 0.0), 0.0, ac_kw * 1000.0)
