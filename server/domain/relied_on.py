"""What of a house is not left off for long, by the appliances on a circuit."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit

_MODELS = frozenset({"well", "sump", "cold_box"})
_HARMS = frozenset({"water", "sump", "freezer", "refrigerator"})


def must_stay_on(circuit: Circuit) -> bool:
    """Whether it must be served, or a medical device is on it."""
    kinds = (KINDS.get(a.kind) for a in circuit.appliances)
    return circuit.load_class == "must_serve" or any(k and k.harm == "medical" for k in kinds)


def keeps_house(appliance: Appliance) -> bool:
    """Whether it gives water, or keeps a pit dry or food cold: by its model, or by its kind."""
    kind = KINDS.get(appliance.kind)
    harmed = kind is not None and kind.harm in _HARMS
    return harmed or appliance.behaviour.model in _MODELS
