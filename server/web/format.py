"""Figures and times as every page prints them: one decimal, real signs, no surprises."""

from __future__ import annotations

from datetime import datetime

from server.domain.scenario import Scenario

MINUS = "−"
DASH = "–"
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def number(value: float, digits: int = 1) -> str:
    """A figure with a real minus sign and a thin grouping comma.

    >>> number(-1234.56)
    '−1,234.6'
    >>> number(-0.01)
    '0.0'
    """
    text = f"{abs(value):,.{digits}f}"
    return MINUS + text if value < 0 and text.strip("0.,") else text


def amps(value: float) -> str:
    """Amps as every table and drawing prints them. [A]

    >>> amps(93.66)
    '93.7'
    """
    return number(value, 1)


def amps_or_dash(value: float) -> str:
    """Amps, or a dash where it would print as nothing.

    >>> amps_or_dash(0.04)
    '–'
    """
    return amps(value) if abs(value) >= 0.05 else DASH


def rating(value: float) -> str:
    """A rating in a sentence or beside a bar: whole where it is whole. [A]

    >>> rating(200.0), rating(83.33)
    ('200', '83.3')
    """
    return number(value, 0) if abs(value - round(value)) < 0.05 else number(value, 1)


def percent(value: float) -> str:
    """Per cent of a limit, whole; just past 100 reads as 101, never as within.

    >>> percent(99.6), percent(100.0), percent(100.2), percent(130.2)
    ('100', '100', '101', '130')
    """
    return number(101 if 100 < value < 101 else round(value), 0)


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
    return f"{_DAYS[at.weekday()]} {at.day} {_MONTHS[at.month - 1]}"


def clock(at: datetime) -> str:
    """A time of day, with seconds only where they are not zero.

    >>> clock(datetime(2026, 10, 13, 9, 5))
    '09:05'
    """
    return at.strftime("%H:%M:%S" if at.second else "%H:%M")


def when(at: datetime) -> str:
    """A day and a time.

    >>> when(datetime(2026, 10, 13, 19, 40))
    'Tue 13 Oct 19:40'
    """
    return f"{day(at)} {clock(at)}"


def short_when(at: datetime) -> str:
    """A weekday and a time, for tables within a fortnight.

    >>> short_when(datetime(2026, 10, 13, 19, 40))
    'Tue 19:40'
    """
    return f"{_DAYS[at.weekday()]} {clock(at)}"


def field_time(at: datetime) -> str:
    """A time as a form field of type datetime-local holds it.

    >>> field_time(datetime(2026, 10, 13, 19, 40))
    '2026-10-13T19:40'
    """
    return at.isoformat(timespec="seconds" if at.second else "minutes")


def duration(minutes: float) -> str:
    """A length of time in the unit a person would say.

    >>> duration(0.2), duration(9), duration(65), duration(4320)
    ('12 s', '9 min', '1 h 5 min', '72.0 h')
    """
    if minutes <= 0:
        return "none"
    if minutes < 1:
        return f"{max(1, round(minutes * 60))} s"
    whole = round(minutes)
    if whole < 60:
        return f"{whole} min"
    if whole < 24 * 60:
        hours, rest = divmod(whole, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    return f"{number(minutes / 60, 1)} h"


def minutes_or_dash(value: float) -> str:
    """Minutes for a table cell: whole, "<1" below one, a dash for none.

    >>> minutes_or_dash(0), minutes_or_dash(0.4), minutes_or_dash(30)
    ('–', '<1', '30')
    """
    if value <= 0:
        return DASH
    return "<1" if value < 1 else number(value, 0)


def outage_sentence(scenario: Scenario) -> str:
    """When the utility is out, in one line."""
    if not scenario.outages:
        return "Utility on throughout"
    first = scenario.outages[0]
    end = clock(first.end) if first.end.date() == first.start.date() else when(first.end)
    more = len(scenario.outages) - 1
    tail = f", and {more} more time{'s' if more > 1 else ''}" if more else ""
    return f"Utility out {when(first.start)} to {end}{tail}"


def span_sentence(scenario: Scenario) -> str:
    """How long and how finely a scenario runs, and its seed."""
    return (
        f"{number(scenario.span_h, 0)} h at {duration(scenario.step_s / 60)}, seed {scenario.seed}"
    )


def count(many: int, one: str, more: str | None = None) -> str:
    """A number with its noun.

    >>> count(1, "circuit"), count(2, "circuit"), count(0, "switch", "switches")
    ('1 circuit', '2 circuits', '0 switches')
    """
    return f"{many:,} {one if many == 1 else more or one + 's'}"
