"""A harm inside a sentence: the same in the verdict of a run and in the odds of many."""

from __future__ import annotations

from server.domain.thermal import Zone


def room_clause(zone: Zone, kind: str) -> str:
    """That a zone passes one of its limits.

    >>> room_clause(Zone(id="house", name="House", loss_btuh_per_f=400), "pipes")
    'House falls below 40 °F, its pipes at risk'
    """
    if kind == "room_hot":
        return f"{zone.name} rises above {zone.hot_f:g} °F"
    if kind == "pipes":
        return f"{zone.name} falls below {zone.pipes_f:g} °F, its pipes at risk"
    return f"{zone.name} falls below {zone.cold_f:g} °F"


def food_clause(name: str, *, safe: bool = True) -> str:
    """That a cold box no longer keeps food, or what else it holds."""
    return f"{name} no longer keeps food safe" if safe else f"{name} is too warm for what it holds"


def water_clause(name: str) -> str:
    """That a well pump gives no water."""
    return f"{name} gives no water"


def pit_clause(name: str) -> str:
    """That a pit whose room is not known rises past its float."""
    return f"the pit of {name} is at its float and rising"


def medical_clause(name: str) -> str:
    """That a medical device is dark too long."""
    return f"{name} is without power too long"


def oil_clause(name: str) -> str:
    """That the oil of a set is due and nobody is there to look at it."""
    return f"the oil of {name} is due with nobody there to look"
