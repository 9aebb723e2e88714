"""TMY3 and TMY2 files against pvlib's own reader and its solar model.

Source: the TMY2 sample ``12839.tm2`` (Miami, Florida) with ``iotools.read_tmy2``, and the two TMY3
samples that pvlib-python (BSD-3) ships, ``703165TY.csv`` (Sand Point, Alaska)
and ``723170TYA.CSV`` (Greensboro, North Carolina); ``iotools.read_tmy3``, ``irradiance.erbs``,
``irradiance.get_total_irradiance`` (isotropic, albedo 0.2), ``inverter.pvwatts``.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from server.domain.scenario import Weather
from server.domain.site import Place
from server.domain.supply import SolarArray
from server.exchange.hourly import read_hourly
from server.simulate.weather import outdoor_f, solar_w
from tests.builders import double_throw_site, scenario, with_parts
from tests.reference.test_solar import AC_KW, AZIMUTH, DC_KW, TILT, reference_ac_w

pytestmark = pytest.mark.filterwarnings(
    "ignore:DatetimeIndex.dayofyear is deprecated"  # inside pvlib, with pandas 3.1
)

FOLDER = Path(pvlib.__file__).parent / "data"
DAYS = (
    datetime(2025, 1, 10),
    datetime(2025, 4, 20, 6),
    datetime(2025, 7, 1),
    datetime(2025, 10, 5),
)
HOURS = 96


def read(name: str) -> tuple[pd.DataFrame, dict[str, float]]:
    return pvlib.iotools.read_tmy3(FOLDER / name, coerce_year=2025, map_variables=True)


@pytest.mark.parametrize("name", ["703165TY.csv", "723170TYA.CSV"])
@pytest.mark.parametrize("start", DAYS, ids=str)
def test_temperatures_are_those_of_the_file(name: str, start: datetime) -> None:
    """Exact at every hour, to the hundredth that is kept."""
    frame, _ = read(name)
    found = read_hourly((FOLDER / name).read_text(), start=start, hours=HOURS)
    stamps = frame.index.tz_localize(None)
    at = [stamps.get_loc(pd.Timestamp(start) + pd.Timedelta(hours=h)) for h in range(HOURS)]
    told_f = frame["temp_air"].to_numpy()[at] * 1.8 + 32
    assert np.array(found.temps_f) == pytest.approx(told_f, abs=0.006)
    weather = Weather(hourly_f=found.temps_f)
    ours = outdoor_f(weather, start, np.arange(HOURS) * 3600.0)
    assert ours == pytest.approx(told_f, abs=0.006)


@pytest.mark.parametrize("start", DAYS, ids=str)
def test_tmy2_is_read_as_its_other_reader_reads_it(start: datetime) -> None:
    """Temperatures to the hundredth; the sun, over clear sky at its station, back to W/m2.

    That reader keeps tenths of a degree as it finds them and stamps each hour an hour earlier.
    """
    frame, station = pvlib.iotools.read_tmy2(FOLDER / "12839.tm2")
    found = read_hourly((FOLDER / "12839.tm2").read_text(), start=start, hours=HOURS)
    hour = int((start.replace(year=2025) - datetime(2025, 1, 1)).total_seconds() // 3600)
    ends = (np.arange(HOURS) + hour - 1) % 8760
    told_f = frame["DryBulb"].to_numpy()[ends] / 10 * 1.8 + 32
    assert np.array(found.temps_f) == pytest.approx(told_f, abs=0.006)
    over = (np.arange(HOURS) + hour) % 8760
    stamps = pd.date_range(start, periods=HOURS * 60, freq="1min", tz="Etc/GMT+5")
    sun = pvlib.solarposition.get_solarposition(
        stamps + pd.Timedelta(seconds=30), station["latitude"], station["longitude"]
    )
    zenith = sun["zenith"].to_numpy()
    clear = pvlib.clearsky.haurwitz(pd.Series(zenith))["ghi"].to_numpy()
    clear_wm2 = clear.reshape(HOURS, 60).mean(axis=1)
    told_wm2 = frame["GHI"].to_numpy()[over].astype(float)
    high = clear_wm2 > 300
    ours_wm2 = np.array(found.sun_share) * clear_wm2
    assert ours_wm2[high] == pytest.approx(told_wm2[high], rel=0.03, abs=6)
    assert high.sum() > 20


@pytest.mark.parametrize("start", DAYS, ids=str)
def test_solar_energy_of_four_days_is_the_reference_s(start: datetime) -> None:
    """Within 4 %: ours spreads each hour's sun as clear sky does, the reference holds it level."""
    name = "723170TYA.CSV"
    frame, station = read(name)
    found = read_hourly((FOLDER / name).read_text(), start=start, hours=HOURS)
    array = SolarArray(
        id="sun",
        name="Roof",
        panel_id="main",
        dc_kw=DC_KW,
        ac_kw=AC_KW,
        tilt_deg=TILT,
        azimuth_deg=AZIMUTH,
        breaker_a=30,
        spaces=(18, 20),
    )
    place = Place(
        latitude_deg=station["latitude"],
        longitude_deg=station["longitude"],
        time_zone="Etc/GMT+5",
    )
    site = with_parts(double_throw_site(solar=True), place=place, solar=(array,))
    weather = Weather(hourly_f=found.temps_f, hourly_sun_share=found.sun_share)
    day = scenario(span_h=HOURS, start=start, weather=weather)
    middle_s = (np.arange(HOURS * 60) + 0.5) * 60.0
    ours_kwh = solar_w(site, day, middle_s)[0].sum() / 60 / 1000
    assert ours_kwh == pytest.approx(_reference_kwh(frame, station, start), rel=0.04)


def _reference_kwh(frame: pd.DataFrame, station: dict[str, float], start: datetime) -> float:
    """The hour's mean irradiance held through its minutes, the sun where it stands in each."""
    stamps = pd.date_range(start, periods=HOURS * 60, freq="1min", tz="Etc/GMT+5")
    times = stamps + pd.Timedelta(seconds=30)
    hour_end = stamps.floor("1h") + pd.Timedelta(hours=1)
    ghi = pd.Series(frame["ghi"].to_numpy(), index=frame.index.tz_localize(None))
    level = pd.Series(ghi.reindex(hour_end.tz_localize(None)).to_numpy(), index=times)
    sun = pvlib.solarposition.get_solarposition(times, station["latitude"], station["longitude"])
    return float(np.nansum(reference_ac_w(times, sun, level)) / 60 / 1000)
