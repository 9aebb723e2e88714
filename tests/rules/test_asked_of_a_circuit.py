"""What a branch circuit is asked to carry: motors by table, loads held on, cars on a wye.

430.6(A)(1) with Table 430.248 at 115 V (3/4 hp 13.8 A); 210.20(A); 440.62(C); 625.41 and 625.42:
from memory but for the table's rows (reference of the table itself).
"""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.checks.asked import asked_a, wire_asked_a
from server.rules.checks.drawn import nameplate_a
from server.rules.demand.report import demand_of
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES, codes, found, of_kind, plain


def with_appliances(circuit, *appliances, **changes):
    return circuit.model_copy(update={"appliances": appliances, **changes})


def test_motors_that_share_a_circuit_count_by_the_table():
    """Two of 3/4 hp: 13.8 A x 2.25 = 31.05 A (430.24)."""
    one = of_kind("fans", "main", (1,), "ventilation-fan", load_w=900, horsepower=0.75)
    other = KINDS["ventilation-fan"].appliance("second", load_w=900, horsepower=0.75)
    both = with_appliances(one, *one.appliances, other)
    assert asked_a(both, 240, RULES) == pytest.approx(31.05)


def test_a_motor_alone_asks_no_less_of_its_breaker_than_its_table():
    pump = of_kind("pump", "main", (1, 3), "irrigation-pump", load_w=900, horsepower=3.0)
    assert asked_a(pump, 240, RULES) == pytest.approx(17.0)
    small = pump.model_copy(update={"breaker_a": 15.0})
    assert found(plain(small), "device-below-load").value == pytest.approx(17.0)


def test_a_car_that_charges_for_hours_counts_beside_the_largest_other_thing():
    """The car at 125 % and the opener in full; the freezer is less and adds nothing (210.20(A))."""
    base = of_kind("garage", "main", (1,), "garage-door", load_w=600, breaker_a=20)
    car = KINDS["car-charger-120"].appliance("car", load_w=1440)
    plug = KINDS["freezer"].appliance("freezer", load_w=120)
    opener = base.appliances[0]
    circuit = with_appliances(base, opener, car, plug)
    least_a = 1.25 * nameplate_a(car, 240) + nameplate_a(opener, 240)
    assert asked_a(circuit, 240, RULES) == pytest.approx(least_a)
    assert "device-below-load" in codes(plain(circuit))


def test_the_wire_of_a_room_unit_is_not_asked_for_twice_its_amps():
    unit = of_kind("beds", "main", (1,), "room-air", load_w=1200, breaker_a=20)
    plugs = KINDS["plugs"].appliance("plugs", load_w=300)
    circuit = with_appliances(unit, *unit.appliances, plugs, wire_size="14")
    assert asked_a(circuit, 240, RULES) > 20
    assert wire_asked_a(circuit, 240, RULES) == 20
    assert "12 copper" in found(plain(circuit), "breaker-above-wire").mend


def test_small_aluminum_wire_is_told_and_new_wire_is_copper():
    lights = of_kind("lights", "main", (1,), "lighting", breaker_a=20).model_copy(
        update={"wire_size": "12", "wire_metal": "aluminum"}
    )
    site = plain(lights)
    assert "CO/ALR" in found(site, "aluminum-branch").text
    assert "12 copper" in found(site, "breaker-above-wire").mend
    copper = plain(lights.model_copy(update={"wire_metal": "copper"}))
    assert "aluminum-branch" not in codes(copper)


def test_vehicle_equipment_draws_its_amps_at_208_volts_too():
    """48 A of equipment: 60 A of breaker (625.41), and 48 A x 208 V on the sheet."""
    car = of_kind("car", "panel", (9, 11), "car-charger-48")
    assert asked_a(car, 208, RULES) == pytest.approx(60.0)
    base = builders.system_208_site(scenarios=())
    panel_id = base.panels[0].id
    site = with_parts(
        base, circuits=(*base.circuits, car.model_copy(update={"panel_id": panel_id}))
    )
    sheet = demand_of(site, site.services[0].id, rules=RULES).sheet("standard")
    line = next(x for x in sheet.lines if x.label == car.appliances[0].name)
    assert line.demand_va == pytest.approx(48 * 208)


@pytest.mark.parametrize(
    ("second", "load_w", "advised_a"),
    [
        ("dryer", 5000, None),  # a dryer's outlet is behind 30 A at most
        ("air-compressor", 1900, None),  # 40 A is for cooking alone in a dwelling (210.23)
        ("cooktop", 6000, 40),
    ],
)
def test_several_outlets_are_given_no_breaker_that_outlets_do_not_have(second, load_w, advised_a):
    """Ratings of several outlets are 15 to 50 A (210.18 and Table 210.21(B)(3)), from memory."""
    oven = of_kind("oven", "main", (1, 3), "wall-oven", load_w=5500, breaker_a=30)
    other = KINDS[second].appliance("second", load_w=load_w)
    both = with_appliances(oven, *oven.appliances, other)
    one = found(plain(both), "device-below-load")
    assert (one.advised and one.advised.amps) == advised_a
    assert ("a circuit of its own" in one.mend) == (advised_a is None)
