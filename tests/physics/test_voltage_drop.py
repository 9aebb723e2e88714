"""Volts lost along a run."""

from __future__ import annotations

import math
from typing import Any

import pytest

from server.physics.voltage_drop import (
    circular_mils_drop_v,
    drop_over_segments_v,
    drop_v,
    longest_run_ft,
)


def test_drop_counts_the_way_out_and_back() -> None:
    # 20 A through 100 ft of 2 ohm/kft: 20 x 0.2 each way.
    assert drop_v(amps=20.0, ohm_per_kft=2.0, run_ft=100.0) == pytest.approx(8.0)
    assert drop_v(amps=20.0, ohm_per_kft=2.0, run_ft=100.0, wires=1.0) == pytest.approx(4.0)


@pytest.mark.parametrize("name", ["amps", "ohm_per_kft", "run_ft"])
@pytest.mark.parametrize("value", [-1.0, -1e-9, math.nan, math.inf])
def test_what_is_negative_or_no_number_is_refused_by_name(name: str, value: float) -> None:
    figures: dict[str, Any] = {"amps": 1.0, "ohm_per_kft": 1.0, "run_ft": 1.0, name: value}
    with pytest.raises(ValueError, match=f"^{name} .*{value:g}"):
        drop_v(**figures)


def test_no_current_and_no_length_drop_nothing() -> None:
    assert drop_v(amps=0.0, ohm_per_kft=1.0, run_ft=100.0) == 0.0
    assert drop_v(amps=5.0, ohm_per_kft=1.0, run_ft=0.0) == 0.0


def test_segments_add_up() -> None:
    # 10 A: 2 x 10 x (0.05 + 0.1) ohm.
    assert drop_over_segments_v(amps=10.0, segments=[(1.0, 50.0), (2.0, 50.0)]) == pytest.approx(3)


def test_the_longest_run_drops_just_what_is_allowed() -> None:
    # 2 x 20 A x 2 ohm/kft is 0.08 V a foot; 7.2 V allow 90 ft.
    assert longest_run_ft(amps=20.0, ohm_per_kft=2.0, allowed_v=7.2) == pytest.approx(90.0)
    assert longest_run_ft(amps=0.0, ohm_per_kft=2.0, allowed_v=7.2) == math.inf


def test_the_resistivity_gives_the_same_drop() -> None:
    # 12.9 ohm circular mils a foot over 6530 cmil is 1.9755 ohm/kft.
    by_mils = circular_mils_drop_v(amps=16.0, k_ohm=12.9, cmil=6530.0, run_ft=70.0)
    assert by_mils == pytest.approx(drop_v(amps=16.0, ohm_per_kft=12900 / 6530, run_ft=70.0))
