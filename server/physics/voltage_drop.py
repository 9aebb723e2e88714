"""Volts lost along a single-phase run, out and back."""

from __future__ import annotations

import math
from collections.abc import Iterable

OUT_AND_BACK = 2.0


def drop_v(*, amps: float, ohm_per_kft: float, run_ft: float, wires: float = OUT_AND_BACK) -> float:
    """Volts dropped over a run of one size. [V]

    wires x amps x ohm/kft x one-way feet / 1000. ``wires`` is 2 for a two-wire circuit or the two
    hots of a balanced three-wire one.

    >>> round(drop_v(amps=80, ohm_per_kft=0.245, run_ft=150), 2)
    5.88
    """
    for name, value in (("amps", amps), ("ohm_per_kft", ohm_per_kft), ("run_ft", run_ft)):
        if not math.isfinite(value) or value < 0:
            raise ValueError(f"{name} must be 0 or more, not {value:g}")
    return wires * amps * ohm_per_kft * run_ft / 1000.0


def drop_over_segments_v(*, amps: float, segments: Iterable[tuple[float, float]]) -> float:
    """Volts dropped over (ohm/kft, one-way ft) segments in series. [V]

    >>> round(drop_over_segments_v(amps=100, segments=[(0.1, 150), (0.0847, 130)]), 3)
    5.202
    """
    return sum(drop_v(amps=amps, ohm_per_kft=ohm, run_ft=ft) for ohm, ft in segments)


def longest_run_ft(*, amps: float, ohm_per_kft: float, allowed_v: float) -> float:
    """One-way feet at which the drop reaches ``allowed_v``; inf at no current. [ft]

    >>> round(longest_run_ft(amps=80, ohm_per_kft=0.245, allowed_v=7.2), 1)
    183.7
    """
    per_ft = drop_v(amps=amps, ohm_per_kft=ohm_per_kft, run_ft=1.0)
    return allowed_v / per_ft if per_ft else math.inf


def circular_mils_drop_v(*, amps: float, k_ohm: float, cmil: float, run_ft: float) -> float:
    """The same drop from a resistivity: 2 K I L / cmil. [V]

    >>> round(circular_mils_drop_v(amps=16, k_ohm=12.9, cmil=6530, run_ft=70), 2)
    4.43
    """
    return OUT_AND_BACK * k_ohm * amps * run_ft / cmil
