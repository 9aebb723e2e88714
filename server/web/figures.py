"""How figures are written on a page: one function for each kind, used as template filters."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from server.domain.lengths import span_words

MINUS = "\N{MINUS SIGN}"
NOTHING = "\N{EN DASH}"


def number(value: float | None, digits: int = 1) -> str:
    """A figure with this many decimals, grouped by thousands, with a real minus sign.

    >>> number(-1234.56)
    '−1,234.6'
    >>> number(None)
    '–'
    """
    if value is None:
        return NOTHING
    shown = f"{value:,.{digits}f}"
    if not float(shown.replace(",", "")):
        shown = shown.removeprefix("-")
    return shown.replace("-", MINUS)


def whole(value: float | None) -> str:
    """A figure without decimals.

    >>> whole(1480.0)
    '1,480'
    """
    return number(value, 0)


def plain(value: float | None) -> str:
    """A figure with as many decimals as it has, at most three; for ratings and settings.

    >>> [plain(v) for v in (20.0, 12.5, 0.035, None)]
    ['20', '12.5', '0.035', '']
    """
    if value is None:
        return ""
    return f"{value:,.3f}".rstrip("0").rstrip(".").replace("-", MINUS)


def amps(value: float | None) -> str:
    """Amperes to one decimal.

    >>> amps(93.66)
    '93.7'
    """
    return number(value, 1)


def percent(value: float | None) -> str:
    """A percentage as a whole number, without the sign.

    >>> percent(129.6)
    '130'
    """
    return number(value, 0)


def day_time(at: datetime) -> str:
    """A date and time as it is said; one with a zone is told in this computer's zone.

    >>> day_time(datetime(2026, 10, 13, 19, 40))
    'Tue 13 Oct 2026 19:40'
    """
    if at.tzinfo is not None:
        at = at.astimezone()
    return f"{at:%a} {at.day} {at:%b %Y %H:%M}"


def short_time(at: datetime) -> str:
    """A time in a run of days, without the year.

    >>> short_time(datetime(2026, 10, 13, 19, 40))
    'Tue 13 Oct 19:40'
    """
    return f"{at:%a} {at.day} {at:%b %H:%M}"


_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:A|VA|kVA|W|kW|kWh|V|h|min|s|gal|°F|%)(?![\w-]))")
_BEFORE_MINUTES = re.compile(r"(?<=\d\N{NO-BREAK SPACE}h) (?=\d+\N{NO-BREAK SPACE}min)")


def together(sentence: str) -> str:
    """A sentence whose figures stay on one line with their units.

    >>> together("Dark for 26 h 40 min, 9 A over").count("\N{NO-BREAK SPACE}")
    4
    """
    return _BEFORE_MINUTES.sub(
        "\N{NO-BREAK SPACE}", _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", sentence)
    )


FILTERS: Mapping[str, Callable[..., Any]] = {
    "number": number,
    "whole": whole,
    "plain": plain,
    "amps": amps,
    "percent": percent,
    "day_time": day_time,
    "short_time": short_time,
    "span": span_words,
    "together": together,
}
