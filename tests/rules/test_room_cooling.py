"""Room air conditioners on a cord and plug: their circuit (440.62) and its breaker (210.12)."""

from __future__ import annotations

import pytest

from server.rules.checks.asked import asked_a
from tests.rules.check_sites import RULES, codes, found, of_kind, plain


def window_unit(load_w, **changes):
    return of_kind("window", "main", (9,), "room-air", load_w=load_w, power_factor=1.0, **changes)


@pytest.mark.parametrize(("load_w", "fits"), [(1440, True), (1560, False)])
def test_one_alone_takes_80_percent_of_its_circuit_at_most(load_w, fits):
    """440.62(B), from memory: 12 A of a 15 A circuit; 1,560 W are 13 A, which ask for 16.25 A."""
    site = plain(window_unit(load_w, breaker_a=15))
    assert ("device-below-load" not in codes(site)) is fits
    if not fits:
        finding = found(site, "device-below-load")
        assert (finding.section, finding.value) == ("440.62(B)", pytest.approx(16.25))


@pytest.mark.parametrize(("load_w", "fits"), [(900, True), (960, False)])
def test_beside_lights_it_takes_half_of_it_at_most(load_w, fits):
    """440.62(C), from memory: 7.5 A of a 15 A circuit; 960 W are 8 A."""
    unit = window_unit(load_w, breaker_a=15)
    lamps = of_kind("lamps", "main", (9,), "lighting", load_w=60)
    both = unit.model_copy(update={"appliances": (*unit.appliances, *lamps.appliances)})
    assert ("device-below-load" not in codes(plain(both))) is fits
    if not fits:
        assert found(plain(both), "device-below-load").section == "440.62(C)"


def test_a_breaker_rated_for_all_of_its_amps_lets_a_room_unit_no_more():
    full = window_unit(1560, breaker_a=15).model_copy(update={"full_rated": True})
    assert asked_a(full, 240.0, RULES) == pytest.approx(16.25)


@pytest.mark.parametrize(("is_new", "kind", "asked"), [
    (True, "standard", True), (False, "standard", False), (True, "afci", False),
])  # fmt: skip
def test_a_new_circuit_of_a_window_unit_asks_for_arc_fault_protection(is_new, kind, asked):
    """210.12, from memory: all outlets of 120 V, 15 A and 20 A, of a dwelling's rooms."""
    unit = window_unit(1200, breaker_a=15).model_copy(
        update={"is_new": is_new, "breaker_type": kind}
    )
    assert ("new-circuit-arc-fault" in codes(plain(unit))) is asked
