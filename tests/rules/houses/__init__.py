"""Whole houses whose figures stand beside them; see tests/rules/whole_houses.py."""

from __future__ import annotations

from typing import Any

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit


def thing(kind: str, load_w: float, volts: int = 120, **changes: Any) -> Appliance:
    """One appliance of a kind, with its plate read."""
    given = {"id": kind, "name": kind.replace("-", " ").capitalize(), "kind": kind}
    given |= {"load_w": load_w, "volts": volts, "figure_source": "nameplate"}
    return Appliance(**given | changes)


def row(
    circuit_id: str,
    panel_id: str,
    spaces: int | tuple[int, int],
    *appliances: Appliance,
    **changes: Any,
) -> Circuit:
    """A circuit of ``appliances``; an id that stands on it alone is made from the circuit's."""
    places = (spaces,) if isinstance(spaces, int) else spaces
    given = {"id": circuit_id, "name": f"Row {circuit_id}", "panel_id": panel_id}
    own = tuple(
        a.model_copy(update={"id": f"{circuit_id}-{i}"}) for i, a in enumerate(appliances, 1)
    )
    return Circuit(**given | {"poles": len(places), "spaces": places, "appliances": own} | changes)
