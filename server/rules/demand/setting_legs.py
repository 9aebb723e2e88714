"""The legs on which the loads of a manager's setting lie, each held at the setting."""

from __future__ import annotations

from collections.abc import Iterable

from server.rules.demand.amp_lines import Continuous, of_wye
from server.rules.demand.inputs import Load
from server.rules.leg import LEG_V

LegsA = tuple[float, float]


def plates_a(loads: Iterable[tuple[Load, float]], volts: float) -> LegsA:
    """Amps on L1 and L2 of loads at what each of them counts for. [A]

    Parameters
    ----------
    loads : iterable of (Load, VA)   What is held, each with the VA that one of it counts for.
    volts : float                    Volts between the legs; a source of one leg has LEG_V. [V]

    Examples
    --------
    Two heaters of 1,500 VA on L1 and a charger of 4,800 VA between the legs:

    >>> heaters = Load("Heater", "individual", 1500, quantity=2, volts=120, leg="L1")
    >>> plates_a([(heaters, 1500), (Load("Charger", "vehicle", 4800), 4800)], 240)
    (45.0, 20.0)
    """
    on = {"L1": 0.0, "L2": 0.0}
    both = 0.0
    for load, each_va in loads:
        va = each_va * load.quantity
        over = volts if of_wye(volts) else load.volts
        if volts <= LEG_V:
            both += va / volts
        elif load.single_leg and load.leg is not None:
            on[load.leg] += va / load.volts
        elif load.single_leg:
            both += va / (2 * LEG_V)
        elif load.leg is not None and load.neutral_va:
            part = load.neutral_va * load.quantity
            on[load.leg] += part / LEG_V
            both += (va - part) / over
        else:
            both += va / over
    return both + on["L1"], both + on["L2"]


def held_at(legs_a: LegsA, setting_a: float) -> LegsA:
    """The same held at a setting on each leg, which is what a manager lets pass (220.70). [A]"""
    return min(legs_a[0], setting_a), min(legs_a[1], setting_a)


def binds(legs_a: LegsA, setting_a: float) -> bool:
    """Whether a setting holds anything off: all that is on one of the legs comes to it."""
    return max(legs_a) >= setting_a - 1e-9


def as_continuous(legs_a: LegsA, volts: float) -> Continuous:
    """Amps of both legs as what runs for hours, what is alike on both between them. [VA]"""
    if volts <= LEG_V:
        return Continuous(between_va=max(legs_a) * volts)
    alike = min(legs_a)
    return Continuous(alike * volts, (legs_a[0] - alike) * LEG_V, (legs_a[1] - alike) * LEG_V)
