"""Locked-rotor amps of a motor: told, by the letter of its plate, or by its horsepower."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from server.domain.appliance import Appliance
from server.physics.motor import amps_of_kva, locked_rotor_kva
from server.rules.tables import read_toml

_SAME_HP = 0.01


@dataclass(frozen=True)
class HeldRotor:
    """Amps of a motor at standstill, at the volts it is made for, and where they come from.

    ``read`` is False where the table stands for a plate that was not read. [A]
    """

    amps: float
    basis: str
    read: bool = True


def held_rotor(appliance: Appliance) -> HeldRotor | None:
    """Amps of a motor at standstill, without a soft starter; None where nothing tells them.

    Those that are told; else the most that the code letter lets a horsepower take (Table
    430.7(B)); else Table 430.251(A) for its horsepower.
    """
    if appliance.locked_rotor_a is not None:
        return HeldRotor(appliance.locked_rotor_a, "locked-rotor amps")
    horsepower, volts = appliance.horsepower, appliance.volts
    if appliance.load_type != "motor" or horsepower is None:
        return None
    if appliance.code_letter is not None:
        kva = locked_rotor_kva(horsepower=horsepower, kva_per_hp=_letters()[appliance.code_letter])
        basis = f"code letter {appliance.code_letter}, {horsepower:g} hp"
        return HeldRotor(amps_of_kva(kva=kva, volts=volts), basis)
    table_a = table_locked_rotor_a(horsepower, volts)
    if table_a is None:
        return None
    return HeldRotor(table_a, f"Table 430.251(A), {horsepower:g} hp, a guess", read=False)


@cache
def _letters() -> dict[str, float]:
    return {r["letter"]: float(r["most_kva_per_hp"]) for r in read_toml("motors")["code_letters"]}


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
