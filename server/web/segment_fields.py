"""What the form of a feeder offers for a length of wire, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from server.domain.errors import InputError, Problem
from server.rules.tables import insulation, raceway, raceway_kind
from server.web.bench_fields import LETTERS, SIZES
from server.web.words import Options

INSULATIONS: Options = (("", "not read"), *LETTERS)
NEUTRALS: Options = (("", "as large as the hots"), *SIZES)
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
    """What the tables do not hold of a typed length: its insulation, the size of its raceway."""
    kind = raceway_kind(str(row.get("raceway", "")))
    looked_up: dict[str, Callable[[str], object]] = {"insulation": insulation}
    if kind:
        looked_up["raceway_trade_size"] = lambda size: raceway(kind, size)
    for name, look_up in looked_up.items():
        if name in row:
            try:
                look_up(str(row[name]))
            except InputError as error:
                yield Problem(f"segments.{at}.{name}", str(error))
