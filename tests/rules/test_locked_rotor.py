"""Amps of a motor at standstill, and the drop they make in its feeder."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from server.rules.locked_rotor import held_rotor
from tests import builders
from tests.rules.check_sites import of_kind, plain


def pump(**told):
    circuit = of_kind("pump", "barn", (1, 3), "well-pump", load_w=1800)
    one = circuit.appliances[0].model_copy(
        update={"horsepower": 1.5, "locked_rotor_a": None, "code_letter": None, **told}
    )
    return circuit.model_copy(update={"appliances": (one,)})


@pytest.mark.parametrize(
    ("told", "amps", "basis"),
    [
        ({"locked_rotor_a": 55, "code_letter": "J"}, 55.0, "locked-rotor amps"),
        ({"code_letter": "J"}, 49.94, "code letter J, 1.5 hp"),
        ({}, 60.0, "Table 430.251(A), 1.5 hp, a guess"),
    ],
)
def test_what_is_told_goes_before_the_letter_and_that_before_the_table(told, amps, basis):
    """Letter J has at most 7.99 kVA/hp (Table 430.7(B)): 1.5 x 7,990 / 240 V; 60 A at 1-1/2 hp."""
    held = held_rotor(pump(**told).appliances[0])
    assert held.amps == pytest.approx(amps, abs=0.01)
    assert held.basis == basis
    assert held.read is ("guess" not in basis)


@pytest.mark.parametrize("told", [{"horsepower": None}, {"horsepower": 0.25}])
def test_without_a_row_or_a_horsepower_nothing_is_said(told):
    assert held_rotor(pump(**told).appliances[0]) is None


def test_a_soft_starter_and_the_source_stand_in_the_feeder_schedule():
    wire = Segment(run_ft=240, size="2", metal="aluminum", neutral_size="2", ground_size="4")
    site = plain(
        pump(start_share=0.5),
        panels=(builders.panel("main", main_a=200), builders.panel("barn")),
        feeders=(
            builders.feeder("grid", "main"),
            builders.feeder("main", "barn", breaker_a=60, segments=(wire,)),
        ),
    )
    (one,) = [w for w in check_site(site).wiring if w.segments]
    assert (one.start_a, one.start_volts) == (pytest.approx(30.0), 240)
    assert one.start_basis.startswith("Table 430.251(A)")
    assert one.start_drop is not None
