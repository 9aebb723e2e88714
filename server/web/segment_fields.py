"""What the form of a feeder offers for a length of wire, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from server.domain.errors import InputError, Problem
from server.rules.tables import insulation, raceway, raceway_kind
from server.rules.wiring.ampacity import ambient_factor
from server.web.bench_fields import KINDS, LETTERS, SIZES
from server.web.words import Options

INSULATIONS: Options = (("", "not read"), *LETTERS)
HOTS: Options = (("", "not told"), *SIZES)
NEUTRALS: Options = (("", "as large as the hot"), *SIZES)
NO_NEUTRALS: Options = (("", "none, as above"), *SIZES)
GROUNDS: Options = (("", "none told"), *SIZES)
PLACES: Options = (("off", "dry or damp"), ("on", "wet or buried"))
TERMINALS: Options = (("", "not read"), ("60", "60 °C"), ("75", "75 °C"))


def with_told(options: Options, told: str) -> Options:
    """The options with what stands in the field, where it is none of them.

    >>> with_told((("8", "8 AWG"),), "#8")
    (('8', '8 AWG'), ('#8', '#8, not in the tables'))
    """
    if told in dict(options):
        return options
    if told.upper() in dict(options):
        return (*options, (told, told.upper()))
    return (*options, (told, f"{told}, not in the tables"))


def unknown_wire(at: int, row: Mapping[str, Any]) -> Iterator[Problem]:
    """What the tables do not hold of a typed length: insulation, place, the size of a raceway."""
    kind = raceway_kind(str(row.get("raceway", "")))
    looked_up: dict[str, Callable[[str], object]] = {
        "insulation": insulation,
        "ambient_f": _lies_in,
    }
    if kind:
        looked_up["raceway_trade_size"] = lambda size: raceway(kind, size)
    for name, look_up in looked_up.items():
        if name in row:
            try:
                look_up(str(row[name]))
            except InputError as error:
                yield Problem(f"segments.{at}.{name}", str(error))
    if row.get("raceway_trade_size") and not kind:
        words = f"Its fill is worked out for {', '.join(name for _, name in KINDS)}."
        yield Problem(f"segments.{at}.raceway", f"{words} Else leave its trade size empty.")


def _lies_in(ambient_f: str) -> None:
    """Refuse air in which no wire may lie. What is no number is told by the part itself."""
    try:
        fahrenheit = float(ambient_f)
    except ValueError:
        return
    ambient_factor(ambient_c=(fahrenheit - 32.0) / 1.8, column=90)
