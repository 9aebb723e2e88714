"""The neutral of circuits that take turns is that of the turn that loads it most (220.61(A))."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.standard import standard
from server.rules.demand.turns import Turns, largest_alone
from server.rules.editions import rulebook
from tests import builders
from tests.builders import circuit, with_parts

RULES = rulebook("2023")
LOADS = {
    "heater": Load("Heater", "individual", 4_800),
    "pump": Load("Pump", "individual", 1_800, volts=120, leg="L1"),
}


def sheet(*circuit_ids):
    base = builders.normal_only_site(scenarios=())
    own = (
        circuit("heater", "main", 13, 15, load_w=100),
        circuit("pump", "main", 17, load_w=100),
    )
    site = with_parts(base, circuits=(*base.circuits, *own))

    def make(left_out):
        loads = tuple(load for i, load in LOADS.items() if i not in left_out)
        part = Dwelling("Panel", 0, 0, 0, loads, whole=False, is_service=False)
        return standard(part, RULES)

    return largest_alone(site, (Turns("Manager", circuit_ids),), make, RULES)


def test_the_smaller_at_120_v_still_counts_on_the_neutral():
    """By hand: 4,800 VA count; in the pump's turn 1,800 / 120 = 15 A are on the neutral."""
    found = sheet("heater", "pump")
    assert found.total_va == 4_800
    assert found.legs.neutral_a == pytest.approx(15.0)
    assert sum(row.neutral_a for row in found.legs.rows) == pytest.approx(15.0)
    assert found.legs.rows[-1].section == "220.61(A)"
