"""The neutral of what a person selects to run on a set."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.selected import selected
from server.rules.editions import rulebook

RULES = rulebook("2023")


@pytest.mark.parametrize(
    ("load", "neutral_a"),
    [
        (Load("Range", "cooking", 8_800), 25.67),  # 8,800 x 0.7 / 240
        (Load("Dryer", "dryer", 4_300), 12.54),  # 4,300 x 0.7 / 240
        (Load("Water heater", "individual", 4_500), 0.0),
        (Load("Gas dryer", "dryer", 600, volts=120, leg="L1"), 5.0),
    ],
)
def test_a_range_and_a_dryer_lie_on_the_neutral_in_part(load, neutral_a):
    """220.61(B)(1): 70 % of the load on the hot wires."""
    sheet = selected(Dwelling("Set", 0), (load,), RULES)
    assert sheet.legs.neutral_a == pytest.approx(neutral_a, abs=0.01)
    assert sheet.total_va == load.va
