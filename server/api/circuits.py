"""Circuits, and which bus each is assigned to."""

from __future__ import annotations

from fastapi import APIRouter

from server.api.models import (
    Assignment,
    BusAssignment,
    BusPanel,
    CircuitEdit,
    CircuitList,
    MoveEdit,
    PinEdit,
    SiteSaved,
)
from server.api.parts import (
    EDITS,
    READS,
    CircuitId,
    RevisionAsked,
    Store,
    Stored,
    refuse_stale,
    saved,
)
from server.domain.circuit import Circuit
from server.domain.edits import (
    free_spaces,
    move_circuit,
    put_circuit,
    remove_circuit,
    set_pinned,
)
from server.domain.errors import EditError
from server.domain.topology import bus_of_circuit, buses

router = APIRouter(prefix="/sites/{site_id}", tags=["Circuits and buses"])


@router.get("/circuits", summary="List the circuits", responses=READS)
def list_circuits(stored: Stored) -> CircuitList:
    """Every circuit with the appliances that ride along."""
    return CircuitList(revision=stored.revision, circuits=stored.site.circuits)


@router.post("/circuits", status_code=201, summary="Add a circuit", responses=EDITS)
def add_circuit(edit: CircuitEdit, stored: Stored, store: Store) -> SiteSaved:
    """Add a circuit under an id that is not taken."""
    refuse_stale(stored, edit.revision)
    circuit = edit.circuit
    if circuit.id in stored.site.circuit_by_id:
        raise EditError(f"There is a circuit {circuit.id!r} already.", field="circuit.id")
    site = put_circuit(stored.site, circuit)
    return saved(store, stored, site, f"Added {circuit.name}")


@router.get("/circuits/{circuit_id}", summary="Read a circuit", responses=READS)
def get_circuit(circuit_id: CircuitId, stored: Stored) -> Circuit:
    """One circuit."""
    return stored.site.circuit(circuit_id)


@router.put("/circuits/{circuit_id}", summary="Replace a circuit", responses=EDITS)
def replace_circuit(
    circuit_id: CircuitId, edit: CircuitEdit, stored: Stored, store: Store
) -> SiteSaved:
    """Put a circuit in place of the one with this id."""
    refuse_stale(stored, edit.revision)
    stored.site.circuit(circuit_id)
    if edit.circuit.id != circuit_id:
        raise EditError(f"The address says {circuit_id!r}.", field="circuit.id")
    site = put_circuit(stored.site, edit.circuit)
    return saved(store, stored, site, f"Edited {edit.circuit.name}")


@router.delete("/circuits/{circuit_id}", summary="Remove a circuit", responses=EDITS)
def delete_circuit(
    circuit_id: CircuitId, revision: RevisionAsked, stored: Stored, store: Store
) -> SiteSaved:
    """Remove a circuit with its appliances and all that points at them."""
    refuse_stale(stored, revision)
    name = stored.site.circuit(circuit_id).name
    site = remove_circuit(stored.site, circuit_id)
    return saved(store, stored, site, f"Removed {name}")


@router.get("/buses", summary="Read the assignment", responses=READS)
def get_assignment(stored: Stored) -> Assignment:
    """Every bus with its panels, their free spaces and their circuits."""
    site = stored.site
    return Assignment(
        revision=stored.revision,
        buses=tuple(
            BusAssignment(
                id=bus.id,
                name=bus.name,
                kind=bus.kind,
                root_id=bus.root_id,
                panels=tuple(
                    BusPanel(
                        id=panel.id,
                        name=panel.name,
                        spaces=panel.spaces,
                        free_spaces=tuple(sorted(free_spaces(site, panel))),
                    )
                    for panel in map(site.panel, bus.panel_ids)
                ),
                circuits=tuple(map(site.circuit, bus.circuit_ids)),
            )
            for bus in buses(site)
        ),
    )


@router.post("/move", summary="Move a circuit to another panel", responses=EDITS)
def move(edit: MoveEdit, stored: Stored, store: Store) -> SiteSaved:
    """Move a circuit, and with it the partner it shares a neutral with."""
    refuse_stale(stored, edit.revision)
    site = move_circuit(stored.site, edit.circuit_id, edit.panel_id, spaces=edit.spaces)
    bus = bus_of_circuit(site)[edit.circuit_id]
    return saved(store, stored, site, f"Moved {site.circuit(edit.circuit_id).name} to {bus.name}")


@router.post("/pin", summary="Pin a circuit to its bus", responses=EDITS)
def pin(edit: PinEdit, stored: Stored, store: Store) -> SiteSaved:
    """Pin a circuit, or let it go."""
    refuse_stale(stored, edit.revision)
    site = set_pinned(stored.site, edit.circuit_id, pinned=edit.pinned)
    verb = "Pinned" if edit.pinned else "Unpinned"
    return saved(store, stored, site, f"{verb} {site.circuit(edit.circuit_id).name}")
