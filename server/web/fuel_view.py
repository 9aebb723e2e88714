"""What a set burns at five loads, for its own page."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.fuel_words import therms_words
from server.domain.supply import Generator
from server.domain.working import Working
from server.simulate.burn import burn_at, curve_of, tank_lasts
from server.web import format as fmt

SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True)
class BurnRow:
    """One load, what it burns an hour, and how long a filled tank carries it."""

    load: str
    load_kw: str
    burn: str
    lasts: str
    workings: tuple[Working, ...]


@dataclass(frozen=True)
class BurnView:
    """The burn of one set; ``guess`` where three points of its sheet are not known."""

    rows: tuple[BurnRow, ...]
    unit: str
    guess: bool
    source: str


def burnt_words(used: float, unit: str) -> str:
    """Fuel in the unit it is worked out in, natural gas as it is billed beside.

    >>> burnt_words(4.2, "gal"), burnt_words(1234.0, "kBtu")
    ('4.2 gal', '1,234.0 kBtu, 12.3 therms')
    """
    billed = f", {therms_words(used)}" if unit == "kBtu" else ""
    return f"{fmt.number(used)} {unit}{billed}"


def burn_view(generator: Generator) -> BurnView:
    """The burn of a set at no load, a quarter, half, three quarters and full."""
    rows, guess = [], curve_of(generator).guess
    for share in SHARES:
        load_kw = share * generator.rated_kw
        burn, lasts = burn_at(generator, load_kw), tank_lasts(generator, load_kw)
        rows.append(
            BurnRow(
                load="no load" if share == 0.0 else f"{fmt.percent(100 * share)} %",
                load_kw=fmt.worked_value(load_kw, "kW"),
                burn=shown(burn, guess=guess),
                lasts=fmt.number(lasts.value, 0) if lasts else "",
                workings=(burn,) if lasts is None else (burn, lasts),
            )
        )
    return BurnView(tuple(rows), burn.unit, guess, burn.source)


def shown(burn: Working, *, guess: bool) -> str:
    """A burn as the table has it: a guess in no more digits than it is worth."""
    return fmt.guessed_value(burn.value) if guess else fmt.worked_value(burn.value, burn.unit)
