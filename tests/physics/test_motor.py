"""Motors, running and held."""

from __future__ import annotations

import pytest

from server.physics.motor import (
    amps_of_kva,
    group_amps,
    locked_rotor_kva,
    overlaps_per_h,
    start_dip,
)


def test_amps_of_one_phase_and_of_three() -> None:
    assert amps_of_kva(kva=24.0, volts=240.0) == pytest.approx(100.0)
    assert amps_of_kva(kva=24.0, volts=240.0, phases=1) == pytest.approx(100.0)
    # 100 A over the square root of 3.
    assert amps_of_kva(kva=24.0, volts=240.0, phases=3) == pytest.approx(57.735, abs=1e-3)


def test_only_the_largest_motor_is_raised() -> None:
    assert group_amps(largest_a=40.0, others_a=17.0, largest_factor=1.25) == 67.0


def test_a_held_rotor_draws_its_code_letter_for_each_horsepower() -> None:
    assert locked_rotor_kva(horsepower=5.0, kva_per_hp=8.0) == 40.0


def test_a_start_as_strong_as_the_set_s_own_short_halves_the_volts() -> None:
    # 20 kVA behind 0.25 is 80 kVA of short; 80 beside 80 is half, 20 beside 80 a fifth.
    assert start_dip(start_kva=80.0, set_kva=20.0, reactance_pu=0.25) == pytest.approx(0.5)
    assert start_dip(start_kva=20.0, set_kva=20.0, reactance_pu=0.25) == pytest.approx(0.2)


def test_two_motors_overlap_as_often_as_their_starts_are_long() -> None:
    # One start an hour meets 6 others an hour within 2 + 4 s: 36 s of 3600.
    meets = overlaps_per_h(first_per_h=1.0, second_per_h=6.0, first_s=2.0, second_s=4.0)
    assert meets == pytest.approx(0.01, rel=1e-9)
