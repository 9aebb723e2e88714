"""Service conductors against the text that is published of Article 230."""

from __future__ import annotations

import pytest

from server.rules.editions import rulebook
from server.rules.ocpd import device_for_load
from server.rules.wiring.run import Run
from server.rules.wiring.sizing import size_run, smallest_neutral

RULES = rulebook("2023")


def test_noncontinuous_and_125_percent_of_continuous():
    """230.42(A)(1), 2023 (thebuildingcodeforum.com 36541): 60 A + 1.25 x 80 A = 160 A; a 175 A
    device. The neutral on no device is taken at 100 % (exception 1)."""
    run = Run(10, noncontinuous_a=60, continuous_a=80, neutral_a=140, service=True, terminal_c=75)
    answer = size_run(run, RULES)
    assert answer.device_a == 175
    # Table 310.16, 75 °C copper: 1/0 carries 150 A, 2/0 carries 175 A; 140 A of neutral on 1/0.
    assert answer.size == "2/0"
    assert answer.neutral_size == "1/0"


def test_the_device_of_a_service_names_230_42():
    told = {"noncontinuous_a": 60, "continuous_a": 80, "full_rated": False, "rules": RULES}
    serves = next(t for t in device_for_load(service=True, **told).terms if t.name == "Factor")
    feeds = next(t for t in device_for_load(**told).terms if t.name == "Factor")
    assert serves.source.startswith("230.42(A)")
    assert feeds.source.startswith("210.20(A), 215.2(A)(1), 215.3")
    assert serves.value == feeds.value == 1.25


@pytest.mark.parametrize(
    ("hot", "metal", "least"),
    [("2", "copper", "8"), ("4/0", "aluminum", "2"), ("4/0", "copper", "2")],
)
def test_least_grounded_conductor(hot, metal, least):
    """230.42(C), 250.24, Table 250.102(C)(1) (from memory): up to 2 copper 8; up to 3/0 copper 4,
    350 copper 2; up to 250 aluminum 2 aluminum. Load of the neutral 1 A."""
    run = Run(10, noncontinuous_a=90, neutral_a=1, metal=metal, service=True)
    assert smallest_neutral(run, device_a=100, hot_size=hot, rules=RULES) == least


@pytest.mark.parametrize(("hot", "sets", "least"), [("750", 2, "2/0"), ("500", 4, "1/0")])
def test_a_grounded_conductor_in_parallel_goes_by_its_own_raceway(hot, sets, least):
    """250.24(C)(2), from 2023 (D)(2): by the hots in the raceway, never under 1/0; Table
    250.102(C)(1), copper: up to 600 kcmil 1/0, up to 1100 kcmil 2/0 (from memory)."""
    run = Run(10, noncontinuous_a=700, neutral_a=1, sets=sets, service=True)
    assert smallest_neutral(run, device_a=800, hot_size=hot, rules=RULES) == least
