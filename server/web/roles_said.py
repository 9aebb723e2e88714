"""What each circuit does while a generator feeds it, in words for the board and its print."""

from __future__ import annotations

from server.domain.circuit import Circuit
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.web import format as fmt
from server.web import words

MOST_WINDOWS = 2
"""Hours by hand named in a card; past that they are counted."""


def roles_said(site: Site, scenario: Scenario | None) -> dict[str, str]:
    """Of each circuit that is not simply on while a set feeds it, what it does then, by id."""
    found = ((c.id, _said(site, c, scenario)) for c in site.circuits)
    return {circuit_id: said for circuit_id, said in found if said}


def _said(site: Site, circuit: Circuit, scenario: Scenario | None) -> str:
    role = circuit.outage_role
    group = next((g for g in site.energy_groups if g.id == circuit.energy_group_id), None)
    if group is not None and group.off_on_generator:
        return f"off in an outage, by {group.name}"
    if role == "off":
        return "off in an outage"
    if scenario is not None and any(k.circuit_id == circuit.id for k in scenario.kept_off):
        return f"kept off in {scenario.name}"
    if role == "managed" and group is not None:
        return f"managed in an outage, by {group.name}"
    if role == "by_hand":
        return f"by hand in an outage{_hours(circuit, scenario)}"
    return f"{words.said(words.OUTAGE_ROLES, role)} in an outage" if role != "on" else ""


def _hours(circuit: Circuit, scenario: Scenario | None) -> str:
    """The hours that a scenario gives to a hand; that it gives none where it does not."""
    if scenario is None:
        return ""
    windows = [w.window for w in scenario.hand_windows if w.circuit_id == circuit.id]
    if not windows:
        return f": never in {scenario.name}"
    if len(windows) > MOST_WINDOWS:
        return f": {len(windows)} times in {scenario.name}"
    return ": " + fmt.listed([f"{fmt.short_when(w.start)} to {w.end:%H:%M}" for w in windows])
