"""The parts of a one-line drawing: what a template puts on paper, with every place worked out."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.topology import BusKind
from server.web.drawing.columns import Column, Row
from server.web.drawing.legbar import LegBar

SHEET_W = 1216.0
"""Width of the sheet that a small site is drawn for. [px]"""


@dataclass(frozen=True)
class Wire:
    """A conductor. ``text`` stands on its track at (``text_x``, ``text_y``)."""

    path: str
    live: bool
    weight: float
    text: str = ""
    text_x: float = 0.0
    text_y: float = 0.0
    over: bool = False
    breaker: tuple[float, float] | None = None


@dataclass(frozen=True)
class SourceMark:
    """A service, generator or solar array on top of the sheet."""

    x: float
    kind: str
    name: str
    note: str
    live: bool
    bar: LegBar | None
    anchor: str


@dataclass(frozen=True)
class SwitchMark:
    """A switch: two inputs above, the common below, the blade between."""

    x: float
    y: float
    name: str
    live: bool
    left_chosen: bool
    left_live: bool
    right_live: bool
    left_name: str
    right_name: str
    one_input: bool
    bar: LegBar | None
    anchor: str


@dataclass(frozen=True)
class RowMark:
    """A row under a bar with its place."""

    y: float
    row: Row


@dataclass(frozen=True)
class ColumnMark:
    """A bus bar and the rows under it."""

    x: float
    width: float
    drop: float
    kind: BusKind
    column: Column
    rows: tuple[RowMark, ...]
    rail: str
    anchor: str

    @property
    def name_chars(self) -> int:
        """How many characters of a name fit before the breaker column."""
        return max(int((self.width - 190) / 7.3), 12)


@dataclass(frozen=True)
class OneLine:
    """The whole drawing."""

    width: float
    height: float
    bar_y: float
    wires: tuple[Wire, ...]
    sources: tuple[SourceMark, ...]
    switches: tuple[SwitchMark, ...]
    columns: tuple[ColumnMark, ...]
    title: str
    minute: str

    @property
    def shown_px(self) -> int:
        """Width on screen: its own for a small site, never so small that it cannot be read."""
        return round(self.width if self.width < SHEET_W else max(SHEET_W, self.width * 0.82))
