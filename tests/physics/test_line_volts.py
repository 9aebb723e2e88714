"""Volts along a tree of lines, against circuits that have an answer in closed form."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from server.physics.line_volts import (
    BETWEEN,
    L1,
    L2,
    Tree,
    volts_at_nominal_amps,
    volts_under_load,
)

SPLIT = (120 + 0j, -120 + 0j)
WYE = (120 + 0j, cmath.rect(120, math.radians(-120)))


def none_at(nodes: int, times: int = 1) -> np.ndarray:
    return np.zeros((nodes, 3, times), dtype=np.complex128)


def line(hot: complex, neutral: complex, source_v=SPLIT) -> Tree:
    return Tree((-1, 0), np.array([0, hot]), np.array([0, neutral]), source_v)


@pytest.mark.parametrize("source_v", [SPLIT, WYE])
@pytest.mark.parametrize("leg", [L1, L2, BETWEEN])
def test_a_fixed_impedance_divides_its_volts_with_the_line(source_v, leg):
    hot, neutral = 0.2 + 0.05j, 0.3 + 0.1j
    tree = line(hot, neutral, source_v)
    load = none_at(2)
    load[1, leg] = 2400 + 900j
    full_v = tree.nominal_v[leg]
    own_ohm = abs(full_v) ** 2 / (2400 - 900j)
    line_ohm = 2 * hot if leg == BETWEEN else hot + neutral
    found = volts_under_load(tree, power_va=0 * load, impedance_va=load)
    assert found[1, leg, 0] == pytest.approx(full_v * own_ohm / (own_ohm + line_ohm))
    assert found[0, :, 0] == pytest.approx(tree.nominal_v)


def test_the_current_of_one_leg_lifts_the_volts_of_the_other_by_the_neutral():
    load = none_at(2)
    load[1, L1] = 1440.0
    found = volts_under_load(line(0.1, 0.4), power_va=0 * load, impedance_va=load)
    amps = 120 / (10 + 0.5)
    assert found[1, L1, 0].real == pytest.approx(120 - 0.5 * amps)
    assert found[1, L2, 0].real == pytest.approx(-120 - 0.4 * amps)
    assert found[1, BETWEEN, 0].real == pytest.approx(240 - 0.1 * amps)


def test_equal_loads_on_both_legs_leave_the_neutral_still():
    load = none_at(2)
    load[1, (L1, L2)] = 1440.0
    found = volts_under_load(line(0.1, 5.0), power_va=0 * load, impedance_va=load)
    assert abs(found[1, L1, 0]) == pytest.approx(120 * 10 / 10.1)
    assert abs(found[1, L2, 0]) == pytest.approx(120 * 10 / 10.1)


@pytest.mark.parametrize("source_v", [SPLIT, WYE])
def test_constant_power_takes_the_upper_root_of_its_quadratic(source_v):
    """``v = (V + sqrt(V^2 - 4 P R)) / 2`` of a resistive load behind a resistive line."""
    tree = line(0.3, 0.0, source_v)
    load = none_at(2)
    load[1, BETWEEN] = 4000.0
    full_v = abs(tree.nominal_v[BETWEEN])
    found = volts_under_load(tree, power_va=load, impedance_va=0 * load)
    upper = (full_v + math.sqrt(full_v**2 - 4 * 4000 * 0.6)) / 2
    assert abs(found[1, BETWEEN, 0]) == pytest.approx(upper, abs=1e-5)


def test_lagging_constant_power_gets_its_power_and_its_reactive_power():
    load = none_at(2)
    load[1, L1] = 1500 + 1100j
    hot, neutral = 0.2 + 0.1j, 0.25 + 0.1j
    found = volts_under_load(line(hot, neutral), power_va=load, impedance_va=0 * load)
    amps = (120 - found[1, L1, 0]) / (hot + neutral)
    drawn = found[1, L1, 0] * np.conj(amps)
    assert drawn == pytest.approx(1500 + 1100j, rel=1e-6)


def test_constant_power_is_held_to_the_edge_of_what_the_line_can_give():
    load = none_at(2)
    load[1, L1] = 3_590.0
    found = volts_under_load(line(0.5, 0.5), power_va=load, impedance_va=0 * load)
    assert abs(found[1, L1, 0]) == pytest.approx(60 + math.sqrt(3600 - 3590.0), abs=0.05)


def test_more_power_than_a_line_can_give_is_an_impedance_below_half_of_its_volts():
    """No 20 kW come through 1 ohm: it draws as what takes 20 kW at 60 V, 0.18 ohm."""
    load = none_at(2)
    load[1, L1] = 20_000.0
    found = volts_under_load(line(0.5, 0.5), power_va=load, impedance_va=0 * load)
    assert found[1, L1, 0] == pytest.approx(120 * 0.18 / 1.18)


def test_a_locked_rotor_behind_more_ohms_than_its_own_divides_the_volts_and_no_more():
    """Beside it stands a time of light load, which sweeps settle."""
    load = none_at(3, times=2)
    load[2, BETWEEN] = [48_000.0, 2_400.0]  # 1.2 and 24 ohm
    load[1, L1] = 0.0
    tree = Tree((-1, 0, 1), np.array([0, 0.4, 0.6]), np.array([0, 0.4, 0.6]), SPLIT)
    found = volts_under_load(tree, power_va=0 * load, impedance_va=load)
    assert found[2, BETWEEN].real == pytest.approx([240 * 1.2 / 3.2, 240 * 24 / 26])
    assert found[1, BETWEEN, 0].real == pytest.approx(240 * 2.4 / 3.2)
    assert found[1, (L1, L2), 0].real == pytest.approx([90, -90])


def test_what_hangs_further_out_is_added_on_the_way_to_the_source():
    """Three panels in a row and one beside them, of impedances, against the nodal equations."""
    parent = (-1, 0, 1, 2, 1)
    ohm = np.array([0, 0.05, 0.1, 0.2, 0.3], dtype=np.complex128)
    tree = Tree(parent, ohm, ohm, SPLIT)
    load = none_at(5)
    watts = (0.0, 1200.0, 2400.0, 1800.0, 3000.0)
    load[:, BETWEEN, 0] = watts
    siemens = np.zeros((5, 5), dtype=np.complex128)
    for node in range(1, 5):
        through = 1 / (2 * ohm[node])
        siemens[node, node] += through + watts[node] / 240**2
        siemens[parent[node], parent[node]] += through
        siemens[node, parent[node]] -= through
        siemens[parent[node], node] -= through
    known = siemens[1:, 0] * 240
    exact = np.linalg.solve(siemens[1:, 1:], -known)
    found = volts_under_load(tree, power_va=0 * load, impedance_va=load)
    assert found[1:, BETWEEN, 0] == pytest.approx(exact, abs=1e-4)


def test_volts_at_nominal_amps_are_those_of_one_sweep_and_times_do_not_touch_each_other():
    load = none_at(2, times=3)
    load[1, BETWEEN] = [0.0, 2400.0, 4800.0]
    for power, impedance in ((load, 0 * load), (0 * load, load)):
        found = volts_at_nominal_amps(line(0.1, 0.1), power_va=power, impedance_va=impedance)
        assert found[1, BETWEEN].real == pytest.approx([240.0, 238.0, 236.0])


def test_a_leg_without_volts_draws_nothing():
    tree = line(0.1, 0.1, (120 + 0j, 0j))
    load = none_at(2)
    load[1, L2] = 500.0
    found = volts_under_load(tree, power_va=load, impedance_va=load)
    assert found[1, :, 0] == pytest.approx([120, 0, 120])
