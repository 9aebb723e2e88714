"""What the user has given up in an outage by choice."""

from __future__ import annotations

from server.domain.circuit import Circuit
from server.domain.scenario import Scenario


def given_up(circuit: Circuit, scenario: Scenario) -> bool:
    """Whether the user has said that a circuit may go without in an outage."""
    if circuit.load_class == "must_serve":
        return False
    kept_off = any(one.circuit_id == circuit.id for one in scenario.kept_off)
    return kept_off or circuit.outage_role == "off" or circuit.load_class != "important"
