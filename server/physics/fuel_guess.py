"""The line a set is taken to burn by where its maker's points are not known, by fuel and size.

Each stands on a published figure of its own fuel; none is carried over from another.
"""

from __future__ import annotations

from dataclasses import dataclass

from server.physics.engine_set import Fuel

GUESS_SHARE = 0.35
"""How far a guessed burn is taken to be out either way.

No source: wide enough to hold each published row that a line here is read from, and its half-load
figure for a set that idles on 13 or on 59 % of its full burn.
"""


@dataclass(frozen=True)
class GuessLine:
    """Burn = ``idle_per_rated_kw`` × rated kW + ``per_kwh`` × load, for sets up to ``to_kw``.

    In the unit the fuel is counted in, gallons or 1000 Btu: [units/h per rated kW], [units/kWh].
    ``words`` say what it was read from.
    """

    to_kw: float
    idle_per_rated_kw: float
    per_kwh: float
    words: str


def _by_half_and_full(to_kw: float, half: float, full: float, words: str) -> GuessLine:
    """The line through burn at half and full load, each per rated kW. [units/h per kW]"""
    slope = 2.0 * (full - half)
    return GuessLine(to_kw, full - slope, slope, words)


ANY = float("inf")
PROPANE_BTU = 91_333.0
_GAS_AIR_COOLED = (
    (12, 119, 197),
    (18, 169, 247),
    (20, 164, 287),
    (22, 204, 327),
    (24, 203, 306),
    (26, 188, 333),
)
"""(rated kW, 1000 Btu/h at half, at full), as makers' sheets print them."""

_SMALL_KW, _LARGE_KW = 12.0, 25.0
"""Sizes of the two propane sheets. Of 15 and of 16 kW the small one and the large one alone would
burn a third apart; so between them the line goes straight from one to the other."""

_GASOLINE_HALF = 0.65 / 5.0
_GASOLINE_FULL = _GASOLINE_HALF * 2.0 / (1.0 + 0.35)

GUESS_LINES: dict[Fuel, tuple[GuessLine, ...]] = {
    "propane": (
        _by_half_and_full(
            _SMALL_KW,
            128_000.0 / PROPANE_BTU / 12.0,
            213_000.0 / PROPANE_BTU / 12.0,
            "half and full load of one published 12 kW propane sheet, 128,000 and 213,000 Btu/h",
        ),
        GuessLine(
            ANY,
            0.060,
            0.112,
            "exercise, half and full load of one published 25 kW propane sheet, 1.5, 2.9 and "
            "4.3 gal/h",
        ),
    ),
    # The published half-load figure gives no bend: the idle share, 35 % of full, is that of the
    # 25 kW propane sheet.
    "gasoline": (
        GuessLine(
            ANY,
            0.35 * _GASOLINE_FULL,
            0.65 * _GASOLINE_FULL,
            "a published 0.65 gal/h of a 5 kW gasoline set at half load, its no-load burn taken "
            "as 35 % of full",
        ),
    ),
    "natural_gas": (
        _by_half_and_full(
            26.0,
            sum(half / kw for kw, half, _ in _GAS_AIR_COOLED) / len(_GAS_AIR_COOLED),
            sum(full / kw for kw, _, full in _GAS_AIR_COOLED) / len(_GAS_AIR_COOLED),
            "half and full load of six published gas sheets of 12 to 26 kW, their mean per rated "
            "kW",
        ),
        _by_half_and_full(
            ANY,
            252.0 / 25.0,
            368.0 / 25.0,
            "half and full load of one published 25 kW liquid-cooled gas sheet, 252,000 and "
            "368,000 Btu/h",
        ),
    ),
    # Least squares through four points of a published chart: 0.6, 0.9, 1.3, 1.6 gal/h of 20 kW;
    # 1.8, 2.9, 3.8, 4.8 of 60. Its 30 and 40 kW rows burn more per kWh than both, and are left out.
    "diesel": (
        GuessLine(
            15.0,
            0.0125 * 1.22 / (15.0 * 0.0805),
            0.068 * 1.22 / (15.0 * 0.0805),
            "full load of one published 15 kW diesel set, 1.22 gal/h, bent as a published 20 kW "
            "row is",
        ),
        GuessLine(
            40.0,
            0.0125,
            0.068,
            "quarter to full load of one published 20 kW diesel row, 0.6 to 1.6 gal/h",
        ),
        GuessLine(
            ANY,
            0.85 / 60.0,
            0.066,
            "quarter to full load of one published 60 kW diesel row, 1.8 to 4.8 gal/h",
        ),
    ),
}


def guess_line(fuel: Fuel, rated_kw: float) -> GuessLine:
    """The line of this fuel for sets of this size; of propane between its two sheets by size.

    Between the sheets: common practice, no source.

    >>> line = guess_line("gasoline", 5)
    >>> round(5 * line.idle_per_rated_kw + 2.5 * line.per_kwh, 3)
    0.65
    """
    lines = GUESS_LINES[fuel]
    if fuel == "propane" and _SMALL_KW < rated_kw < _LARGE_KW:
        return _between(*lines, share=(rated_kw - _SMALL_KW) / (_LARGE_KW - _SMALL_KW))
    return next(line for line in lines if rated_kw <= line.to_kw)


def _between(small: GuessLine, large: GuessLine, *, share: float) -> GuessLine:
    """The line that lies ``share`` of the way from one to the other."""
    near, far = 1.0 - share, share
    return GuessLine(
        large.to_kw,
        near * small.idle_per_rated_kw + far * large.idle_per_rated_kw,
        near * small.per_kwh + far * large.per_kwh,
        f"{small.words}, and {large.words}, between the two by size",
    )
