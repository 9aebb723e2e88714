"""Which figures of a set or of solar were told, where the rest of them is a guess."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from server.domain.base import FigureSource
from server.domain.supply import Generator, SolarArray

WORDS: Mapping[str, str] = {
    "rated_kw": "size",
    "fuel": "fuel",
    "tank": "tank",
    "dc_kw": "modules",
    "ac_kw": "inverter",
    "breaker_a": "breaker",
}
"""What each figure that can be told by itself is called."""


def figures_of(part: Generator | SolarArray) -> tuple[str, ...]:
    """The figures of a part that can be told by themselves; a tank only where there is one."""
    if isinstance(part, SolarArray):
        return ("dc_kw", "ac_kw", "breaker_a")
    return ("rated_kw", "fuel", *(("tank",) if part.tank is not None else ()))


def source_of(part: Generator | SolarArray, figure: str) -> FigureSource:
    """Where one figure of a part is from: as its others, unless it was told by itself."""
    if part.figure_source == "guess" and figure in part.told:
        return "nameplate"
    return part.figure_source


def guessed_of(part: Generator | SolarArray) -> tuple[str, ...]:
    """The figures of a part that are guesses, in words; all of them where none was told."""
    return tuple(WORDS[f] for f in figures_of(part) if source_of(part, f) == "guess")


def told_of(part: Generator | SolarArray) -> tuple[str, ...]:
    """The figures, in words, that were told while others of the part are guesses."""
    if part.figure_source != "guess":
        return ()
    return tuple(WORDS[f] for f in figures_of(part) if f in part.told)


def still_told(before: Mapping[str, Any], after: Generator | SolarArray) -> tuple[str, ...]:
    """What stays told of a part that was changed; ``before`` are the told figures as they were.

    A figure that was changed is what its source now says of all: a guess, or read.
    """
    if after.figure_source != "guess":
        return ()
    document = after.model_dump()
    return tuple(f for f in after.told if before[f] == document[f])
