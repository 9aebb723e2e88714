"""Amps entered for the wire of a feeder, which a run holds, against what the tables give."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from server.domain.errors import InputError
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Feeder, Segment
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.tables import Column
from server.rules.wiring.ampacity import as_column
from server.rules.wiring.feeder import FeederWiring
from server.rules.wiring.segment import segment_ampacity
from server.rules.words import listed


@dataclass(frozen=True)
class _Typed:
    """What is entered above the tables for one wire; equal for feeders that say the same.

    ``above`` holds the part, the amps entered and those of the tables.
    """

    wires: tuple[tuple[str, str, str], ...]
    above: tuple[tuple[str, float, float], ...]
    holds_if_read: bool


def typed_checks(site: Site, wiring: Iterable[FeederWiring], rules: Rulebook) -> Iterator[Finding]:
    """Feeders whose entered amps, of hots or neutral, are above those of their size and place.

    A note where terminals that were not read would hold the entered amps once marked 75 °C.
    Feeders of the same wire with the same amps entered are one finding, at the first of them.
    """
    feeders = {f.id: f for f in site.feeders}
    same: dict[_Typed, list[FeederWiring]] = {}
    for one in wiring:
        found = _typed(one, feeders[one.feeder_id], rules)
        if found is not None:
            same.setdefault(found, []).append(one)
    for typed, ones in same.items():
        above = list(typed.above)
        several = len(ones) > 1
        if not typed.holds_if_read:
            why = ""
        elif several:
            why = ": their terminals were not read, and up to 100 A they count as 60 °C"
        else:
            why = ": its terminals were not read, and up to 100 A they count as 60 °C"
        verb = "are each" if several else "is"
        yield made(
            "typed-above-tables",
            "note" if typed.holds_if_read else "warning",
            ones[0].feeder_id,
            text=f"{listed([o.name for o in ones])} {verb} entered with {_words(above)}{why}. "
            "A run holds the amps entered, Wiring those of the tables.",
            mend=f"Read the marking of the lugs at both ends, or enter {_given(above)}."
            if typed.holds_if_read
            else f"Enter {_given(above)}, or correct the size.",
            figure=rules.figure("terminal_60_up_to_a"),
            value=above[0][1],
            limit=above[0][2],
            unit="A",
        )


def _typed(one: FeederWiring, feeder: Feeder, rules: Rulebook) -> _Typed | None:
    above: list[tuple[str, float, float]] = []
    holds_if_read = True
    for part, typed_a in (("wire", feeder.ampacity_a), ("neutral", feeder.neutral_ampacity_a)):
        found = None if typed_a is None else _tables_a(one, neutral=part == "neutral", rules=rules)
        if typed_a is None or found is None or typed_a <= found[0]:
            continue
        if one.whole_dwelling and _by_share(one, found[0], rules):
            continue
        above.append((part, typed_a, found[0]))
        holds_if_read = holds_if_read and typed_a <= found[1]
    if not above:
        return None
    wires = {(s.segment.size, s.segment.metal, s.segment.insulation) for s in one.segments}
    return _Typed(tuple(sorted(wires)), tuple(above), holds_if_read)


def _words(above: list[tuple[str, float, float]]) -> str:
    """Both figures, once where wire and neutral have the same."""
    if len({(typed, tables) for _, typed, tables in above}) == 1:
        parts = " and ".join(part for part, _, _ in above)
        above = [(parts, *above[0][1:])]
    return ", and ".join(
        f"{part} of {typed:g} A where the tables give {tables:g} A for size and place"
        for part, typed, tables in above
    )


def _given(above: list[tuple[str, float, float]]) -> str:
    """The figures of the tables to enter, each with its part where they differ."""
    if len({tables for _, _, tables in above}) == 1:
        return f"{above[0][2]:g} A"
    return " and ".join(f"{tables:g} A for the {part}" for part, _, tables in above)


def _by_share(one: FeederWiring, tables_a: float, rules: Rulebook) -> bool:
    """Whether 83 % of the device of a whole dwelling is within what the tables give."""
    if one.device_a is None:
        return False
    least, most = rules.value("dwelling_least_a"), rules.value("dwelling_most_a")
    return (
        least <= one.device_a <= most and tables_a >= rules.value("dwelling_share") * one.device_a
    )


def _tables_a(one: FeederWiring, *, neutral: bool, rules: Rulebook) -> tuple[float, float] | None:
    """Least of the segments as they are, and with unread terminals marked 75 °C. [A]

    None without a segment, and for a neutral outside the tables.
    """
    now: list[float] = []
    read: list[float] = []
    high = as_column(rules.value("terminal_high_c"))
    for part in one.segments:
        segment = part.segment
        if neutral and segment.neutral_size:
            segment = segment.model_copy(update={"size": segment.neutral_size})
        marked = segment.terminal_c
        column = part.ampacity.terminal_c
        try:
            now.append(_final_a(segment, column, rules))
            read.append(_final_a(segment, high if marked is None else column, rules))
        except InputError:
            return None
    return (min(now), min(read)) if now else None


def _final_a(segment: Segment, column: Column, rules: Rulebook) -> float:
    return segment_ampacity(segment, terminal_c=column, rules=rules).final_a
