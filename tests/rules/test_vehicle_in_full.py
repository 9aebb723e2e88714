"""Vehicle equipment counts in full by the standard method (625.42: a continuous load)."""

from __future__ import annotations

import pytest

from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.standard import standard
from server.rules.editions import rulebook


@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_a_car_is_no_part_of_the_75_percent(edition):
    four = tuple(Load(f"Heater {n}", "fastened", 2_000) for n in range(4))
    house = Dwelling("House", 1500, loads=(*four, Load("Car", "vehicle", 9_600)))
    lines = {line.label: line for line in standard(house, rulebook(edition)).lines}
    assert lines["Car"].demand_va == 9_600
    assert lines["Heater 0"].demand_va == 1_500
