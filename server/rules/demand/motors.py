"""Motors wired in place: by the table of their horsepower, or by their plates."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from server.rules.demand.inputs import Load
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V
from server.rules.motor_table import (
    horsepower_words,
    interpolated_full_load_a,
    largest_hp,
    table_full_load_a,
)


def by_table(loads: Iterable[Load], volts: float, rules: Rulebook) -> tuple[Load, ...]:
    """Loads with each motor of known horsepower at its table amps, or its plate where that is more.

    ``volts`` lie between the legs. The table is asked for by 220.50 through 430.24 and
    430.6(A)(1); what has a plug is a listed appliance and goes by its plate (its exception 3).

    >>> from server.rules.editions import rulebook
    >>> pump = Load("Pump", "fastened", 1474, motor_va=1474, horsepower=1.0, wired_motor=True)
    >>> by_table([pump], 240, rulebook("2023"))[0].va
    1920.0
    """
    return tuple(_by_table(load, volts, rules) for load in loads)


def by_plate(load: Load, volts: float, rules: Rulebook) -> str:
    """What to say of a motor that a method counts by its plate, empty for what is none."""
    found = _table(load, volts)
    if found is None or found[1] <= load.va:
        return load.note
    figure = rules.figure("motor_by_table")
    words = f"by its plate, as this method asks; {_sum(load, found)} ({figure.cite.section})"
    return f"{load.note}; {words}" if load.note else words


def _by_table(load: Load, volts: float, rules: Rulebook) -> Load:
    if load.corded_motor:
        return _corded(load, volts, rules)
    found = _table(load, volts)
    if found is None:
        return _past_table(load, rules)
    section = rules.figure("motor_by_table").cite.section
    table_va = found[1]
    if table_va > load.va:
        words = f"{_sum(load, found)} ({section}); its plate: {load.va:,.0f} VA"
    else:
        words = f"by its plate, which is more: {_sum(load, found)} ({section})"
    note = f"{load.note}; {words}" if load.note else words
    larger = max(table_va, load.va)
    return replace(load, va=larger, motor_va=larger, note=note, wired_motor=False)


def _past_table(load: Load, rules: Rulebook) -> Load:
    """A wired motor larger than the table has, which says that it counts by its plate."""
    if not load.wired_motor or (load.horsepower or 0.0) <= largest_hp():
        return load
    section = rules.figure("motor_by_table").cite.section
    words = (
        f"by its plate: Table 430.248 ends at {largest_hp():g} hp ({section}); ask its maker for "
        "full-load amps, or whether it has three phases"
    )
    return replace(load, note=f"{load.note}; {words}" if load.note else words)


def _corded(load: Load, volts: float, rules: Rulebook) -> Load:
    """A motor taken to have a plug, which says what it would count for wired in place."""
    found = _table(replace(load, wired_motor=True), volts)
    if found is None or found[1] <= load.va:
        return load
    section = rules.figure("motor_by_table").cite.section
    words = (
        f"by its plate, taken as plugged in ({section} exception 3); wired in place by "
        f"{_sum(load, found)}"
    )
    return replace(load, note=f"{load.note}; {words}" if load.note else words)


def _table(load: Load, volts: float) -> tuple[float, float, float] | None:
    """Amps, volt-amperes and volts of the table; None for what is no such motor."""
    if not load.wired_motor or load.horsepower is None:
        return None
    fed_v = LEG_V if load.single_leg else volts
    amps = interpolated_full_load_a(load.horsepower, fed_v)
    return None if amps is None else (amps, amps * fed_v, fed_v)


def _sum(load: Load, found: tuple[float, float, float]) -> str:
    amps, va, fed_v = found
    plate = horsepower_words(load.horsepower or 0.0)
    if table_full_load_a(load.horsepower or 0.0, fed_v) is None:
        plate = f"between its rows for {plate}"
    return f"Table 430.248, {plate} hp: {round(amps, 2):g} A × {fed_v:g} V = {va:,.0f} VA"
