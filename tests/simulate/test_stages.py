"""Runs in stages at less than their volts: a thermostat is on for longer. Sums by hand."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from server.domain.behaviour import Cycle, DailyStart, Stage, Timed
from server.simulate.run import simulate
from server.simulate.stages import stage_share_s
from tests.builders import appliance, circuit, normal_only_site, scenario, service

OVEN = np.array([(660.0, 0.95, 0.0, 0.0), (2700.0, 0.95, 70.0, 140.0)])
"""Heating up for 11 min, then a third on for 45: 0.95 x (660 + 900) = 1482 s of its watts."""


def on_s(begin_s: float, end_s: float, has: float, stages: np.ndarray = OVEN) -> float:
    return stage_share_s(stages, 0, len(stages), begin_s, end_s, has)


def test_an_oven_takes_the_same_energy_at_three_quarters_of_its_watts() -> None:
    """It lacks a quarter of 660 s; at 0.75 - 1/3 it makes that up in 165 / 0.41667 = 396 s.

    Then 93.3 of every 210 s: 0.75 x 0.95 x (660 + 396) + 0.95 x 2304 / 3 = 752.4 + 729.6 = 1482.
    """
    assert on_s(0.0, 3360.0, 1.0) == pytest.approx(1482.0, abs=70)
    assert 0.75 * on_s(0.0, 3360.0, 0.75) == pytest.approx(1482.0, abs=30)
    assert on_s(660.0, 1056.0, 0.75) == pytest.approx(0.95 * 396.0)
    assert on_s(1056.0, 1056.0 + 210.0, 0.75) == pytest.approx(0.95 * 70.0 / 0.75)


def test_what_has_all_its_watts_or_none_is_as_it_was() -> None:
    for has in (0.0, 1.0):
        assert on_s(0.0, 660.0, has) == pytest.approx(0.95 * 660.0)
        assert on_s(660.0, 870.0, has) == pytest.approx(0.95 * 70.0)


def test_one_that_cannot_keep_up_stays_on() -> None:
    """80 % on wants more than 0.75 gives: on all the time."""
    stages = np.array([(600.0, 1.0, 80.0, 20.0)])
    assert on_s(0.0, 600.0, 0.75, stages) == pytest.approx(600.0)


def test_pieces_come_to_the_whole() -> None:
    marks = np.arange(0.0, 3361.0, 30.0)
    parts = sum(on_s(a, b, 0.75) for a, b in pairwise(marks.tolist()))
    assert parts == pytest.approx(on_s(0.0, 3360.0, 0.75))


def test_an_oven_of_240_v_bakes_as_much_on_208_v() -> None:
    bake = Timed(
        stages=(
            Stage(minutes=11, share=0.95),
            Stage(minutes=45, share=0.95, cycle_on_s=70, cycle_off_s=140),
        ),
        starts=(DailyStart(hour=14),),
    )
    oven = appliance("oven", 4000, volts=240, load_type="resistance", behaviour=bake)
    used = {}
    for system in ("120/240", "120/208"):
        own = circuit("o", "main", 1, 3, appliances=(oven,), breaker_a=30)
        site = normal_only_site(circuits=(own,), services=(service(system=system),))
        run = simulate(site, scenario(span_h=4))
        used[system] = run.flows.taken_by("oven").sum() / 60_000
        assert run.flows.taken_by("oven").max() <= 3800 * (0.751 if system == "120/208" else 1.0)
    assert used["120/240"] == pytest.approx(4 * 0.95 * 26 / 60, rel=0.04)
    assert used["120/208"] == pytest.approx(used["120/240"], rel=0.04)


def test_a_heater_in_turns_gives_as_much_on_208_v() -> None:
    """3 kW, 10 min on and 20 off: 1 kW mean; 2.25 kW for 13.3 of 30 min is 1 kW too."""
    turns = Cycle(on_min=10, off_min=20)
    heater = appliance("heater", 3000, volts=240, load_type="resistance", behaviour=turns)
    used = {}
    for system in ("120/240", "120/208"):
        own = circuit("h", "main", 1, 3, appliances=(heater,), breaker_a=20)
        site = normal_only_site(circuits=(own,), services=(service(system=system),))
        run = simulate(site, scenario(span_h=240))
        used[system] = run.flows.taken_by("heater").sum() / 60_000
        assert run.flows.taken_by("heater").max() == pytest.approx(
            2250.0 if system == "120/208" else 3000.0, rel=0.002
        )
    assert used["120/240"] == pytest.approx(240.0, rel=0.02)
    assert used["120/208"] == pytest.approx(240.0, rel=0.02)
