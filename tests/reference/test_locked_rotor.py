"""Locked-rotor currents and kilovolt-amperes of single-phase motors against the code's tables."""

from __future__ import annotations

import pytest

from server.advise.starts import start_kva
from server.domain.appliance import Appliance
from server.rules.locked_rotor import table_locked_rotor_a
from server.rules.tables import read_toml

# NEC Table 430.251(A), 2008 edition: 1/2, 3/4, 1, 1-1/2, 2, 3, 5, 7-1/2, 10 hp at 115 and 230 V.
PRINTED = {
    0.5: (58.8, 29.4),
    0.75: (82.8, 41.4),
    1: (96, 48),
    1.5: (120, 60),
    2: (144, 72),
    3: (204, 102),
    5: (336, 168),
    7.5: (480, 240),
    10: (600, 300),
}


def test_the_table_as_printed():
    for horsepower, amps in PRINTED.items():
        assert tuple(table_locked_rotor_a(horsepower, v) for v in (120, 240)) == amps


def test_every_row_is_six_times_its_full_load():
    """Table 430.251(A) over Table 430.248, at 115, 208 and 230 V, within its rounding."""
    motors = read_toml("motors")
    full = {r["hp"]: dict(zip(motors["table"]["volts"], r["full_load_a"], strict=True))
            for r in motors["rows"]}  # fmt: skip
    table = motors["locked_rotor"]
    for row in table["rows"]:
        for volts, amps in zip(table["volts"], row["amps"], strict=True):
            assert amps == pytest.approx(table["factor"] * full[row["hp"]][volts], rel=0.015)


@pytest.mark.parametrize(("horsepower", "letter", "kva_per_hp"), [(1, "L", 9.99), (3, "K", 8.99)])
def test_a_120_v_start_is_its_own_volts_times_its_amps(horsepower, letter, kva_per_hp):
    """430.7(B), letters usual for the size (from memory): the letter's most kVA, within 25 % of
    V x LRA of Table 430.251(A) at 115 V. Twice its kVA, as of both legs, would be far outside."""
    plain = {"id": "a", "name": "A", "load_w": 900, "load_type": "motor"}
    plate_a = PRINTED[horsepower][0]
    by_amps = start_kva(Appliance(**plain, locked_rotor_a=plate_a))[0]
    assert by_amps == pytest.approx(120 * plate_a / 1000)
    by_letter = start_kva(Appliance(**plain, horsepower=horsepower, code_letter=letter))[0]
    assert by_letter == pytest.approx(kva_per_hp * horsepower)
    assert by_amps == pytest.approx(by_letter, rel=0.25)
