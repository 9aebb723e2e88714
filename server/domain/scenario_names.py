"""What the scenarios of a site name must be on it: sets, switches, circuits, appliances."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from server.domain.errors import Problem

if TYPE_CHECKING:
    from server.domain.scenario import Scenario
    from server.domain.site import Site


def named_by_scenarios(site: Site) -> Iterator[Problem]:
    """Each row of a scenario that names a part which is not here."""
    here = {
        "set_id": {g.id for g in site.generators},
        "switch_id": {d.id for d in site.double_throws},
        "circuit_id": set(site.circuit_by_id),
        "appliance_id": {a.id for c in site.circuits for a in c.appliances},
    }
    for i, scenario in enumerate(site.scenarios):
        for rows, step, ids, does in _named(scenario):
            for j, part_id in enumerate(ids):
                if part_id is not None and part_id not in here[step]:
                    yield Problem(
                        f"scenarios.{i}.{rows}.{j}.{step}",
                        f"{scenario.name} {does} that is not here.",
                    )


def _named(scenario: Scenario) -> Iterator[tuple[str, str, list[str | None], str]]:
    """The list, its step that names a part, the names row by row, and what is done with them."""
    moves, events = scenario.switch_moves, scenario.events
    yield "switch_moves", "switch_id", [m.switch_id for m in moves], "throws a double-throw"
    own, stops = scenario.own_sets, scenario.generator_stops
    yield "own_sets", "set_id", [o.set_id for o in own], "says what differs for a generator"
    yield "generator_stops", "set_id", [s.set_id for s in stops], "stops a generator"
    due = scenario.deliveries
    yield "deliveries", "set_id", [d.set_id for d in due], "brings fuel for a generator"
    yield "events", "appliance_id", [e.appliance_id for e in events], "starts an appliance"
    hands, kept = scenario.hand_windows, scenario.kept_off
    yield "hand_windows", "circuit_id", [h.circuit_id for h in hands], "switches a circuit by hand"
    yield "kept_off", "circuit_id", [k.circuit_id for k in kept], "keeps a circuit off"
