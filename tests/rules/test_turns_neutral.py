"""Each wire of circuits that take turns is that of the turn that loads it most (220.61(A))."""

from __future__ import annotations

import pytest

from server.rules.demand.by_plate import with_plate
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
    "still": Load("Still", "individual", 3_600, volts=120, leg="L1"),
    "press": Load("Press", "individual", 4_200, volts=120, leg="L1"),
    "car": Load("Charger", "vehicle", 5_760, continuous=True),
    "late": Load("Lamps", "individual", 2_100, volts=120, leg="L2"),
    "less": Load("Small heater", "individual", 2_880),
    "rest": Load("Water", "individual", 1_200, volts=120, leg="L1"),
}


def sheet(*circuit_ids, beside=(), with_plates=False):
    base = builders.normal_only_site(scenarios=())
    own = [circuit(i, "main", 13 + 2 * k, load_w=100) for k, i in enumerate(circuit_ids)]
    site = with_parts(base, circuits=(*base.circuits, *own))

    def make(left_out):
        loads = tuple(LOADS[i] for i in (*circuit_ids, *beside) if i not in left_out)
        part = Dwelling("Panel", 0, 0, 0, loads, whole=False, is_service=False)
        made = standard(part, RULES)
        return with_plate(made, part, standard, RULES) if with_plates else made

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


def test_of_several_turns_that_load_a_leg_more_the_hardest_is_told_once():
    """3,600 / 120 = 30 A in the still's turn, 25 A in the kiln's."""
    found = sheet("heater", "kiln", "still")
    assert found.needed_a == pytest.approx(30)
    assert sum("one leg carries more" in note for note in found.notes) == 1


def test_the_lighter_leg_too_is_held_to_the_turn_that_loads_it_most():
    """2,880 / 240 = 12 A on both and 10 A on L1; in the lamps' turn 2,100 / 120 = 17.5 A on L2."""
    found = sheet("less", "late", beside=("rest",))
    assert found.needed_a == pytest.approx(22)
    assert found.leg_needed_a == pytest.approx((22, 17.5))


def test_another_turn_without_a_charger_counts_in_full_beside_its_plate():
    """5,760 VA at its plate with 25 % are 30 A, the press 35 A; 10 A are beside each."""
    alone = sheet("car", beside=("rest",), with_plates=True)
    found = sheet("car", "press", beside=("rest",), with_plates=True)
    assert alone.plate_needed_a == pytest.approx(40)
    assert found.needed_a == pytest.approx(alone.needed_a)
    assert found.plate_needed_a == pytest.approx(45)
