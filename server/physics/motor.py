"""Motors: kilovolt-amperes and amps, running and with the rotor held."""

from __future__ import annotations


def locked_rotor_kva(*, horsepower: float, kva_per_hp: float) -> float:
    """Apparent power at standstill. [kVA]

    >>> round(locked_rotor_kva(horsepower=20, kva_per_hp=6.29), 1)
    125.8
    """
    return horsepower * kva_per_hp


def amps_of_kva(*, kva: float, volts: float, phases: int = 1) -> float:
    """Line amps of a load. [A]

    >>> round(amps_of_kva(kva=125.8, volts=460, phases=3))
    158
    >>> round(amps_of_kva(kva=31.45, volts=230))
    137
    """
    return kva * 1000.0 / (volts * (3.0**0.5 if phases == 3 else 1.0))


def group_amps(*, largest_a: float, others_a: float, largest_factor: float) -> float:
    """Amps of several motors and loads: the largest motor raised, the rest as they are. [A]

    >>> group_amps(largest_a=40, others_a=17, largest_factor=1.25)
    67.0
    """
    return largest_factor * largest_a + others_a


def start_dip(*, start_kva: float, set_kva: float, reactance_pu: float) -> float:
    """Share of a set's volts lost while a motor starts.

    start / (start + set / X'): the start as an impedance behind the set's transient reactance on
    its own rating, both taken as reactances (common practice, no source).

    >>> [round(start_dip(start_kva=s, set_kva=20, reactance_pu=0.25), 2) for s in (18, 36)]
    [0.18, 0.31]
    """
    return start_kva / (start_kva + set_kva / reactance_pu)


def overlaps_per_h(
    *, first_per_h: float, second_per_h: float, first_s: float, second_s: float
) -> float:
    """How often two motors that start by chance start at once. [1/h]

    lambda1 lambda2 (d1 + d2) / 3600 for independent (Poisson) starts.

    >>> round(1 / overlaps_per_h(first_per_h=2, second_per_h=2, first_s=0.5, second_s=0.5))
    900
    """
    return first_per_h * second_per_h * (first_s + second_s) / 3600.0
