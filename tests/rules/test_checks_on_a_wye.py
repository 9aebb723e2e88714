"""Branch circuits of a panel on two legs of a 120/208 V wye: 208 V between the legs (220.5(A))."""

from __future__ import annotations

import pytest

from server.domain.site import Site
from tests.builders import with_parts
from tests.rules.check_sites import codes, found, of_kind, plain


def wye(*circuits) -> Site:
    """A house on a 120/208 V service with these circuits."""
    site = plain(*circuits)
    (service,) = site.services
    return with_parts(site, services=(service.model_copy(update={"system": "120/208"}),))


def one(kind: str, breaker_a: float, **more):
    return of_kind("x", "main", (1, 3), kind, breaker_a=breaker_a, **more)


@pytest.mark.parametrize(
    ("kind", "load_w", "breaker_a", "asked_a", "section"),
    [
        ("water-heater", 4500, 25, 27.04, "422.13"),
        ("baseboard", 3750, 20, 22.54, "424.4(B)"),
        ("car-charger-48", 9984, 50, 60.0, "625.41"),
    ],
)
def test_the_device_goes_by_the_plate_over_208_volts(kind, load_w, breaker_a, asked_a, section):
    """125 % of 4,500 / 208 = 21.63 A, of 3,750 / 208 = 18.03 A and of 9,984 / 208 = 48 A."""
    own = one(kind, breaker_a, load_w=load_w)
    finding = found(wye(own), "device-below-load")
    assert finding.value == pytest.approx(asked_a, abs=0.01)
    assert finding.section == section
    at_240 = found(wye(own), "device-below-load").value * 208 / 240
    assert ("device-below-load" in codes(plain(own))) is (at_240 > breaker_a + 0.5)


def test_a_motor_goes_by_the_table_s_column_for_208_volts():
    """1 hp: 8.8 A at 208 V by Table 430.248; 250 % is 22 A, so 25 A, and 20 A at 230 V."""
    own = one("well-pump", 25, horsepower=1.0)
    assert "motor-device-large" not in codes(wye(own))
    assert found(plain(own), "motor-device-large").limit == 20
    larger = found(wye(one("well-pump", 30, horsepower=1.0)), "motor-device-large")
    assert (larger.limit, larger.text.split(";")[0]) == (
        25,
        "Well pump, 1 hp draws 8.8 A by the table",
    )


def test_a_tank_s_largest_breaker_goes_by_its_amps_there():
    """150 % of 3,380 / 208 = 16.25 A is 24.4 A, so 25 A (422.11(E)(3))."""
    finding = found(wye(one("water-heater", 30, load_w=3380)), "breaker-above-appliance")
    assert finding.limit == 25
    assert "150 % of its 16.3 A" in finding.text or "150 % of its 16.2 A" in finding.text


def test_an_oven_goes_by_its_plate_over_208_volts():
    """8 kW is 38.5 A at 208 V and 33.3 A at 240 V."""
    own = one("range-oven", 35, load_w=8000)
    assert found(wye(own), "device-below-load").value == pytest.approx(8000 / 208, abs=0.01)
    assert "device-below-load" not in codes(plain(own))
