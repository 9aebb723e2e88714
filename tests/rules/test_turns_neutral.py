"""Each wire of circuits that take turns is that of the turn that loads it most (220.61(A))."""

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
    "kiln": Load("Kiln", "individual", 3_000, volts=120, leg="L1"),
}


def sheet(*circuit_ids):
    base = builders.normal_only_site(scenarios=())
    own = (
        circuit("heater", "main", 13, 15, load_w=100),
        circuit("pump", "main", 17, load_w=100),
        circuit("kiln", "main", 19, load_w=100),
    )
    site = with_parts(base, circuits=(*base.circuits, *own))

    def make(left_out):
        loads = tuple(LOADS[i] for i in circuit_ids if i not in left_out)
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


def test_a_leg_is_held_to_the_turn_that_loads_it_most():
    """By hand: 4,800 VA are 20 A on both legs; 3,000 VA of 120 V are 25 A on L1 and the neutral."""
    found = sheet("heater", "kiln")
    assert found.total_va == 4_800
    assert (found.legs.l1_a, found.legs.l2_a, found.legs.neutral_a) == pytest.approx((25, 20, 25))
    assert (found.leg_a, found.needed_a) == pytest.approx((25, 25))
    assert found.leg_needed_a == pytest.approx((25, 20))
    assert (found.standard_a, found.amp_lines[-1].value) == (25, 25)
    assert sum(row.l1_a for row in found.legs.rows) == pytest.approx(25)
    assert any("one leg carries more, 25.0 A" in note for note in found.notes)
