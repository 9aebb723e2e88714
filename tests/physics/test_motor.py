"""Motors, running and held."""

from __future__ import annotations

import pytest

from server.physics.motor import amps_of_kva, group_amps, locked_rotor_kva


def test_amps_of_one_phase_and_of_three() -> None:
    assert amps_of_kva(kva=24.0, volts=240.0) == pytest.approx(100.0)
    assert amps_of_kva(kva=24.0, volts=240.0, phases=1) == pytest.approx(100.0)
    # 100 A over the square root of 3.
    assert amps_of_kva(kva=24.0, volts=240.0, phases=3) == pytest.approx(57.735, abs=1e-3)


def test_only_the_largest_motor_is_raised() -> None:
    assert group_amps(largest_a=40.0, others_a=17.0, largest_factor=1.25) == 67.0


def test_a_held_rotor_draws_its_code_letter_for_each_horsepower() -> None:
    assert locked_rotor_kva(horsepower=5.0, kva_per_hp=8.0) == 40.0
