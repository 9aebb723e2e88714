"""A level over time as SVG paths: one line, the outdoors beside it, limits across."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.simulate.levels import Level, Line
from server.web.drawing.trace import Box

Floats = NDArray[np.float64]

BOX = Box(0.0, 0.0, 1000.0, 144.0)
_WORDS_X = (0.0, 38.0, 68.0)
"""Where the words of lines that lie close together begin, so that three fit a phone’s width."""

_WORDS_TALL = 14.0
"""Per cent of the height that the words of a line take."""

_TOP = 12.0
"""Words stand on their line, but under one that is no further from the top than this. [%]"""

_ON, _UNDER = -3.0, 10.0
"""From a line to the foot of its words on and under it, per cent of the height."""

_NEAR_SHARE = 0.5
"""A line further from the curve than this share of its own swing is left out of the plot."""


@dataclass(frozen=True)
class LevelLine:
    """A limit or setting across the plot. ``y`` is in per cent of its height.

    ``text_x`` is where its words begin, in per cent of the width: those of lines close to one
    another stand side by side, each still on its own line.
    """

    y: float
    text: str
    side: Literal[-1, 0, 1]
    text_x: float = 0.0

    @property
    def under(self) -> bool:
        """Whether its words stand under it, for want of room above."""
        return self.y <= _TOP

    @property
    def text_y(self) -> float:
        """Where the foot of its words is, in per cent of the height."""
        return self.y + (_UNDER if self.under else _ON)


@dataclass(frozen=True)
class LevelTrace:
    """Paths ready for ``d`` attributes; ``ticks`` are (per cent of the height, figure)."""

    box: Box
    path: str
    beside: str
    lines: tuple[LevelLine, ...]
    ticks: tuple[tuple[float, float], ...]


def level_trace(level: Level, *, box: Box = BOX, columns: int = 500) -> LevelTrace:
    """Draw a level into a box; each column shows its lowest and highest, so that no dip is lost."""
    low, high, lines = _range(level)
    tall = max(high - low, 1e-9)

    def down(value: float) -> float:
        return (high - value) / tall

    ticks = tuple((100.0 * down(t), t) for t in _ticks(low, high))
    return LevelTrace(
        box=box,
        path=_path(level.values, low, high, box, columns),
        beside="" if level.beside is None else _path(level.beside, low, high, box, columns),
        lines=_apart([LevelLine(100.0 * down(x.value), x.text, x.side) for x in lines]),
        ticks=ticks,
    )


def _apart(lines: list[LevelLine]) -> tuple[LevelLine, ...]:
    """The lines from the top, each with its words clear of those just above them.

    >>> close = [LevelLine(y, "", 1) for y in (50.0, 10.0, 55.0, 58.0)]
    >>> [(line.y, line.text_x) for line in _apart(close)]
    [(10.0, 0.0), (50.0, 0.0), (55.0, 38.0), (58.0, 68.0)]
    >>> [(one.y, one.text_x) for one in _apart([LevelLine(y, "", 1) for y in (5.0, 20.0)])]
    [(5.0, 0.0), (20.0, 38.0)]
    """
    found: list[LevelLine] = []
    place, above = 0, -2.0 * _WORDS_TALL
    for line in sorted(lines, key=lambda one: one.text_y):
        place = (place + 1) % len(_WORDS_X) if line.text_y - above < _WORDS_TALL else 0
        found.append(replace(line, text_x=_WORDS_X[place]))
        above = line.text_y
    return tuple(found)


def _range(level: Level) -> tuple[float, float, list[Line]]:
    """What the plot spans, and the lines in it: those near the curve, and each that is passed."""
    curves = [level.values] if level.beside is None else [level.values, level.beside]
    low = min(float(c.min()) for c in curves)
    high = max(float(c.max()) for c in curves)
    near = max(_NEAR_SHARE * (high - low), 6.0 if level.unit == "°F" else 0.0)
    lines = [
        line
        for line in level.lines
        if low - near <= line.value <= high + near or level.unit != "°F"
    ]
    low = min([low, *(line.value for line in lines)])
    high = max([high, *(line.value for line in lines)])
    pad = max(0.06 * (high - low), 0.5 if level.unit == "°F" else 0.02)
    return low - pad, high + pad, lines


def _ticks(low: float, high: float) -> list[float]:
    """Round figures between the ends, each where it is printed: whole ones from 10 up, else tenths.

    >>> _ticks(61.0, 74.0), _ticks(31.0, 41.0)
    ([65.0, 70.0], [35.0, 40.0])
    """
    raw = (high - low) / 4
    power = 10.0 ** np.floor(np.log10(raw))
    least = 1.0 if max(abs(low), abs(high)) >= 10.0 else 0.1
    steps = (m * power for m in (1, 2, 2.5, 5, 10))
    whole = (s for s in steps if abs(s / least - round(s / least)) < 1e-9)
    step = next((s for s in whole if s >= max(least, raw) * (1.0 - 1e-9)), least)
    first = np.ceil(low / step) * step
    return [float(t) + 0.0 for t in np.arange(first, high + 1e-9, step)]


def _path(values: Floats, low: float, high: float, box: Box, columns: int) -> str:
    count = min(len(values), columns)
    starts = np.arange(count) * len(values) // count
    bottom, top = np.minimum.reduceat(values, starts), np.maximum.reduceat(values, starts)
    middle = box.x + (np.arange(count) + 0.5) * box.width / count
    scale = box.height / (high - low)
    parts: list[str] = []
    for x, least, most in zip(middle, bottom, top, strict=True):
        near, far = box.y + (high - most) * scale, box.y + (high - least) * scale
        parts.append(f"{'L' if parts else 'M'}{x:.1f} {near:.1f}")
        if far - near >= 0.1:
            parts.append(f"V{far:.1f}")
    return "".join(parts)
