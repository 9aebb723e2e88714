"""Sentences and cells for results: what ``figures`` does not already write."""

from __future__ import annotations

from datetime import datetime

from server.domain.lengths import dark_words, span_words
from server.domain.scenario import Scenario
from server.domain.text import listed
from server.web.figures import NOTHING, amps, day_time, number, plain, short_time

__all__ = [
    "NOTHING",
    "amps",
    "amps_or_dash",
    "clock",
    "count",
    "dark_words",
    "day",
    "difference",
    "duration",
    "field_time",
    "kilowatts",
    "listed",
    "minutes_or_dash",
    "number",
    "outage_sentence",
    "percent",
    "rating",
    "short_when",
    "term_value",
    "to_the_minute",
    "unit_of",
    "weather_sentence",
    "when",
    "worked_value",
]

when = short_time


def amps_or_dash(value: float) -> str:
    """Amps, or a dash where it would print as nothing.

    >>> amps_or_dash(0.04), amps_or_dash(2.0)
    ('–', '2.0')
    """
    return amps(value) if abs(value) >= 0.05 else NOTHING


def difference(value: float) -> str:
    """Amps more or less than something, with its sign.

    >>> difference(4.25), difference(-3.0), difference(0.01)
    ('+4.2', '−3.0', 'the same')
    """
    if abs(value) < 0.05:
        return "the same"
    return f"{'+' if value > 0 else '−'}{abs(value):.1f}"


def unit_of(unit: str, quantity: float) -> str:
    """A unit of a worksheet's quantity, one of them in the singular.

    >>> unit_of("circuits", 1), unit_of("circuits", 2), unit_of("ft²", 1)
    ('circuit', 'circuits', 'ft²')
    """
    return unit.removesuffix("s") if quantity == 1 else unit


def term_value(value: float, unit: str) -> str:
    """A term of a working: volt-amperes whole, amps to one decimal, the rest as it is.

    >>> term_value(56416.032, "VA"), term_value(244.914, "A"), term_value(1.25, "")
    ('56,416', '244.9', '1.25')
    """
    if unit == "VA":
        return number(value, 0)
    return amps(value) if unit == "A" else plain(value)


def worked_value(value: float, unit: str) -> str:
    """A figure of a working in four digits, areas of wire whole.

    >>> worked_value(16510, "cmil"), worked_value(1.3798, "V"), worked_value(0.308, "Ω/kft")
    ('16,510', '1.38', '0.308')
    >>> worked_value(12345.6, "")
    '12,346'
    """
    if unit == "cmil" or abs(value) >= 10_000:
        return number(value, 0)
    return f"{value:.4g}"


def guessed_value(value: float) -> str:
    """A guess in two digits, so that it does not look like a figure that was read.

    >>> [guessed_value(v) for v in (0.4708, 2.332, 24_531.0, 0.0)]
    ['0.47', '2.3', '25,000', '0']
    """
    rounded = float(f"{value:.2g}")
    return number(rounded, 0) if abs(rounded) >= 100 else f"{rounded:g}"


def rating(value: float) -> str:
    """A rating in a sentence or beside a bar: whole where it is whole. [A]

    >>> rating(200.0), rating(83.33)
    ('200', '83.3')
    """
    return plain(round(value, 1))


def percent(value: float) -> str:
    """Per cent of a limit, whole; just past 100 reads as 101, never as within.

    >>> percent(99.6), percent(100.0), percent(100.2), percent(130.2)
    ('100', '100', '101', '130')
    """
    return number(101 if 100 < value < 101 else value, 0)


def kilowatts(watts: float) -> str:
    """Watts shown in kilowatts. [kW]

    >>> kilowatts(4500)
    '4.5'
    """
    return number(watts / 1000, 1)


def day(at: datetime) -> str:
    """A day.

    >>> day(datetime(2026, 10, 13))
    'Tue 13 Oct'
    """
    return f"{at:%a} {at.day} {at:%b}"


def clock(at: datetime) -> str:
    """A time of day, with seconds only where they are not zero.

    >>> clock(datetime(2026, 10, 13, 9, 5))
    '09:05'
    """
    return at.strftime("%H:%M:%S" if at.second else "%H:%M")


def short_when(at: datetime) -> str:
    """A weekday and a time, for tables within a fortnight.

    >>> short_when(datetime(2026, 10, 13, 19, 40))
    'Tue 19:40'
    """
    return f"{at:%a} {clock(at)}"


def to_the_minute(at: datetime) -> datetime:
    """A time without its seconds, for what no model knows to the second.

    >>> short_when(to_the_minute(datetime(2026, 10, 13, 19, 40, 36)))
    'Tue 19:40'
    """
    return at.replace(second=0, microsecond=0)


def field_time(at: datetime) -> str:
    """A time as a form field of type datetime-local holds it.

    >>> field_time(datetime(2026, 10, 13, 19, 40))
    '2026-10-13T19:40'
    """
    return at.isoformat(timespec="seconds" if at.second else "minutes")


def duration(minutes: float) -> str:
    """A length of time, or "none".

    >>> duration(0), duration(65)
    ('none', '1 h 5 min')
    """
    return span_words(minutes) if minutes > 0 else "none"


def minutes_or_dash(value: float) -> str:
    """Minutes for a table cell: whole, "<1" below one, a dash for none.

    >>> minutes_or_dash(0), minutes_or_dash(0.4), minutes_or_dash(30)
    ('–', '<1', '30')
    """
    if value <= 0:
        return NOTHING
    return "<1" if value < 1 else number(value, 0)


def count(many: int, one: str, more: str | None = None) -> str:
    """A number with its noun.

    >>> count(1, "circuit"), count(2, "circuit"), count(0, "switch", "switches")
    ('1 circuit', '2 circuits', '0 switches')
    """
    return f"{many:,} {one if many == 1 else more or one + 's'}"


def outage_sentence(scenario: Scenario) -> str:
    """When the utility is out, in one line."""
    if not scenario.outages:
        return "Utility on throughout"
    first = scenario.outages[0]
    end = clock(first.end) if first.end.date() == first.start.date() else when(first.end)
    more = len(scenario.outages) - 1
    tail = f", and {more} more time{'s' if more > 1 else ''}" if more else ""
    return f"Utility out {day_time(first.start)} to {end}{tail}"


def weather_sentence(scenario: Scenario) -> str:
    """The range of outdoor temperature. [°F]"""
    weather = scenario.weather
    low, high = weather.low_f, weather.high_f
    if weather.hourly_f:
        low, high = min(weather.hourly_f), max(weather.hourly_f)
    return f"{number(low, 0)} to {number(high, 0)} °F"
