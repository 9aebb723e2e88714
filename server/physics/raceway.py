"""Wires in a tube: how full, and whether three of them jam."""

from __future__ import annotations

import math
from collections.abc import Iterable


def fill_share(areas_in2: Iterable[float], *, inside_in2: float) -> float:
    """Share of the inside that the conductors take.

    >>> round(fill_share([0.0243] * 6, inside_in2=0.864), 5)
    0.16875
    """
    return sum(areas_in2) / inside_in2


def permitted_count(*, allowed_in2: float, wire_in2: float, round_up_at: float) -> int:
    """How many equal wires fit; a remainder of ``round_up_at`` of a wire or more counts as one.

    >>> permitted_count(allowed_in2=0.213, wire_in2=0.0097, round_up_at=0.8)
    22
    >>> permitted_count(allowed_in2=0.213, wire_in2=0.0133, round_up_at=0.8)
    16
    """
    exact = allowed_in2 / wire_in2
    whole = math.floor(exact)
    return whole + (1 if exact - whole >= round_up_at else 0)


def jam_ratio(*, inside_diameter_in: float, wire_diameter_in: float) -> float:
    """Inside diameter of the tube over the outside diameter of one wire.

    >>> round(jam_ratio(inside_diameter_in=3.042, wire_diameter_in=0.711), 2)
    4.28
    """
    return inside_diameter_in / wire_diameter_in
