"""Weather hour by hour out of a table: temperatures, a logger's file, a TMY3 or TMY2 year.

A TMY3 file (NREL, "Users Manual for TMY3 Data Sets", NREL/TP-581-43156) is told by its column
"Dry-bulb (C)". Its year is not looked at, only month, day and hour; temperatures hold at the hour
stamped, sun over the hour that ends there. So it is with a TMY2 file, which ``tmy2`` reads.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np

from server.domain.errors import Problem, SiteFileError
from server.exchange.tmy2 import is_tmy2, read_tmy2
from server.physics.sun import clear_sky_wm2, sun_position

MOST_CHARS = 4_000_000
MOST_HOURS = 24 * 15
FIELD = "weather_file"

_YEAR_H = 8760
_LEAST_CLEAR_WM2 = 20.0
_MOST_SHARE = 1.3
_MOST_SUN_WM2 = 10_000.0
"""Well above the sun outside the air, and above what stands for a missing figure (9999)."""
_TEMP_HEAD = re.compile(r"temp|dry.?bulb|°|^[fc]$|outdoor", re.IGNORECASE)
_CELSIUS = re.compile(r"°\s*c|\(c\)|\bc\b|celsius|deg c", re.IGNORECASE)
_SLASHED = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{2,4})[ T]+(\d{1,2}):(\d{2})(?::\d{2})?")


@dataclass(frozen=True)
class HourlyWeather:
    """Temperatures at each hour from a start, and sun over each hour as a share of clear sky. [F]

    ``sun_share`` is empty where the table does not tell it.
    """

    temps_f: tuple[float, ...]
    sun_share: tuple[float, ...] = ()


def _rows(text: str) -> list[list[str]]:
    """The rows with anything in them, whatever the line ends."""
    try:
        return [row for row in csv.reader(io.StringIO(text, newline=None)) if any(row)]
    except csv.Error as error:
        raise _wrong("This is no table of comma-separated values.") from error


def read_hourly(text: str, *, start: datetime, hours: int) -> HourlyWeather:
    """The weather of so many hours from a start.

    Raises
    ------
    SiteFileError   When there is no temperature in it, or it does not reach over these hours.
    """
    wanted = min(hours, MOST_HOURS)
    if is_tmy2(text):
        told = read_tmy2(text[:MOST_CHARS], field=FIELD)
        temps_f = [_fahrenheit(t, celsius=True) for t in told.temps_c]
        return _of_a_year(temps_f, np.array(told.sun_wm2), told.station, start, wanted)
    rows = _rows(text[:MOST_CHARS])
    if not rows:
        raise _wrong("There is nothing in this table. Give one temperature for each hour.")
    if len(rows) > 1 and any("dry-bulb (c)" in cell.lower() for cell in rows[1]):
        return _typical_year(rows, start, wanted)
    head, body = (rows[0], rows[1:]) if _is_head(rows[0]) else ([], rows)
    if not body:
        raise _wrong("There is a head and no row under it.")
    column = _temperature_column(head, body)
    celsius = bool(head) and bool(_CELSIUS.search(head[column]))
    temps = [_fahrenheit(_number(row, column, n), celsius=celsius) for n, row in enumerate(body, 1)]
    if column == 0:
        if len(temps) < 2:
            raise _wrong("Give at least two hours.")
        return HourlyWeather(tuple(_in_range(t) for t in temps[:wanted]))
    at_h = [(_time(row[0], n) - start) / timedelta(hours=1) for n, row in enumerate(body, 1)]
    if any(b <= a for a, b in pairwise(at_h)):
        raise _wrong("The times do not rise from row to row.")
    if at_h[0] > 1.0 or at_h[-1] < 1.0:
        raise _wrong(
            f"The table runs from {body[0][0]} to {body[-1][0]}; the scenario begins "
            f"{start:%Y-%m-%d %H:%M}."
        )
    count = min(wanted, math.floor(at_h[-1]) + 1)
    return HourlyWeather(
        tuple(_in_range(t) for t in np.interp(np.arange(count), at_h, temps).tolist())
    )


def _wrong(text: str) -> SiteFileError:
    return SiteFileError((Problem(FIELD, text),))


def _is_head(row: Sequence[str]) -> bool:
    return not any(_is_number(cell) for cell in row)


def _is_number(cell: str) -> bool:
    try:
        return math.isfinite(float(cell))
    except ValueError:
        return False


def _temperature_column(head: Sequence[str], body: Sequence[Sequence[str]]) -> int:
    for i, name in enumerate(head):
        if _TEMP_HEAD.search(name):
            return i
    return min(len(body[0]) - 1, 1)


def _number(row: Sequence[str], column: int, n: int) -> float:
    cell = row[column].strip() if column < len(row) else ""
    if not _is_number(cell):
        raise _wrong(f"Row {n}: “{cell[:20]}” is no temperature.")
    return float(cell)


def _fahrenheit(value: float, *, celsius: bool) -> float:
    return value * 1.8 + 32.0 if celsius else value


def _in_range(temp_f: float) -> float:
    if not -80.0 <= temp_f <= 150.0:
        told = f"{temp_f:.0f}" if abs(temp_f) < 10_000 else "Such a number of"
        raise _wrong(f"{told} °F is no outdoor temperature. Head a column in °C with °C.")
    return round(temp_f, 2)


def _time(cell: str, n: int) -> datetime:
    text = cell.strip()
    found = _SLASHED.fullmatch(text)
    try:
        if found:
            month, day, year, hour, minute = (int(part) for part in found.groups())
            return datetime(year if year > 99 else 2000 + year, month, day, hour, minute)
        return datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        raise _wrong(f"Row {n}: “{text[:20]}” is no time. Write 2026-01-15 18:00.") from None


def _typical_year(rows: list[list[str]], start: datetime, hours: int) -> HourlyWeather:
    head = [cell.strip().lower() for cell in rows[1]]
    body = rows[2:]
    dry = head.index("dry-bulb (c)")
    temps = [_fahrenheit(_number(row, dry, n), celsius=True) for n, row in enumerate(body, 3)]
    sun: np.ndarray | None = None
    station = _station(rows[0])
    if "ghi (w/m^2)" in head and station is not None:
        ghi = head.index("ghi (w/m^2)")
        sun = np.array([_sun(_number(r, ghi, n), n) for n, r in enumerate(body, 3)])
    return _of_a_year(temps, sun, station, start, hours)


def _station(row: Sequence[str]) -> tuple[float, float, float] | None:
    """Hours from UTC, latitude and longitude of a TMY3 file's station; None where it has none."""
    try:
        zone_h, latitude, longitude = (float(cell) for cell in row[3:6])
    except ValueError:
        return None
    for name, value, most in (
        ("time zone", zone_h, 14.0),
        ("latitude", latitude, 90.0),
        ("longitude", longitude, 180.0),
    ):
        if not abs(value) <= most:
            raise _wrong(
                f"The {name} of the station on the first row is no number from "
                f"−{most:g} to {most:g}."
            )
    return zone_h, latitude, longitude


def _sun(value_wm2: float, n: int) -> float:
    if not abs(value_wm2) <= _MOST_SUN_WM2:
        raise _wrong(f"Row {n}: the sun (GHI) is no number of W/m² that can be.")
    return value_wm2


def _of_a_year(
    temps_f: Sequence[float],
    sun_wm2: np.ndarray | None,
    station: tuple[float, float, float] | None,
    start: datetime,
    hours: int,
) -> HourlyWeather:
    """The hours from a start out of a year of them, each stamped where it ends."""
    if len(temps_f) != _YEAR_H:
        raise _wrong(f"A typical year has {_YEAR_H} hours; this table has {len(temps_f)}.")
    at = _hour_of_year(start) + np.arange(hours)
    told = np.interp(at, np.arange(1, _YEAR_H + 1), temps_f, period=_YEAR_H)
    share: tuple[float, ...] = ()
    if sun_wm2 is not None and station is not None:
        share = _shares(station, sun_wm2, np.floor(at).astype(np.int64) % _YEAR_H)
    return HourlyWeather(tuple(_in_range(t) for t in told.tolist()), share)


def _hour_of_year(at: datetime) -> float:
    """Hours since New Year of a year without a leap day."""
    day = 28 if (at.month, at.day) == (2, 29) else at.day
    return (at.replace(year=2025, day=day) - datetime(2025, 1, 1)) / timedelta(hours=1)


def _shares(
    station: tuple[float, float, float], ghi: np.ndarray, hours: np.ndarray
) -> tuple[float, ...]:
    """Sun of each hour over clear sky at the station; nights take the mean of the days."""
    zone_h, latitude, longitude = station
    minutes = np.arange(2.5, 60.0, 5.0) * 60.0
    new_year_s = datetime(2025, 1, 1, tzinfo=UTC).timestamp() - zone_h * 3600.0
    unix_s = new_year_s + hours[:, None] * 3600.0 + minutes
    zenith, _ = sun_position(unix_s, latitude_deg=latitude, longitude_deg=longitude)
    clear = clear_sky_wm2(zenith).mean(axis=1)
    lit = clear > _LEAST_CLEAR_WM2
    if not lit.any():
        return ()
    share = np.full(len(hours), 0.0)
    share[lit] = np.clip(ghi[hours[lit]] / clear[lit], 0.0, _MOST_SHARE)
    share[~lit] = share[lit].mean()
    return tuple(round(x, 3) for x in share.tolist())
