"""Which kinds of appliance have a plug."""

from __future__ import annotations

from server.rules.tables import read_toml


def is_plugged(kind: str) -> bool:
    """Whether a kind plugs in, so that the places of 210.8(A) reach it."""
    return kind in read_toml("protection")["plugged"]["kinds"]


def on_a_cord(kind: str) -> bool:
    """Whether a kind usually has a plug, and so an outlet that its breaker must fit."""
    return is_plugged(kind) or kind in read_toml("protection")["plugged"]["corded"]
