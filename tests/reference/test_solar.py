"""Solar power against pvlib, run live.

Source: pvlib-python (BSD-3): ``solarposition`` (NREL SPA), ``clearsky.haurwitz``,
``irradiance.erbs``, ``irradiance.get_total_irradiance`` (isotropic, albedo 0.2),
``inverter.pvwatts``. Tolerances are stated in each test.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pvlib
import pytest

from server.domain.scenario import Weather
from server.domain.site import Place, Site
from server.domain.supply import SolarArray
from server.physics.sun import array_w, clear_sky_wm2, inverter_w, sun_position
from server.simulate.run import simulate
from tests.builders import feeder, panel, scenario, service

pytestmark = pytest.mark.filterwarnings(
    "ignore:DatetimeIndex.dayofyear is deprecated"  # inside pvlib, with pandas 3.1
)


@dataclass(frozen=True)
class Spot:
    name: str
    latitude: float
    longitude: float
    zone: str


SPOTS = (
    Spot("coast", 38.0, -122.0, "America/Los_Angeles"),
    Spot("plains", 41.3, -96.0, "America/Chicago"),
    Spot("north", 61.2, -149.9, "America/Anchorage"),
    Spot("tropic", 21.3, -157.9, "Pacific/Honolulu"),
    Spot("south", -33.9, 151.2, "Australia/Sydney"),
)
DAYS = ("2026-01-15", "2026-03-20", "2026-06-21", "2026-09-05", "2026-12-21")
DC_KW, AC_KW, TILT, AZIMUTH = 6.0, 5.0, 25.0, 190.0


def minutes_of(day: str, spot: Spot) -> pd.DatetimeIndex:
    return pd.date_range(day, periods=1440, freq="1min", tz=spot.zone) + pd.Timedelta(seconds=30)


def unix_s(times: pd.DatetimeIndex) -> np.ndarray:
    return times.as_unit("ns").asi8 / 1e9


def reference_w(times: pd.DatetimeIndex, spot: Spot, sun_share: float = 1.0) -> np.ndarray:
    sun = pvlib.solarposition.get_solarposition(times, spot.latitude, spot.longitude)
    return reference_ac_w(times, sun, pvlib.clearsky.haurwitz(sun["zenith"])["ghi"] * sun_share)


def reference_ac_w(times: pd.DatetimeIndex, sun: pd.DataFrame, level: pd.Series) -> np.ndarray:
    """Watts of the roof under this sun on level ground, by pvlib; NaN where it is dark. [W]"""
    parts = pvlib.irradiance.erbs(level, sun["zenith"], times)
    tilted = pvlib.irradiance.get_total_irradiance(
        TILT,
        AZIMUTH,
        sun["zenith"],
        sun["azimuth"],
        dni=parts["dni"],
        ghi=level,
        dhi=parts["dhi"],
        albedo=0.2,
        model="isotropic",
    )
    dc_w = pvlib.pvsystem.pvwatts_dc(tilted["poa_global"], 25.0, DC_KW * 1000, -0.004)
    dc_w = dc_w * (1.0 - 0.14)
    return np.asarray(pvlib.inverter.pvwatts(dc_w, AC_KW * 1000 / 0.96))


def our_w(times: pd.DatetimeIndex, spot: Spot, sun_share: float = 1.0) -> np.ndarray:
    zenith, _ = sun_position(
        unix_s(times), latitude_deg=spot.latitude, longitude_deg=spot.longitude
    )
    return array_w(
        unix_s(times),
        latitude_deg=spot.latitude,
        longitude_deg=spot.longitude,
        tilt_deg=TILT,
        azimuth_deg=AZIMUTH,
        dc_kw=DC_KW,
        ac_kw=AC_KW,
        losses_share=0.14,
        level_wm2=clear_sky_wm2(zenith) * sun_share,
    )


@pytest.mark.parametrize("spot", SPOTS, ids=lambda s: s.name)
@pytest.mark.parametrize("day", DAYS)
def test_sun_stands_where_the_reference_puts_it(spot: Spot, day: str) -> None:
    """Within 0.03 degrees of zenith; azimuth within 0.03 degrees of arc."""
    times = minutes_of(day, spot)
    sun = pvlib.solarposition.get_solarposition(times, spot.latitude, spot.longitude)
    zenith, azimuth = sun_position(
        unix_s(times), latitude_deg=spot.latitude, longitude_deg=spot.longitude
    )
    assert np.abs(zenith - sun["zenith"].to_numpy()).max() < 0.03
    gap = (azimuth - sun["azimuth"].to_numpy() + 180.0) % 360.0 - 180.0
    assert np.abs(gap * np.sin(np.deg2rad(zenith))).max() < 0.03


def test_sun_stays_near_the_reference_through_a_year() -> None:
    """The series of the almanac is good to 0.01 degrees; 0.0125 here, for the clocks' sake."""
    times = pd.date_range("2026-01-01", "2027-01-01", freq="173min", tz="UTC")
    spot = SPOTS[0]
    sun = pvlib.solarposition.get_solarposition(times, spot.latitude, spot.longitude)
    zenith, _ = sun_position(
        unix_s(times), latitude_deg=spot.latitude, longitude_deg=spot.longitude
    )
    assert np.abs(zenith - sun["zenith"].to_numpy()).max() < 0.0125


def test_clear_sky_is_haurwitz() -> None:
    zenith = np.linspace(0.0, 120.0, 481)
    expected = pvlib.clearsky.haurwitz(pd.Series(zenith))["ghi"].to_numpy()
    assert clear_sky_wm2(zenith) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_inverter_follows_the_pvwatts_curve() -> None:
    dc_w = np.linspace(0.0, 8000.0, 401)
    expected = np.asarray(pvlib.inverter.pvwatts(dc_w, 5000.0 / 0.96))
    assert inverter_w(dc_w, ac_kw=5.0) == pytest.approx(np.maximum(expected, 0.0), abs=1e-6)


@pytest.mark.parametrize("spot", SPOTS, ids=lambda s: s.name)
@pytest.mark.parametrize("day", DAYS)
def test_power_and_energy_of_a_day(spot: Spot, day: str) -> None:
    """Energy of the day within 0.5 %, or 0.05 kWh; each minute within 1.5 % of the rating."""
    times = minutes_of(day, spot)
    ours, theirs = our_w(times, spot), reference_w(times, spot)
    assert np.abs(ours - theirs).max() < 0.015 * AC_KW * 1000
    assert ours.sum() / 60e3 == pytest.approx(theirs.sum() / 60e3, rel=5e-3, abs=0.05)


def test_hazy_sky_gives_the_reference_share() -> None:
    """Sky and beam are split anew at a lower clearness: within 0.5 % over the day."""
    times = minutes_of("2026-06-21", SPOTS[0])
    ours, theirs = our_w(times, SPOTS[0], 0.45), reference_w(times, SPOTS[0], 0.45)
    assert ours.sum() == pytest.approx(theirs.sum(), rel=5e-3)


def solar_house(spot: Spot) -> Site:
    return Site(
        name="Solar house",
        place=Place(latitude_deg=spot.latitude, longitude_deg=spot.longitude, time_zone=spot.zone),
        services=(service(),),
        panels=(panel("main"),),
        feeders=(feeder("grid", "main"),),
        solar=(
            SolarArray(
                id="sun",
                name="Roof solar",
                panel_id="main",
                dc_kw=DC_KW,
                ac_kw=AC_KW,
                tilt_deg=TILT,
                azimuth_deg=AZIMUTH,
                breaker_a=30,
            ),
        ),
    )


@pytest.mark.parametrize("spot", SPOTS, ids=lambda s: s.name)
@pytest.mark.parametrize("day", ["2026-01-15", "2026-06-21"])
def test_a_run_follows_the_wall_clock_of_its_place(spot: Spot, day: str) -> None:
    """A run of one local day exports the reference's kWh (within 0.5 %, or 0.05 kWh) and peaks in
    the same quarter of an hour.
    """
    start = datetime.fromisoformat(day)
    run = simulate(
        solar_house(spot), scenario(start=start, span_h=24, weather=Weather(sun_share=1.0))
    )
    theirs = reference_w(minutes_of(day, spot), spot)
    exported = next(s for s in run.sources if s.kind == "service").out_kwh
    given = next(s for s in run.sources if s.kind == "solar").in_kwh
    assert exported == pytest.approx(given, rel=1e-6)
    assert given == pytest.approx(theirs.sum() / 60e3, rel=5e-3, abs=0.05)
    index = next(i for i, p in enumerate(run.points) if p.kind == "solar_breaker")
    ours_a = run.amps[index, 0]
    smooth = np.ones(31) / 31
    ours_peak = np.convolve(ours_a, smooth, mode="same").argmax()
    assert abs(int(ours_peak) - int(np.convolve(theirs, smooth, mode="same").argmax())) <= 15


def test_daylight_time_moves_the_sun_by_an_hour_on_the_clock() -> None:
    """Noon by the sun at 122 W is near 12:08 in winter and 13:08 in summer (UTC-8 and UTC-7)."""
    spot = SPOTS[0]
    for day, hour in ((datetime(2026, 12, 21), 12.1), (datetime(2026, 6, 21), 13.15)):
        noon = day.replace(tzinfo=ZoneInfo(spot.zone)).timestamp() + np.arange(1440) * 60.0
        zenith, _ = sun_position(noon, latitude_deg=spot.latitude, longitude_deg=spot.longitude)
        assert zenith.argmin() / 60.0 == pytest.approx(hour, abs=0.08)
