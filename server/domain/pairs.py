"""Two circuits that share a neutral: what is proposed for one of them is proposed for both."""

from __future__ import annotations

from server.domain.circuit import Circuit
from server.domain.edits import move_circuit, with_changes
from server.domain.errors import EditError
from server.domain.panel import beside
from server.domain.scenario import HandWindow, KeptOff, Scenario
from server.domain.site import Site


def pair_of(site: Site, circuit_id: str) -> tuple[Circuit, ...]:
    """A circuit, with the one that shares its neutral after it where there is one."""
    circuit = site.circuit(circuit_id)
    partner = site.circuit_by_id.get(circuit.multiwire_partner_id or "")
    return (circuit,) if partner is None else (circuit, partner)


def proposed_move(site: Site, circuit_id: str, panel_id: str) -> Site:
    """A move as it may be proposed: a pair together, where one handle ties it.

    Raises
    ------
    EditError   As :func:`server.domain.edits.move_circuit`, and where the panel has no two spaces
                under each other for a pair.
    """
    moved = move_circuit(site, circuit_id, panel_id)
    pair = pair_of(moved, circuit_id)
    if len(pair) > 1 and not beside(pair[0].spaces, pair[1].spaces):
        raise EditError(
            f"{site.panel(panel_id).name} has no two spaces under each other for {pair[0].name} "
            f"and {pair[1].name}, which share a neutral: one handle must tie them. Free two first.",
            field="panel_id",
        )
    return moved


def for_pairs(site: Site, scenario: Scenario) -> Scenario:
    """A scenario whose hand goes to both of a pair: one handle opens and closes both."""
    kept = {k.circuit_id for k in scenario.kept_off}
    windows = {(w.circuit_id, w.window) for w in scenario.hand_windows}
    more_kept = [
        KeptOff(circuit_id=i) for c in scenario.kept_off for i in _others(site, c.circuit_id, kept)
    ]
    more_windows = [
        HandWindow(circuit_id=c.id, window=w.window)
        for w in scenario.hand_windows
        for c in pair_of(site, w.circuit_id)[1:]
        if (c.id, w.window) not in windows
    ]
    if not more_kept and not more_windows:
        return scenario
    return scenario.model_copy(
        update={
            "kept_off": (*scenario.kept_off, *more_kept),
            "hand_windows": (*scenario.hand_windows, *more_windows),
        }
    )


def _others(site: Site, circuit_id: str, known: set[str]) -> list[str]:
    return [c.id for c in pair_of(site, circuit_id)[1:] if c.id not in known]


def in_role(site: Site, circuit_id: str, role: str) -> Site:
    """A circuit in an outage role, and its pair too: one handle opens and closes both."""
    ids = {c.id for c in pair_of(site, circuit_id)}
    return with_changes(
        site,
        circuits=tuple(
            c.model_copy(update={"outage_role": role}) if c.id in ids else c for c in site.circuits
        ),
    )
