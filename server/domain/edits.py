"""Edits as pure functions: a site in, a checked site out.

Every function raises EditError with the reason when the site cannot take the edit.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError

from server.domain.backfed import backfed_in
from server.domain.base import MAX_NAME, Leg, other_leg
from server.domain.circuit import Circuit
from server.domain.errors import EditError, SiteFileError
from server.domain.panel import Panel, leg_of_space
from server.domain.problems import problems_in
from server.domain.scenario import Scenario
from server.domain.site import Site


def with_changes(site: Site, **changes: Any) -> Site:
    """The site with these top-level fields replaced, checked as a whole.

    Raises
    ------
    SiteFileError   When the result cannot be computed; its problems name the fields.
    """
    data = {name: getattr(site, name) for name in Site.model_fields} | changes
    try:
        return Site.model_validate(data)
    except ValidationError as error:
        raise SiteFileError(problems_in(error)) from error


def free_name(name: str, taken: set[str]) -> str:
    """A name that no other has: the name itself, else with the next number.

    >>> free_name("Fern Cottage", {"Fern Cottage", "Fern Cottage 2"}), free_name("Mill", set())
    ('Fern Cottage 3', 'Mill')
    """
    candidate, number = name, 2
    while candidate in taken:
        end = f" {number}"
        candidate, number = f"{name[: MAX_NAME - len(end)]}{end}", number + 1
    return candidate


def new_id(name: str, taken: set[str]) -> str:
    """A readable id from a name that is not taken yet.

    >>> new_id("Well pump", {"well-pump"})
    'well-pump-2'
    """
    base = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "part"
    candidate, number = base, 2
    while candidate in taken:
        candidate, number = f"{base}-{number}", number + 1
    return candidate


def put_circuit(site: Site, circuit: Circuit) -> Site:
    """Add a circuit, or replace the one with its id, keeping its place in the list."""
    if circuit.id in site.circuit_by_id:
        circuits = tuple(circuit if c.id == circuit.id else c for c in site.circuits)
    else:
        circuits = (*site.circuits, circuit)
    return with_changes(site, circuits=circuits)


def remove_circuit(site: Site, circuit_id: str) -> Site:
    """Remove a circuit and everything that points at it or its appliances."""
    site.circuit(circuit_id)
    return with_changes(site, **without_circuits(site, frozenset({circuit_id})))


def without_circuits(site: Site, circuit_ids: frozenset[str]) -> dict[str, Any]:
    """The changes that take circuits away, and everything that points at them, unchecked."""
    appliances = {a.id for c in site.circuits if c.id in circuit_ids for a in c.appliances}
    circuits = tuple(
        c.model_copy(update={"multiwire_partner_id": None})
        if c.multiwire_partner_id in circuit_ids
        else c
        for c in site.circuits
        if c.id not in circuit_ids
    )
    switches = tuple(
        t.model_copy(
            update={"handles": tuple(h for h in t.handles if h.circuit_id not in circuit_ids)}
        )
        for t in site.transfer_switches
    )
    scenarios = tuple(_without(s, circuit_ids, appliances) for s in site.scenarios)
    return {"circuits": circuits, "transfer_switches": switches, "scenarios": scenarios}


def _without(scenario: Scenario, circuit_ids: frozenset[str], appliance_ids: set[str]) -> Scenario:
    return scenario.model_copy(
        update={
            "events": tuple(e for e in scenario.events if e.appliance_id not in appliance_ids),
            "hand_windows": tuple(
                w for w in scenario.hand_windows if w.circuit_id not in circuit_ids
            ),
            "kept_off": tuple(k for k in scenario.kept_off if k.circuit_id not in circuit_ids),
        }
    )


def put_scenario(site: Site, scenario: Scenario) -> Site:
    """Add a scenario, or replace the one with its id."""
    if any(s.id == scenario.id for s in site.scenarios):
        scenarios = tuple(scenario if s.id == scenario.id else s for s in site.scenarios)
    else:
        scenarios = (*site.scenarios, scenario)
    return with_changes(site, scenarios=scenarios)


def remove_scenario(site: Site, scenario_id: str) -> Site:
    """Remove a scenario."""
    site.scenario(scenario_id)
    return with_changes(site, scenarios=tuple(s for s in site.scenarios if s.id != scenario_id))


def set_pinned(site: Site, circuit_id: str, *, pinned: bool) -> Site:
    """Pin a circuit to its bus, or let it go."""
    return put_circuit(site, site.circuit(circuit_id).model_copy(update={"pinned": pinned}))


def free_spaces(site: Site, panel: Panel, *, leaving: frozenset[str] = frozenset()) -> set[int]:
    """Whole spaces of a panel that nothing uses; ``leaving`` are ids of what is about to leave."""
    used: set[int] = set()
    for circuit in site.circuits:
        if circuit.panel_id == panel.id and circuit.id not in leaving:
            used.update(circuit.spaces)
    for feeder in site.feeders:
        if feeder.from_id == panel.id and feeder.id not in leaving:
            used.update(feeder.spaces)
    for array in site.solar:
        if array.panel_id == panel.id and array.id not in leaving:
            used.update(array.spaces)
    for switch in backfed_in(site, panel.id):
        if switch.id not in leaving:
            used.update(switch.spaces)
    return set(range(1, panel.spaces + 1)) - used


def pairs_of_spaces(free: set[int]) -> Iterator[tuple[int, int]]:
    """Two spaces under each other, lowest first; they may overlap.

    >>> list(pairs_of_spaces({1, 2, 3, 5}))
    [(1, 3), (3, 5)]
    """
    return ((space, space + 2) for space in sorted(free) if space + 2 in free)


def _candidates(poles: int, free: set[int]) -> Iterator[tuple[int, ...]]:
    if poles == 2:
        return pairs_of_spaces(free)
    return ((space,) for space in sorted(free))


def move_circuit(
    site: Site, circuit_id: str, panel_id: str, *, spaces: tuple[int, ...] | None = None
) -> Site:
    """Move a circuit to another panel, or to other spaces of its own.

    Without ``spaces`` the first free ones are taken that keep its leg (else its other leg). A
    multiwire partner moves along, onto the opposite leg, next to it where two such spaces are free.
    Pinned circuits do not change panel.

    Raises
    ------
    EditError   When it is pinned, or the panel has no fitting space; the message says which.
    """
    circuit = site.circuit(circuit_id)
    panel = site.panel(panel_id)
    movers = [circuit]
    if circuit.multiwire_partner_id and circuit.panel_id != panel_id:
        partner = site.circuit(circuit.multiwire_partner_id)
        if partner.panel_id != panel_id:
            movers.append(partner)
    for mover in movers:
        if mover.pinned and mover.panel_id != panel_id:
            raise EditError(f"{mover.name} is pinned. Unpin it first.", field="pinned")
    free = free_spaces(site, panel, leaving=frozenset(m.id for m in movers))
    placed: dict[str, Circuit] = {}
    tied = _side_by_side(circuit, free, spaces) if len(movers) > 1 else None
    for mover in movers:
        if tied is not None:
            placed[mover.id] = _placed(mover, panel, free, tied[0 if mover is circuit else 1])
        elif mover is circuit:
            placed[mover.id] = _placed(mover, panel, free, spaces)
        else:
            across = other_leg(leg_of_space(placed[circuit.id].spaces[0]))
            placed[mover.id] = _placed(mover, panel, free, None, only_leg=across)
        free -= set(placed[mover.id].spaces)
    return with_changes(site, circuits=tuple(placed.get(c.id, c) for c in site.circuits))


def _side_by_side(
    circuit: Circuit, free: set[int], spaces: tuple[int, ...] | None
) -> tuple[tuple[int], tuple[int]] | None:
    """Free spaces for a circuit of one pole and its partner, where one handle ties them.

    The circuit’s own leg first, then the lowest; None where there are none.
    """
    found = [p for low, high in pairs_of_spaces(free) for p in ((low, high), (high, low))]
    if spaces is not None:
        found = [p for p in found if (p[0],) == spaces]
    if circuit.poles != 1 or not found:
        return None
    leg = leg_of_space(circuit.spaces[0])
    mine, its = min(found, key=lambda p: (leg_of_space(p[0]) != leg, p))
    return (mine,), (its,)


def _placed(
    circuit: Circuit,
    panel: Panel,
    free: set[int],
    spaces: tuple[int, ...] | None,
    *,
    only_leg: Leg | None = None,
) -> Circuit:
    if spaces is None:
        fits = [
            c
            for c in _candidates(circuit.poles, free)
            if only_leg is None or leg_of_space(c[0]) == only_leg
        ]
        if not fits:
            need = "two spaces under each other" if circuit.poles == 2 else "a space"
            if only_leg is not None:
                need += f" on {only_leg}, across from its multiwire partner"
            raise EditError(
                f"{panel.name} has no free place for {circuit.name}: it needs {need}. Free one "
                "first.",
                field="panel_id",
            )
        leg = leg_of_space(circuit.spaces[0])
        spaces = next((c for c in fits if leg_of_space(c[0]) == leg), fits[0])
    changes = {"panel_id": panel.id, "spaces": spaces, "half": None}
    if circuit.breaker_type == "tandem":
        changes["breaker_type"] = "standard"
    try:
        return Circuit.model_validate(circuit.model_dump() | changes)
    except ValidationError as error:
        raise EditError(problems_in(error)[0].message, field="spaces") from error
