"""How many amps a conductor may carry where it lies, and at its terminals."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from server.domain.errors import InputError
from server.domain.working import Term, Working
from server.rules.editions import Rulebook, table_cite
from server.rules.ranges import within
from server.rules.tables import (
    COLUMNS,
    Column,
    Insulation,
    Metal,
    conductor,
    insulation,
    read_toml,
)

MOST_KEPT = 4096
"""Every size is tried for every run, most of them in the same place."""


@dataclass(frozen=True)
class Ampacity:
    """Ampacity of one run of parallel sets.

    ``adjusted_a`` is the insulation's own column after ambient and bundling; ``terminal_a`` is the
    terminal column without them; ``final_a`` is the smaller, for all sets together.
    """

    size: str
    metal: Metal
    sets: int
    insulation: str
    column: Column
    terminal_c: Column
    ambient_factor: float
    bundle_factor: float
    adjusted_a: float
    terminal_a: float
    final_a: float
    working: Working

    @property
    def limited_by(self) -> str:
        """``terminal`` or ``place``, whichever sets the final figure."""
        return "terminal" if self.terminal_a <= self.adjusted_a else "place"


def ambient_factor(*, ambient_c: float, column: Column) -> float:
    """Correction for the ambient temperature, from the table's bands.

    >>> ambient_factor(ambient_c=48.9, column=90), ambient_factor(ambient_c=30, column=75)
    (0.82, 1.0)

    Raises
    ------
    InputError   Where this insulation is not permitted at that temperature.
    """
    rows = read_toml("ambient")["rows"]
    allowed = [r for r in rows if r["factor"][COLUMNS.index(column)] > 0]
    coldest, hottest = -40.0, float(allowed[-1]["ambient_c"])
    if not coldest <= ambient_c <= hottest:
        raise InputError(
            f"Wire rated {column} °C lies in air from {both_degrees(coldest)} to "
            f"{both_degrees(hottest)}; {both_degrees(ambient_c)} was given.",
            field="ambient_c",
        )
    row = next(r for r in rows if ambient_c <= r["ambient_c"])
    return float(row["factor"][COLUMNS.index(column)])


def both_degrees(celsius: float) -> str:
    """A temperature in Fahrenheit with Celsius beside it.

    >>> both_degrees(30), both_degrees(-40)
    ('86 °F (30 °C)', '−40 °F (−40 °C)')
    """
    fahrenheit = f"{round(celsius * 1.8 + 32.0, 1):g} °F ({round(celsius, 1):g} °C)"
    return fahrenheit.replace("-", "−")


def bundle_factor(current_carrying: int) -> float:
    """Adjustment for conductors that lie together.

    >>> bundle_factor(3), bundle_factor(9)
    (1.0, 0.7)
    """
    rows = read_toml("bundling")["rows"]
    within(current_carrying, 1, rows[-1]["count"], field="current_carrying")
    return float(next(r["factor"] for r in rows if current_carrying <= r["count"]))


def current_carrying_count(
    *, hots: int, neutral: bool, wye: bool = False, nonlinear: bool = False, two_wire: bool = False
) -> int:
    """Conductors that count for bundling; a ground never does.

    The neutral counts with a two-wire circuit, on three wires of a wye, or where most of its load
    is nonlinear; carrying only the unbalance of 120/240 V it does not (310.15(E)).

    >>> current_carrying_count(hots=2, neutral=True)
    2
    >>> current_carrying_count(hots=2, neutral=True, wye=True)
    3
    """
    return hots + int(neutral and (wye or nonlinear or two_wire))


def terminal_column(*, circuit_a: float, marked_c: int | None, rules: Rulebook) -> Column:
    """The column of the terminals: as marked, else 60 °C up to 100 A and 75 °C above.

    >>> from server.rules.editions import rulebook
    >>> terminal_column(circuit_a=60, marked_c=None, rules=rulebook("2023"))
    60
    """
    low = circuit_a <= rules.value("terminal_60_up_to_a")
    usual = rules.value("terminal_low_c" if low else "terminal_high_c")
    return as_column(usual if marked_c is None else marked_c)


def as_column(celsius: float) -> Column:
    """The column of a temperature.

    >>> as_column(75.0)
    75

    Raises
    ------
    InputError   For any but 60, 75 and 90 °C.
    """
    for column in COLUMNS:
        if column == celsius:
            return column
    raise InputError(
        f"Terminals are marked 60, 75 or 90 °C; {celsius:g} was given.", field="terminal_c"
    )


def ampacity(
    *,
    size: str,
    metal: Metal,
    letters: str = "THWN-2",
    sets: int = 1,
    ambient_c: float = 30.0,
    current_carrying: int = 3,
    wet: bool = False,
    terminal_c: Column = 75,
    rules: Rulebook,
) -> Ampacity:
    """Ampacity of a run.

    Ambient and bundling start from the insulation's own column (the wet rating where wet); the
    result is limited by the terminals' column and, for cables such as NM-B, by a final column.

    >>> from server.rules.editions import rulebook
    >>> a = ampacity(size="12", metal="copper", letters="THHN", current_carrying=9,
    ...     rules=rulebook("2023"))
    >>> round(a.adjusted_a, 1), a.final_a == a.adjusted_a
    (21.0, True)

    Raises
    ------
    InputError   For a size, metal, insulation or temperature outside the tables.
    """
    return _ampacity(
        size=size,
        metal=metal,
        letters=letters,
        sets=sets,
        ambient_c=ambient_c,
        current_carrying=current_carrying,
        wet=wet,
        terminal_c=terminal_c,
        rules=rules,
    )


@lru_cache(maxsize=MOST_KEPT)
def _ampacity(
    *,
    size: str,
    metal: Metal,
    letters: str,
    sets: int,
    ambient_c: float,
    current_carrying: int,
    wet: bool,
    terminal_c: Column,
    rules: Rulebook,
) -> Ampacity:
    kind = insulation(letters)
    within(sets, 1, 6, field="sets")
    wire = conductor(size)
    if sets > 1 and wire.cmil < rules.value("parallel_least_cmil"):
        raise InputError(
            f"Conductors in parallel start at 1/0 "
            f"({rules.figure('parallel_least_cmil').cite.section}); {size} was given.",
            field="sets",
        )
    if not kind.made_in(size, metal):
        ends = kind.sizes[metal]
        raise InputError(
            f"{kind.id} of {metal} comes in {ends[0]} to {ends[1]} AWG ({kind.sizes_section}); "
            f"{size} was given.",
            field="size",
        )
    column = kind.rating_c
    if wet:
        column = wet_column(kind, rules)
    ambient = ambient_factor(ambient_c=ambient_c, column=column)
    bundle = bundle_factor(current_carrying)
    base = wire.ampere(metal, column)
    adjusted = base * ambient * bundle * sets
    last: Column = min(terminal_c, kind.final_c)
    terminal = wire.ampere(metal, last) * sets
    final = min(adjusted, terminal)
    cites = [table_cite(n, rules.edition).words for n in ("ampacity", "ambient", "bundling")]
    return Ampacity(
        size=size,
        metal=metal,
        sets=sets,
        insulation=kind.id,
        column=column,
        terminal_c=last,
        ambient_factor=ambient,
        bundle_factor=bundle,
        adjusted_a=adjusted,
        terminal_a=terminal,
        final_a=final,
        working=Working(
            title=f"Ampacity of {sets if sets > 1 else ''} {size} {metal}".replace("  ", " "),
            value=final,
            unit="A",
            formula="smaller of base × ambient × bundling × sets and terminal column × sets",
            terms=(
                Term(f"{column} °C column", base, "A", cites[0]),
                Term("Ambient", ambient, "", cites[1]),
                Term("Bundling", bundle, "", cites[2]),
                Term("Sets", float(sets), ""),
                Term("In its place", adjusted, "A"),
                Term(
                    f"Terminals, {last} °C column",
                    terminal,
                    "A",
                    rules.figure("terminal_60_up_to_a").cite.words,
                ),
            ),
            source=cites[0],
        ),
    )


def wet_column(kind: Insulation, rules: Rulebook) -> Column:
    """The column of an insulation in wet and underground places.

    Raises
    ------
    InputError   For one that is not for such places.
    """
    if not kind.wet_c:
        raise InputError(
            f"{kind.id} is not for wet or underground places "
            f"({table_cite('insulation', rules.edition).section}, {kind.wet_section}); "
            f"use {kind.instead}.",
            field="insulation",
        )
    return as_column(kind.wet_c)
