"""What one length of wire carries where it lies."""

from __future__ import annotations

from server.domain.errors import InputError
from server.domain.supply import Feeder, Segment
from server.rules.editions import Rulebook
from server.rules.tables import Column
from server.rules.wiring.ampacity import Ampacity, ampacity, terminal_column

TABLE_AMBIENT_C = 30.0
TABLE_CURRENT_CARRYING = 3
"""What the ampacity table stands on."""


def segment_ampacity(segment: Segment, *, terminal_c: Column, rules: Rulebook) -> Ampacity:
    """Ampacity of a segment where it lies, with terminals of this column.

    Raises
    ------
    InputError   For wire, insulation or a place outside the tables.
    """
    return ampacity(
        size=segment.size,
        metal=segment.metal,
        letters=segment.insulation,
        sets=segment.sets,
        ambient_c=ambient_c(segment),
        current_carrying=segment.current_carrying or TABLE_CURRENT_CARRYING,
        wet=segment.wet,
        terminal_c=terminal_c,
        rules=rules,
    )


def ambient_c(segment: Segment) -> float:
    """Air around a segment, the table's own where it is not told. [°C]"""
    told = segment.ambient_f
    return TABLE_AMBIENT_C if told is None else (told - 32.0) / 1.8


def feeder_wire_a(feeder: Feeder, device_a: float | None, rules: Rulebook) -> float | None:
    """What the wire of a feeder carries: the least of its lengths and of the amps entered. [A]

    Terminals that were not read count by the device (110.14(C)); None where nothing is told.
    """
    known = [] if feeder.ampacity_a is None else [feeder.ampacity_a]
    for segment in feeder.segments:
        column = terminal_column(
            circuit_a=device_a or 0.0, marked_c=segment.terminal_c, rules=rules
        )
        try:
            known.append(segment_ampacity(segment, terminal_c=column, rules=rules).final_a)
        except InputError:
            return feeder.ampacity_a
    return min(known, default=None)
