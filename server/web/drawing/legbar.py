"""The mirrored leg bar: L1 left of the neutral, L2 right, both against one limit."""

from __future__ import annotations

from dataclasses import dataclass

from server.web.format import amps, rating

SCALE_PERCENT = 140.0
"""A bar runs to this per cent of its own limit, so limits line up down a page."""

_HALF = 50.0
LIMIT_X = (_HALF * (1 - 100 / SCALE_PERCENT), _HALF * (1 + 100 / SCALE_PERCENT))
EIGHTY_X = (_HALF * (1 - 80 / SCALE_PERCENT), _HALF * (1 + 80 / SCALE_PERCENT))


@dataclass(frozen=True)
class Stretch:
    """A piece of a bar in per cent of the drawing's width, and its other figures ready to print."""

    x: float
    width: float

    @property
    def x_pct(self) -> str:
        """Left edge for an SVG attribute."""
        return f"{self.x:.2f}%"

    @property
    def width_pct(self) -> str:
        """Width for an SVG attribute."""
        return f"{self.width:.2f}%"

    @property
    def end_pct(self) -> str:
        """Right edge for an SVG attribute."""
        return f"{self.x + self.width:.2f}%"


@dataclass(frozen=True)
class Leg:
    """One leg of a bar: what is within the limit, what lies past it, and the one before it."""

    amps: str
    within: Stretch
    past: Stretch | None
    before: Stretch | None
    before_amps: str
    over: bool
    off_scale: bool
    band: Stretch | None = None


@dataclass(frozen=True)
class LegBar:
    """Everything a template needs to draw one bar."""

    label: str
    limit: str
    l1: Leg
    l2: Leg
    dead: bool
    other_word: str = "before"
    limit_x: tuple[str, str] = (f"{LIMIT_X[0]:.2f}%", f"{LIMIT_X[1]:.2f}%")
    eighty_x: tuple[str, str] = (f"{EIGHTY_X[0]:.2f}%", f"{EIGHTY_X[1]:.2f}%")

    @property
    def has_before(self) -> bool:
        """Whether an earlier bar is drawn under this one."""
        return self.l1.before is not None or self.l2.before is not None


def leg_bar(
    *,
    l1_a: float,
    l2_a: float,
    limit_a: float,
    before_a: tuple[float, float] | None = None,
    dead: bool = False,
    band_a: tuple[tuple[float, float], tuple[float, float]] | None = None,
    other_word: str = "before",
) -> LegBar:
    """Lay out a bar.

    Parameters
    ----------
    l1_a, l2_a : float   Amps on each leg, >= 0. [A]
    limit_a : float      The limit of each leg, > 0. [A]
    before_a : pair      Amps before a change, drawn dashed underneath. [A]
    dead : bool          No supply: hatched, no figures.
    band_a : two pairs   Median and 95th of many draws on each leg, bracketed underneath. [A]
    other_word : str     What ``before_a`` is called: "before", or "then" for what would be.

    >>> bar = leg_bar(l1_a=50, l2_a=120, limit_a=100)
    >>> (bar.l1.over, bar.l2.over, bar.l2.past.width_pct)
    (False, True, '7.14%')
    """
    legs = (
        _leg(l1_a, limit_a, -1, before_a[0] if before_a else None, band_a[0] if band_a else None),
        _leg(l2_a, limit_a, +1, before_a[1] if before_a else None, band_a[1] if band_a else None),
    )
    text = (
        f"dead, limit {rating(limit_a)} A"
        if dead
        else f"L1 {amps(l1_a)} A, L2 {amps(l2_a)} A, limit {rating(limit_a)} A"
    )
    if before_a:
        text += f"; {other_word} L1 {amps(before_a[0])} A, L2 {amps(before_a[1])} A"
    if band_a:
        text += "; of many draws, " + ", ".join(
            f"{leg} median {amps(median)} A, 95th {amps(p95)} A"
            for leg, (median, p95) in zip(("L1", "L2"), band_a, strict=True)
        )
    return LegBar(text, rating(limit_a), legs[0], legs[1], dead, other_word)


def _reach(amps_a: float, limit_a: float) -> float:
    share = amps_a / limit_a if limit_a > 0 else 0.0
    return _HALF * min(max(share, 0.0) * 100 / SCALE_PERCENT, 1.0)


def _stretch(start: float, end: float, side: int) -> Stretch:
    return Stretch(_HALF - end if side < 0 else _HALF + start, end - start)


def _leg(
    amps_a: float,
    limit_a: float,
    side: int,
    before_a: float | None,
    band_a: tuple[float, float] | None,
) -> Leg:
    reach, edge = _reach(amps_a, limit_a), _reach(limit_a, limit_a)
    over = amps_a > limit_a
    return Leg(
        amps=amps(amps_a),
        within=_stretch(0, min(reach, edge), side),
        past=_stretch(edge, reach, side) if over else None,
        before=_stretch(0, _reach(before_a, limit_a), side) if before_a is not None else None,
        before_amps=amps(before_a) if before_a is not None else "",
        over=over,
        off_scale=amps_a > limit_a * SCALE_PERCENT / 100,
        band=(
            _stretch(_reach(band_a[0], limit_a), _reach(band_a[1], limit_a), side)
            if band_a and band_a[1] > 0
            else None
        ),
    )
