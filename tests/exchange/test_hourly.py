"""Weather hour by hour out of tables."""

from __future__ import annotations

from datetime import datetime

import pytest

from server.domain.errors import SiteFileError
from server.exchange.hourly import read_hourly

START = datetime(2026, 1, 15, 18)


def message(text: str, **changes: object) -> str:
    with pytest.raises(SiteFileError) as caught:
        read_hourly(text, **{"start": START, "hours": 4} | changes)
    (problem,) = caught.value.problems
    assert problem.field == "weather_file"
    return problem.message


def test_a_bare_column_is_fahrenheit_from_the_start() -> None:
    assert read_hourly("20\n21.5\n19\n", start=START, hours=2).temps_f == (20.0, 21.5)


def test_every_kind_of_line_end_is_one() -> None:
    for end in ("\n", "\r\n", "\r"):
        told = read_hourly(f"temp{end}50{end}60{end}", start=datetime(2026, 1, 15), hours=2)
        assert told.temps_f == (50.0, 60.0)


def test_a_head_in_celsius_is_taken_over() -> None:
    assert read_hourly("temperature (°C)\n0\n-10\n", start=START, hours=9).temps_f == (32, 14)


@pytest.mark.parametrize("form", ["2026-01-15 {}:00", "2026-01-15T{}:00", "01/15/2026 {}:00"])
def test_rows_with_times_are_laid_on_the_hours_of_the_scenario(form: str) -> None:
    """Every two hours from 17:00: 18:00 lies halfway."""
    rows = "\n".join(f"{form.format(h)},{t}" for h, t in ((17, 30), (19, 20), (21, 10)))
    found = read_hourly(f"time,temp F\n{rows}\n", start=START, hours=4)
    assert found.temps_f == pytest.approx((25, 20, 15, 10))
    assert found.sun_share == ()


def tmy3(station: str, *, sun: str = "0") -> str:
    head = f"724580,A,KS,{station},448\nDate,Time,GHI (W/m^2),Dry-bulb (C)\n"
    return head + f"01/01/1988,01:00,{sun},10\n" * 8760


def test_a_tmy3_year_with_a_station_is_read() -> None:
    assert read_hourly(tmy3("-6,39,-98"), start=START, hours=2).temps_f == (50.0, 50.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nothing in this table"),
        ("temp\n", "no row under it"),
        ("20\n", "at least two hours"),
        ("temp\n" + "9" * 200_000, "no table of comma-separated values"),
        ('temp\n"' + "\n5" * 100_000, "no table of comma-separated values"),
        ("temp\n20\nwarm\n", "Row 2: “warm” is no temperature"),
        ("20\n900\n", "900 °F is no outdoor temperature"),
        ("Temp °C\n1.7e308\n1.7e308\n", "Such a number of °F is no outdoor temperature"),
        ("-1e300\n20\n", "Such a number of °F is no outdoor temperature"),
        (tmy3("nan,39,-98"), "time zone of the station on the first row"),
        (tmy3("-6,1e308,-98"), "latitude of the station on the first row"),
        (tmy3("-6,39,inf"), "longitude of the station on the first row"),
        (tmy3("-6,39,-98", sun="1e308"), "Row 3: the sun (GHI)"),
        ("time,temp\nnoon,20\none,21\n", "Row 1: “noon” is no time"),
        ("time,temp\n2026-01-15 19:00,20\n2026-01-15 18:00,21\n", "do not rise"),
        ("time,temp\n2026-03-01 00:00,20\n2026-03-02 00:00,21\n", "the scenario begins"),
        ("station\nDate,Time,Dry-bulb (C)\n01/01/1988,01:00,5\n", "8760 hours; this table has 1"),
    ],
)
def test_what_cannot_be_read_is_said(text: str, words: str) -> None:
    assert words in message(text)


STATION = " 12839 MIAMI                  FL  -5 N 25 48 W  80 16     2"


def hour_of_tmy2(sun: str = "0010", dry: str = "-105") -> str:
    return f" 620101010000{'0' * 4}{sun}".ljust(67, "0") + dry + "A7"


def test_tmy2_tenths_below_freezing_are_read() -> None:
    text = "\r\n".join([STATION, *[hour_of_tmy2()] * 8760])
    assert read_hourly(text, start=START, hours=3).temps_f == pytest.approx((13.1,) * 3)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([hour_of_tmy2()], "8760 hours; this table has 1"),
        ([hour_of_tmy2(), " 62010102"], "Line 3 is no hour of a typical year"),
        ([hour_of_tmy2(dry="warm")], "Line 2 is no hour of a typical year"),
        ([], "8760 hours; this table has 0"),
    ],
)
def test_tmy2_that_cannot_be_read_is_said(lines: list[str], words: str) -> None:
    assert words in message("\n".join([STATION, *lines]))
