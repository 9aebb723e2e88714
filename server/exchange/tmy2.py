"""The older typical year: a TMY2 file, whose figures stand in fixed columns and have no names.

Source: NREL, "User's Manual for TMY2s", NREL/SP-463-7668 (1995), tables 3-1 and 3-2: the station in
the first line; then for each hour year, month, day and hour in columns 2 to 9, sun on level ground
in 18 to 21 [Wh/m2 over the hour that ends there] and dry bulb in 68 to 71 [tenths of a degree C].
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from server.domain.errors import Problem, SiteFileError

_STATION = re.compile(
    r"\s?\d{5}\s+.+?\s+[A-Z]{2}\s+(-?\d{1,2})\s+([NS])\s+(\d{1,2})\s+(\d{1,2})"
    r"\s+([WE])\s+(\d{1,3})\s+(\d{1,2})\s+-?\d{1,4}\s*"
)
_SUN, _DRY = slice(17, 21), slice(67, 71)


@dataclass(frozen=True)
class Tmy2:
    """Dry bulb [C] and sun on level ground [W/m2] of each hour, and where they were taken.

    ``station`` is hours from UTC, latitude north and longitude east in degrees.
    """

    temps_c: tuple[float, ...]
    sun_wm2: tuple[float, ...]
    station: tuple[float, float, float]


def is_tmy2(text: str) -> bool:
    r"""Whether a text begins as a TMY2 file does.

    >>> is_tmy2(" 12839 MIAMI                  FL  -5 N 25 48 W  80 16     2\n 620101")
    True
    """
    return _STATION.fullmatch(text[:200].partition("\n")[0].rstrip("\r")) is not None


def read_tmy2(text: str, *, field: str) -> Tmy2:
    """The hours of a TMY2 file; ``field`` is what a problem is told of.

    Raises
    ------
    SiteFileError   Where a line is too short or holds no figures.
    """
    head, *lines = text.splitlines()
    found = _STATION.fullmatch(head)
    if found is None:
        raise SiteFileError((Problem(field, "The first line names no station."),))
    zone, north, lat, lat_min, east, lon, lon_min = found.groups()
    latitude = (int(lat) + int(lat_min) / 60.0) * (1.0 if north == "N" else -1.0)
    longitude = (int(lon) + int(lon_min) / 60.0) * (1.0 if east == "E" else -1.0)
    temps: list[float] = []
    sun: list[float] = []
    for n, line in enumerate((x for x in lines if x.strip()), 2):
        try:
            sun.append(float(int(line[_SUN])))
            temps.append(int(line[_DRY]) / 10.0)
        except ValueError:
            words = f"Line {n} is no hour of a typical year (TMY2): its columns hold no figures."
            raise SiteFileError((Problem(field, words),)) from None
    return Tmy2(tuple(temps), tuple(sun), (float(zone), latitude, longitude))
