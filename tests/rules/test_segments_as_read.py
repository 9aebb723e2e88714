"""Terminals, air and company of a feeder segment, as they were read."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.wiring.feeder import feeder_wiring
from tests.rules.check_sites import RULES, codes, wired_shed


def part(size="1", **segment):
    """The segment of a 100 A feeder of 30 ft that carries a 20 kW kiln (83.3 A and 25 %)."""
    site = wired_shed(size, metal="copper", run_ft=30, **segment)
    return next(w for w in feeder_wiring(site, rules=RULES) if w.device_a == 100).segments[0]


def test_unread_terminals_up_to_100_a_are_taken_at_60():
    assert part("1").ampacity.final_a == 110
    assert part("1", terminal_c=75).ampacity.final_a == 130


def test_terminals_read_as_60_are_not_asked_for_again():
    asked = wired_shed("2", metal="copper", run_ft=30, load_w=24_000)
    read = wired_shed("2", metal="copper", run_ft=30, load_w=24_000, terminal_c=75)
    assert "terminals-asked" in codes(asked)
    assert "terminals-asked" not in codes(read)
    low = wired_shed("2", metal="copper", run_ft=30, load_w=20_000, terminal_c=60)
    assert "wire-too-small" in codes(low)


def terminal_finding(load_w, size="2", **changes):
    site = wired_shed(size, metal="copper", run_ft=30, load_w=load_w, **changes)
    return next((f for f in check_site(site).findings if f.code == "terminals-asked"), None)


def test_a_load_above_what_75_degrees_gives_is_not_called_enough():
    """2 copper: 95 A at 60 °C, 115 A at 75 °C (Table 310.16). 20 kW and 25 % more is 108 A,
    40 kW 192 A; behind 100 A the wire carries what its device lets through."""
    within = terminal_finding(20_000)
    assert "is enough only if the terminals at both ends are marked 75 °C" in within.text
    above = terminal_finding(40_000)
    assert "enough only if" not in above.text
    assert (
        "marked 75 °C at both ends it carries 115 A, enough for its device of 100 A" in above.text
    )


def test_hot_air_lowers_from_the_insulations_own_column():
    """1 copper THWN-2: 145 A x 0.82 at 120 °F (48.9 °C, band 46 to 50) = 118.9 A, not 110 less."""
    hot = part("1", ambient_f=120, terminal_c=75)
    assert hot.ampacity.adjusted_a == pytest.approx(145 * 0.82)
    assert hot.ampacity.final_a == pytest.approx(118.9)


def test_company_lowers_too():
    """145 A x 0.7 with nine current-carrying wires = 101.5 A."""
    assert part("1", current_carrying=9, terminal_c=75).ampacity.final_a == pytest.approx(101.5)


def test_air_too_hot_for_the_insulation_is_told_with_the_range():
    site = wired_shed("1", metal="copper", run_ft=30, ambient_f=200, insulation="THWN")
    wiring = next(w for w in check_site(site).wiring if w.device_a == 100)
    assert not wiring.segments
    assert any("°C" in m for m in wiring.missing)
