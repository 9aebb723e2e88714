"""What shares a circuit: Table 210.21(B)(3), from memory; 625.40."""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.domain.supply import EnergyGroup
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from tests.builders import with_parts
from tests.rules.check_sites import RULES, codes, found, of_kind, plain


def shared(kind, spaces, *others, breaker_a, **changes):
    one = of_kind("both", "main", spaces, kind, breaker_a=breaker_a)
    more = tuple(KINDS[k].appliance(f"more-{k}") for k in others)
    return plain(one.model_copy(update={"appliances": (*one.appliances, *more), **changes}))


@pytest.mark.parametrize(("breaker_a", "told"), [(20.0, False), (30.0, True)])
def test_120_v_plugs_are_seen_behind_a_breaker_of_two_poles(breaker_a, told):
    site = shared("dryer", (1, 3), "washer", breaker_a=breaker_a)
    assert ("plug-breaker-large" in codes(site)) == told
    if told:
        one = found(site, "plug-breaker-large")
        assert one.severity == "warning"
        assert KINDS["washer"].name in one.text
        assert one.limit == 20


def test_a_dryer_beside_a_vehicle_stands_behind_30_a_at_most():
    site = shared("car-charger-24", (1, 3), "dryer", breaker_a=60.0)
    assert {"breaker-above-appliance", "vehicle-not-alone"} <= codes(site)
    one = found(site, "breaker-above-appliance")
    assert (one.value, one.limit) == (60.0, 30.0)
    assert "breaker-above-appliance" not in codes(
        shared("dryer", (1, 3), "water-heater", breaker_a=30.0)
    )


def test_two_vehicles_want_a_circuit_each_or_a_manager():
    site = shared("car-charger-32", (1, 3), "car-charger-24", breaker_a=80.0)
    assert found(site, "vehicle-not-alone").severity == "warning"
    tried = next(
        f for f in check_site(site, recheck=True).findings if f.code == "vehicle-not-alone"
    )
    assert tried.recheck.clears
    (circuit,) = site.circuits
    held = with_parts(
        site,
        circuits=(circuit.model_copy(update={"energy_group_id": "m"}),),
        energy_groups=(EnergyGroup(id="m", name="Manager", setting_a=40),),
    )
    assert "vehicle-not-alone" not in codes(held)
    assert "vehicle-not-alone" not in codes(shared("car-charger-120", (1,), "plugs", breaker_a=20))


@pytest.mark.parametrize(("volts", "va"), [(240, 5000), (120, 0)])
def test_a_heat_pump_dryer_between_the_legs_is_a_dryer(volts, va):
    """5,000 VA or the plate of a household electric dryer (220.54)."""
    spaces = (1, 3) if volts == 240 else (1,)
    site = plain(of_kind("dry", "main", spaces, "heat-pump-dryer", volts=volts))
    sheet = next(s for s in demand_of(site, "main", rules=RULES).sheets if s.method == "standard")
    named = [x.demand_va for x in sheet.lines if x.label == KINDS["heat-pump-dryer"].name]
    assert sum(named) == va


def test_a_sheet_says_that_a_dryer_of_120_v_is_a_laundry_circuit():
    """220.52(B), 1,500 VA a circuit; 220.54 is of dryers between the legs."""

    def note(volts, spaces, *more):
        dry = of_kind("dry", "main", spaces, "heat-pump-dryer", volts=volts)
        sheet = demand_of(plain(dry, *more), "grid", rules=RULES).sheet("standard")
        (line,) = (x for x in sheet.lines if x.label == "Laundry circuits")
        return line.note

    assert note(120, (1,)) == (
        "Circuit dry, with a dryer of 120 V, counts as such a circuit at 1,500 VA, not as an "
        "electric clothes dryer (220.54)"
    )
    assert note(240, (1, 3)) == ""
    second = of_kind("two", "main", (5,), "heat-pump-dryer")
    assert "Circuit dry and Circuit two, with a dryer of 120 V, each count" in note(
        120, (1,), second
    )
    assert note(240, (1, 3), of_kind("wash", "main", (5,), "washer")) == ""
