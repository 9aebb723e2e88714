"""Heating and cooling of one machine that run at one time, which it cannot do."""

from __future__ import annotations

from math import ceil

from server.domain.behaviour import RoomUnit
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.simulate.prepared import Marched, Prepared


def halves_findings(ready: Prepared, marched: Marched) -> tuple[Finding, ...]:
    """A note for each circuit whose two halves of one machine draw at once in this run."""
    row = {load.id: i for i, load in enumerate(ready.network.loads)}
    dt_s = ready.supply.cells.dt_s
    found: list[Finding] = []
    for circuit in ready.site.circuits:
        for first, second in _halves(circuit):
            if first not in row or second not in row:
                continue
            one, other = marched.taken_w[row[first]], marched.taken_w[row[second]]
            minutes = float(dt_s[(one > 0.0) & (other > 0.0)].sum()) / 60.0
            if minutes > 0.0:
                names = {a.id: a.name for a in circuit.appliances}
                found.append(_note(circuit, names[first], names[second], minutes))
    return tuple(found)


def _halves(circuit: Circuit) -> list[tuple[str, str]]:
    """Heating and cooling of a circuit that are one machine by their kinds, by id.

    An oven and its top are one machine too, made to run together.
    """
    return [
        (a.id, b.id)
        for b in circuit.appliances
        for a in circuit.appliances
        if b.kind in KINDS
        and a.kind == KINDS[b.kind].goes_with
        and {_mode(a.kind), _mode(b.kind)} == {"heat", "cool"}
    ]


def _mode(kind_id: str) -> str:
    """What a kind does to a room, empty where it serves none."""
    behaviour = KINDS[kind_id].behaviour
    return behaviour.mode if isinstance(behaviour, RoomUnit) else ""


def _note(circuit: Circuit, first: str, second: str, minutes: float) -> Finding:
    return Finding(
        code="halves-run-together",
        severity="note",
        element_id=circuit.id,
        text=(
            f"{first} and {second} on {circuit.name} are one machine, and run together in this run "
            f"for {ceil(minutes):,} min. It heats or cools, so the run has too much on its "
            "breaker."
        ),
        mend=(
            "In the form of the circuit, say what each goes by: a room that it heats and cools, or "
            "outdoor temperatures at which it rests."
        ),
        source="Common practice, no source.",
        value=round(minutes, 1),
        unit="min",
    )
