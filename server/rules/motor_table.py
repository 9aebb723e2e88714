"""Full-load amps of a motor by the table of its horsepower."""

from __future__ import annotations

from server.rules.tables import read_toml

_COLUMN_V = {120.0: 115, 208.0: 208, 240.0: 230}
"""The column of the table for the volts a motor is fed at (430.6(A)(1)). [V]"""
_SAME_HP = 0.01


def table_full_load_a(horsepower: float, fed_v: float) -> float | None:
    """Full-load amps of a single-phase motor by Table 430.248, None for a size not in it. [A]

    ``fed_v`` is 120, 208 or 240.

    >>> table_full_load_a(1.0, 240.0), table_full_load_a(1.0, 208.0), table_full_load_a(0.9, 240.0)
    (8.0, 8.8, None)
    """
    table = read_toml("motors")
    column = table["table"]["volts"].index(_COLUMN_V[fed_v])
    for row in table["rows"]:
        if abs(row["hp"] - horsepower) < _SAME_HP:
            return float(row["full_load_a"][column])
    return None
