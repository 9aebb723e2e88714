"""Edits of the assignment board, and how to look at a site as it was before one of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import get_args

from server.domain.base import Leg
from server.domain.circuit import Circuit, OutageRole
from server.domain.edits import move_circuit, set_pinned, with_changes
from server.domain.errors import EditError, InputError, NotFoundError
from server.domain.pairs import in_role, pair_of
from server.domain.panel import leg_of_space
from server.domain.site import Site
from server.domain.supply import Handle
from server.web import words
from server.web.format import listed

PANEL, HANDLE = "panel:", "handle:"


@dataclass(frozen=True)
class Edit:
    """A site after an edit, the sentence for it, and the query that leads back."""

    site: Site
    said: str
    circuit_id: str
    way_back: Mapping[str, str]


def handle_of(site: Site, circuit_id: str) -> str | None:
    """The handle set a circuit is on."""
    for switch in site.transfer_switches:
        if any(h.circuit_id == circuit_id for h in switch.handles):
            return switch.id
    return None


def move_to(site: Site, circuit_id: str, target: str) -> Edit:
    """Move a circuit to ``panel:ID`` or onto ``handle:ID`` of a handle set.

    Raises
    ------
    EditError   When it is pinned, or there is no place for it.
    """
    circuit = site.circuit(circuit_id)
    if target.startswith(HANDLE):
        return _onto_handle(site, circuit, target.removeprefix(HANDLE))
    panel_id = target.removeprefix(PANEL)
    on_handle = handle_of(site, circuit_id)
    if on_handle is not None and panel_id == circuit.panel_id:
        return _off_handle(site, circuit, on_handle)
    if on_handle is not None:
        raise EditError(
            f"{circuit.name} is on a transfer handle. Take it off the handle first.", field="to"
        )
    panel = site.panel(panel_id)
    if panel_id == circuit.panel_id:
        raise EditError(f"{circuit.name} is in {panel.name} already.", field="to")
    moved = move_circuit(site, circuit_id, panel_id)
    names = [c.name for c in site.circuits if moved.circuit(c.id).panel_id != c.panel_id]
    spaces = listed([str(s) for s in moved.circuit(circuit_id).spaces])
    back = {
        "moved": circuit_id,
        "from": circuit.panel_id,
        "spaces": ",".join(str(s) for s in circuit.spaces),
    }
    word = "spaces" if circuit.poles == 2 else "space"
    said = f"{listed(names or [circuit.name])} moved to {panel.name}, {word} {spaces}."
    if len(names) > 1:
        said = f"{listed(names)} moved to {panel.name} together: they share a neutral."
    return Edit(moved, said, circuit_id, back)


def _refuse_pinned(circuit: Circuit) -> None:
    if circuit.pinned:
        raise EditError(f"{circuit.name} is pinned. Unpin it first.", field="pinned")


def _onto_handle(site: Site, circuit: Circuit, switch_id: str) -> Edit:
    _refuse_pinned(circuit)
    if handle_of(site, circuit.id) is not None:
        raise EditError(f"{circuit.name} is on a handle already.", field="to")
    if circuit.multiwire_partner_id:
        raise EditError(
            f"{circuit.name} shares a neutral with another circuit. A single handle would split "
            "the pair.",
            field="to",
        )
    handle = Handle(circuit_id=circuit.id, leg=leg_of_space(circuit.spaces[0]))
    changed = _with_handles(site, switch_id, add=handle)
    name = site.name_of[switch_id]
    return Edit(
        changed,
        f"{circuit.name} put on {name}.",
        circuit.id,
        {"moved": circuit.id, "off": switch_id},
    )


def _off_handle(site: Site, circuit: Circuit, switch_id: str) -> Edit:
    _refuse_pinned(circuit)
    switch = next(t for t in site.transfer_switches if t.id == switch_id)
    place = next(i for i, h in enumerate(switch.handles) if h.circuit_id == circuit.id)
    changed = _with_handles(site, switch_id, drop=circuit.id)
    back = {
        "moved": circuit.id,
        "on": switch_id,
        "leg": switch.handles[place].leg,
        "place": str(place),
    }
    said = f"{circuit.name} taken off {site.name_of[switch_id]}."
    return Edit(changed, said, circuit.id, back)


def _with_handles(
    site: Site, switch_id: str, *, add: Handle | None = None, place: int = 99, drop: str = ""
) -> Site:
    if not any(t.id == switch_id and t.kind == "handles" for t in site.transfer_switches):
        raise NotFoundError(f"There is no handle set {switch_id!r} on this site.")
    switches = []
    for switch in site.transfer_switches:
        if switch.id != switch_id:
            switches.append(switch)
            continue
        handles = [h for h in switch.handles if h.circuit_id != drop]
        if add is not None:
            handles.insert(min(max(place, 0), len(handles)), add)
        switches.append(switch.model_copy(update={"handles": tuple(handles)}))
    return with_changes(site, transfer_switches=tuple(switches))


def pin(site: Site, circuit_id: str, *, pinned: bool) -> Edit:
    """Pin a circuit to its bus, or let it go."""
    name = site.circuit(circuit_id).name
    said = f"{name} pinned: it stays on its bus." if pinned else f"{name} unpinned."
    return Edit(set_pinned(site, circuit_id, pinned=pinned), said, circuit_id, {})


def give_role(site: Site, circuit_id: str, role: str) -> Edit:
    """Say what happens to a circuit while a generator feeds it, and to what shares its handle.

    Raises
    ------
    EditError   For a role that does not exist.
    """
    if role not in get_args(OutageRole):
        raise EditError("Choose one of the roles in the list.", field="role")
    circuit = site.circuit(circuit_id)
    names = [c.name for c in pair_of(site, circuit_id)]
    verb = "are" if len(names) > 1 else "is"
    said = (
        f"{listed(names)} {verb} {words.said(words.OUTAGE_ROLES, role)} while the generator runs."
    )
    return Edit(
        in_role(site, circuit_id, role),
        said,
        circuit_id,
        {"moved": circuit_id, "role": circuit.outage_role},
    )


def site_before(site: Site, query: Mapping[str, str]) -> tuple[Site, str] | None:
    """The site as it was before the edit a query tells of, and the circuit that was edited.

    None when the query tells of none, or the way back no longer fits.
    """
    circuit_id = query.get("moved", "")
    if circuit_id not in site.circuit_by_id:
        return None
    try:
        if "role" in query:
            return give_role(site, circuit_id, query["role"]).site, circuit_id
        if "off" in query:
            return _with_handles(site, query["off"], drop=circuit_id), circuit_id
        if "on" in query:
            return _back_on_handle(site, circuit_id, query), circuit_id
        if "from" in query:
            return _moved_back(site, circuit_id, query), circuit_id
    except (InputError, NotFoundError, ValueError):
        return None
    return None


def _back_on_handle(site: Site, circuit_id: str, query: Mapping[str, str]) -> Site:
    leg: Leg = "L2" if query.get("leg") == "L2" else "L1"
    handle = Handle(circuit_id=circuit_id, leg=leg)
    return _with_handles(site, query["on"], add=handle, place=int(query.get("place", "0")))


def _moved_back(site: Site, circuit_id: str, query: Mapping[str, str]) -> Site:
    spaces = tuple(int(s) for s in query.get("spaces", "").split(",") if s)
    pinned = {c.id for c in site.circuits if c.pinned}
    loose = with_changes(site, circuits=_with_pins(site, frozenset()))
    back = move_circuit(loose, circuit_id, query["from"], spaces=spaces or None)
    return with_changes(back, circuits=_with_pins(back, frozenset(pinned)))


def _with_pins(site: Site, pinned: frozenset[str]) -> tuple[Circuit, ...]:
    return tuple(
        c if c.pinned == (c.id in pinned) else c.model_copy(update={"pinned": c.id in pinned})
        for c in site.circuits
    )
