"""Pits whose pump is in a plan: ground water comes by itself, waste as people use it."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.behaviour import SumpPump, WellPump
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit


def pumps_pit(appliance: Appliance) -> bool:
    """Whether it empties a pit, of whatever water."""
    kind = KINDS.get(appliance.kind)
    by_kind = kind is not None and kind.harm == "sump"
    return by_kind or isinstance(appliance.behaviour, SumpPump)


def has_pit(circuit: Circuit) -> bool:
    """Whether a circuit feeds the pump of a pit."""
    return any(map(pumps_pit, circuit.appliances))


def has_sump(circuit: Circuit) -> bool:
    """Whether the pit of a pump on it fills by itself, so that its breaker comes first."""
    return any(isinstance(a.behaviour, SumpPump) for a in circuit.appliances)


def draws_water(appliance: Appliance) -> bool:
    """Whether the water of the house comes from its pump."""
    kind = KINDS.get(appliance.kind)
    return isinstance(appliance.behaviour, WellPump) or (kind is not None and kind.harm == "water")
