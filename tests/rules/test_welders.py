"""A welder alone on its circuit (630.11, 630.12), and what asks for protection at a plug."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.rules.check_sites import codes, found, of_kind, plain
from tests.rules.test_checks_of_protection import new


def welder(breaker_a: float, size: str, kind: str = "welder"):
    own = of_kind("x", "main", (1, 3), kind, breaker_a=breaker_a, load_w=9000)
    return plain(own.model_copy(update={"wire_size": size}))


@pytest.mark.parametrize(
    ("breaker_a", "size", "told"),
    [
        (50, "10", ("welder-plate-asked", "note")),
        (60, "10", ("welder-plate-asked", "note")),
        (70, "10", ("breaker-above-wire", "blocking")),
        (50, "6", None),
    ],
)
def test_a_welder_s_breaker_may_be_twice_what_its_wire_carries(breaker_a, size, told):
    """10 copper carries 30 A at 60 °C (Table 310.16): 60 A at most (630.12(B), from memory)."""
    wired = {"breaker-above-wire", "branch-wire-small", "welder-plate-asked"}
    mine = [f for f in check_site(welder(breaker_a, size)).findings if f.code in wired]
    assert [(f.code, f.severity) for f in mine] == ([told] if told else [])


def test_a_welder_on_a_plug_of_120_volts_asks_for_no_larger_breaker():
    """20.8 A by its plate; at a duty of 20 % its wire carries 0.45 of that (630.11(A))."""
    own = of_kind("x", "main", (1,), "welder", breaker_a=20, load_w=2000, volts=120)
    (thing,) = own.appliances
    plated = thing.model_copy(update={"power_factor": 0.8})
    site = plain(own.model_copy(update={"wire_size": "12", "appliances": (plated,)}))
    assert not codes(site) & {"device-below-load", "branch-wire-small", "breaker-above-wire"}


def test_a_kiln_has_no_such_rule():
    assert "breaker-above-wire" in codes(welder(50, "10", "kiln"))


@pytest.mark.parametrize(("breaker_type", "asked"), [("standard", True), ("gfci", False)])
def test_a_new_circuit_for_a_car_is_asked_about_its_plug(breaker_type, asked):
    """625.54: outlets for vehicles, not equipment wired in place."""
    site = new("car-charger-40", (1, 3), breaker_type=breaker_type)
    assert ("new-circuit-ground-fault" in codes(site)) is asked
    if asked:
        finding = found(site, "new-circuit-ground-fault")
        assert (finding.severity, finding.section) == ("note", "625.54")
    assert "new-circuit-ground-fault" not in codes(new("car-charger-40", (1, 3), is_new=False))
