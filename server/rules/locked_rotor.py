"""Locked-rotor amps of a motor whose plate was not read."""

from __future__ import annotations

from server.rules.tables import read_toml

_SAME_HP = 0.01


def table_locked_rotor_a(horsepower: float, volts: int) -> float | None:
    """Locked-rotor amps of a single-phase motor by Table 430.251(A). [A]

    ``volts`` is 120 or 240, read in the columns of 115 and 230. None for a size it does not have;
    it begins at 1/2 hp.

    >>> table_locked_rotor_a(1.0, 120), table_locked_rotor_a(1.0, 240)
    (96.0, 48.0)
    >>> table_locked_rotor_a(0.25, 120) is None
    True
    """
    table = read_toml("motors")["locked_rotor"]
    column = table["volts"].index(230 if volts == 240 else 115)
    for row in table["rows"]:
        if abs(row["hp"] - horsepower) < _SAME_HP:
            return float(row["amps"][column])
    return None
