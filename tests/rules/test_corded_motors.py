"""What plugs in is not freed of its wire's protection as a motor wired in place is (240.4(G))."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.rules.check_sites import codes, found, of_kind, plain


def wired(kind: str, breaker_a: float, size: str, spaces=(1,)):
    own = of_kind("x", "main", spaces, kind, breaker_a=breaker_a)
    return plain(own.model_copy(update={"wire_size": size}))


@pytest.mark.parametrize(
    ("kind", "breaker_a", "size", "most_a"),
    [
        ("room-air", 20, "14", 15),
        ("room-air", 30, "14", 15),
        ("garage-door", 25, "14", 15),
        ("disposer", 25, "14", 15),
        ("sump-pump", 20, "14", 15),
        ("band-saw", 30, "12", 20),
    ],
)
def test_a_cord_of_120_volts_takes_its_wire_s_own_device(kind, breaker_a, size, most_a):
    """240.4(D): 15 A on 14, 20 A on 12 copper, whatever its terminals are marked."""
    finding = found(wired(kind, breaker_a, size), "breaker-above-wire")
    assert (finding.severity, finding.limit) == ("blocking", most_a)
    assert "breaker-above-wire" not in codes(wired(kind, most_a, size))


@pytest.mark.parametrize(
    ("kind", "horsepower", "load_w", "breaker_a", "size"),
    [
        ("disposer", 0.75, 750, 15, "14"),
        ("sump-pump", 0.75, 1000, 15, "14"),
        ("band-saw", 1.5, 1780, 20, "12"),
        ("shop-vacuum", 5.0, 1300, 15, "14"),
    ],
)
def test_a_listed_appliance_on_a_cord_goes_by_its_own_plate(
    kind, horsepower, load_w, breaker_a, size
):
    """430.6(A)(1) exception 3: 8.9 A, and not the 13.8 A of Table 430.248 for 3/4 hp."""
    own = of_kind("x", "main", (1,), kind, breaker_a=breaker_a, load_w=load_w)
    (thing,) = own.appliances
    plated = thing.model_copy(update={"horsepower": horsepower, "power_factor": 1.0})
    site = plain(own.model_copy(update={"wire_size": size, "appliances": (plated,)}))
    assert not codes(site) & {"branch-wire-small", "breaker-above-wire", "device-below-load"}


def test_a_breaker_is_no_mend_that_is_under_what_the_load_asks_for():
    """A saw of 3 hp asks its wire for 125 % of 17 A (430.22); 20 A is too little."""
    site = wired("table-saw", 40, "12", (1, 3))
    finding = found(site, "breaker-above-wire")
    assert finding.advised is None or finding.advised.of == "wire"


def test_a_machine_of_240_volts_may_be_wired_in_place():
    finding = found(wired("table-saw", 40, "12", (1, 3)), "breaker-above-wire")
    assert finding.severity == "warning"
    assert "without a plug, a motor’s own rule may allow it" in finding.mend


@pytest.mark.parametrize("kind", ["well-pump", "central-air"])
def test_a_motor_wired_in_place_keeps_its_own_rule(kind):
    assert "breaker-above-wire" not in codes(wired(kind, 25, "12", (1, 3)))


def test_a_larger_breaker_for_a_room_unit_is_tried_with_larger_wire():
    """15 A is small for it, and 20 A asks for 12 copper (240.4(D))."""
    unit = of_kind("x", "main", (1,), "room-air", breaker_a=15, load_w=1480)
    site = plain(unit.model_copy(update={"wire_size": "14"}))
    (finding,) = [
        f for f in check_site(site, recheck=True).findings if f.code == "device-below-load"
    ]
    assert "20 A breaker with wire for it, 12 copper" in finding.mend
    assert finding.recheck.change.startswith("a 20 A breaker and 12 copper wire")
    assert finding.recheck.clears
    assert not finding.recheck.brings


@pytest.mark.parametrize(
    ("kind", "breaker_a", "severity"),
    [
        ("dishwasher", 20, None),
        ("dishwasher", 30, "note"),
        ("car-charger-120", 30, "note"),
        ("sump-pump", 30, "note"),
        ("room-air", 30, "note"),
        ("disposer", 40, "warning"),
    ],
)
def test_outlets_of_15_and_20_amps_may_not_stand_on_a_larger_breaker(kind, breaker_a, severity):
    """210.21(B)(1) of a single outlet, Table 210.21(B)(3) of several; 210.23."""
    site = plain(of_kind("x", "main", (1,), kind, breaker_a=breaker_a))
    large = [f for f in check_site(site).findings if f.code == "plug-breaker-large"]
    assert [f.severity for f in large] == ([severity] if severity else [])
    assert all("with a plug as a rule" in f.text for f in large)


def test_larger_wire_is_no_mend_behind_outlets_of_20_amps():
    """Two heaters held on ask for 30.8 A; their outlets stand on 20 A at most."""
    unit = of_kind("x", "main", (1,), "portable-heater", breaker_a=20, load_w=1480, continuous=True)
    (one,) = unit.appliances
    two = one.model_copy(update={"id": "second"})
    site = plain(unit.model_copy(update={"wire_size": "12", "appliances": (one, two)}))
    finding = found(site, "branch-wire-small")
    assert finding.advised is None
    assert finding.mend == "Put less on it, or give what draws most a circuit of its own."
