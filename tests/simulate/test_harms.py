"""The harm clock against cases worked by hand."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from server.domain.behaviour import Cycle, Hourly, RoomUnit, Tank, Zone
from server.domain.catalogue import KINDS
from server.domain.scenario import Delivery, Scenario, Window
from server.domain.site import Site
from server.domain.supply import FuelPoint, FuelTank
from server.simulate.harm import Harm
from server.simulate.harms import harms
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    normal_only_site,
    scenario,
    with_parts,
)

COLD_BOX = Cycle(on_min=20, off_min=35)


def windows(*hours: tuple[float, float]) -> tuple[Window, ...]:
    made = ((START + timedelta(hours=a), START + timedelta(hours=b)) for a, b in hours)
    return tuple(Window(start=a, end=b) for a, b in made)


def house(load: Any, *, zones: tuple[Zone, ...] = (), **changes: Any) -> Site:
    """One appliance on a grid-fed panel without a generator."""
    spaces = (1, 3) if load.volts == 240 else (1,)
    own = circuit("c", "main", *spaces, breaker_a=60, appliances=(load,), **changes)
    return normal_only_site(circuits=(own,), zones=zones)


def one(run: Run, kind: str, words: str = "") -> Harm:
    found = [h for h in harms(run) if h.kind == kind and words in h.what]
    assert len(found) == 1, [h.what for h in harms(run)]
    return found[0]


def day(*hours: tuple[float, float], span_h: float = 12, **changes: Any) -> Scenario:
    return scenario(span_h=span_h, outages=windows(*hours), **changes)


def test_refrigerator_without_power_for_four_hours_is_unsafe() -> None:
    site = house(appliance("box", 150, kind="refrigerator", behaviour=COLD_BOX))
    harm = one(simulate(site, day((1, 7))), "food")
    assert harm.hours == pytest.approx(4.0)
    assert harm.at == START + timedelta(hours=5)
    assert harm.why == "Circuit c dead since Thu 26 Nov 13:00"
    assert harm.working.value == harm.hours


def test_an_hour_of_power_gives_back_what_the_cycle_says() -> None:
    """2 h dark, 1 h of power gives back 35/20 h, so the next outage begins at 0.25 h."""
    site = house(appliance("box", 150, kind="refrigerator", behaviour=COLD_BOX))
    harm = one(simulate(site, day((1, 3), (4, 9))), "food")
    assert harm.at == START + timedelta(hours=4 + 3.75)
    assert harm.hours == pytest.approx(3.75)


def test_short_outages_far_apart_leave_food_safe() -> None:
    site = house(appliance("box", 150, kind="refrigerator", behaviour=COLD_BOX))
    harm = one(simulate(site, day((1, 4.5), (8, 11))), "food")
    assert not harm.reached
    assert (harm.at, harm.hours, harm.why) == (None, None, "")
    assert harm.nearest == "3.5 of 4 h without power"


def test_outage_that_began_before_the_run_counts_from_its_own_start() -> None:
    site = house(appliance("box", 150, kind="refrigerator", behaviour=COLD_BOX))
    harm = one(simulate(site, day((-3, 6))), "food")
    assert harm.at == START + timedelta(hours=1)
    assert harm.hours == pytest.approx(4.0)
    assert harm.why.endswith("since Thu 26 Nov 09:00")


def test_half_full_freezer_keeps_a_day_and_a_full_one_two() -> None:
    site = house(appliance("box", 120, kind="freezer", behaviour=COLD_BOX))
    run = simulate(site, day((1, 60), span_h=60))
    assert one(run, "food", "half full").hours == pytest.approx(24.0)
    assert one(run, "food", ", full").hours == pytest.approx(48.0)


def heated(**changes: Any) -> Site:
    zone = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=25, **changes)
    unit = RoomUnit(zone_id="house", mode="heat")
    return house(appliance("strip", 12_000, volts=240, behaviour=unit), zones=(zone,))


def test_room_cools_to_its_limit_by_the_exponential() -> None:
    """From T0 towards 40 °F outdoors with 25 h: t = 25 ln((T0 - 40) / (55 - 40))."""
    run = simulate(heated(), day((2, 30), span_h=30))
    start_f = float(run.zone_f[0, 119])
    harm = one(run, "room_cold")
    assert harm.hours == pytest.approx(25 * math.log((start_f - 40) / 15), abs=0.01)
    assert harm.why == "Circuit c dead since Thu 26 Nov 14:00"


def test_pipes_in_a_room_that_cannot_get_so_cold_are_not_reached() -> None:
    harm = one(simulate(heated(pipes_f=39), day((2, 30), span_h=30)), "pipes")
    assert not harm.reached
    assert harm.nearest.startswith("lowest 4")


def test_room_that_nothing_cools_says_so() -> None:
    """Towards 40 + 6000/100 = 100 °F with 25 h: t = 25 ln((100 - T0) / (100 - 90))."""
    zone = Zone(id="house", name="House", loss_btuh_per_f=100, gain_btuh=6000, things_share=0)
    run = simulate(normal_only_site(zones=(zone,)), day((1, 30), span_h=30))
    harm = one(run, "room_hot")
    start_f = float(run.zone_f[0, 59])
    assert harm.hours == pytest.approx(25 * math.log((100 - start_f) / 10), abs=0.01)
    assert harm.why == "nothing cools it"


def test_room_that_was_hot_before_says_so() -> None:
    zone = Zone(id="house", name="House", loss_btuh_per_f=100, gain_btuh=6000, time_constant_h=0.1)
    harm = one(simulate(normal_only_site(zones=(zone,)), day((1, 5))), "room_hot")
    assert harm.hours == 0.0
    assert harm.why == "it was so before the outage"


def test_unused_tank_cools_by_the_exponential() -> None:
    """50 gal x 8.33 / 2.5 Btu/h F = 166.6 h, from T0 to 105 °F in a room at 65 °F."""
    tank = Tank(gallons=50, draws_gal_by_hour=(0.0,) * 24)
    site = house(appliance("tank", 4500, volts=240, behaviour=tank))
    run = simulate(site, day((1, 90), span_h=90))
    start_f = float(run.level[0, 59])
    hours = 166.6 * math.log((start_f - 65) / 40)
    assert one(run, "tank_cold").hours == pytest.approx(hours, abs=0.05)


def test_tank_set_cooler_than_hot_is_left_out() -> None:
    tank = Tank(gallons=50, setpoint_f=110, draws_gal_by_hour=(0.0,) * 24)
    site = house(appliance("tank", 4500, volts=240, behaviour=tank))
    assert harms(simulate(site, day((1, 9)))) == ()


@pytest.mark.parametrize(
    ("kind", "harm_kind"), [("well-pump", "water"), ("sump-pump", "sump"), ("sewage-pump", "sump")]
)
def test_pump_fails_at_the_start_it_would_have_made(kind: str, harm_kind: str) -> None:
    """On 1 min of every 60 without spread: the start after the last before the outage."""
    cycle = Cycle(on_min=1, off_min=59, spread=0)
    site = house(appliance("pump", 1500, kind=kind, behaviour=cycle))
    run = simulate(site, day((4, 11)))
    on = np.flatnonzero(run.flows.taken_by("pump")[: 4 * 60] > 0)
    harm = one(run, harm_kind)
    assert harm.at is not None
    minutes = (harm.at - START).total_seconds() / 60
    assert minutes % 60 == pytest.approx(on[on < 60][0], abs=1)
    assert 4 * 60 <= minutes < 5 * 60


def test_router_goes_out_at_once_and_later_with_a_battery() -> None:
    router = appliance("router", 30, kind="internet-gear")
    assert one(simulate(house(router), day((1, 4))), "internet").hours == 0.0
    backed = house(router, own_battery_min=90)
    assert one(simulate(backed, day((1, 4))), "internet").hours == pytest.approx(1.5)
    assert not one(simulate(backed, day((1, 2))), "internet").reached


def test_router_through_a_starting_generator_is_not_counted_out() -> None:
    base = backed_up_site()
    own = circuit("r", "backed", 9, appliances=(appliance("router", 30, kind="internet-gear"),))
    site = with_parts(base, circuits=(*base.circuits, own))
    harm = one(simulate(site, day((1, 4))), "internet")
    assert not harm.reached
    assert harm.nearest == "longest gap 16 s"


def test_medical_gap_is_the_battery_less_a_third() -> None:
    device = appliance("oxygen", 350, kind="oxygen-concentrator")
    bare = house(device, load_class="must_serve")
    assert one(simulate(bare, day((1, 4))), "medical").hours == pytest.approx(2 / 60)
    backed = house(device, load_class="must_serve", own_battery_min=90)
    assert one(simulate(backed, day((1, 4))), "medical").hours == pytest.approx(1.0)
    assert not one(simulate(backed, day((1, 2))), "medical").reached


def fuelled(capacity_gal: float, **changes: Any) -> Site:
    """A set that burns 1 gal/h idle and 0.1 gal/kWh; the backed-up panel asks for 4.8 kW."""
    points = (FuelPoint(load_kw=0, rate_per_h=1.0), FuelPoint(load_kw=10, rate_per_h=2.0))
    tank = FuelTank(capacity_gal=capacity_gal, fill_share=1.0)
    base = backed_up_site()
    told = {"fuel_points": points, "tank": tank} | changes
    return with_parts(base, generators=(base.generators[0].model_copy(update=told),))


def test_fuel_is_out_when_idle_and_load_have_burnt_it() -> None:
    """1 + 0.1 x 4.8 = 1.48 gal/h from 10 s on; 5.92 gal last 4 h."""
    harm = one(simulate(fuelled(5.92), day((1, 11))), "fuel")
    assert harm.hours == pytest.approx(4.0, abs=0.01)
    assert one(simulate(fuelled(100), day((1, 11))), "fuel").nearest == "85 gal left at the end"


def test_delivery_in_time_puts_it_off() -> None:
    delivery = Delivery(at=START + timedelta(hours=3), gallons=1.48)
    harm = one(simulate(fuelled(5.92), day((1, 11), deliveries=(delivery,))), "fuel")
    assert harm.hours == pytest.approx(5.0, abs=0.01)


def test_oil_is_due_after_its_hours_and_a_stop_puts_it_off() -> None:
    site = fuelled(100, oil_check_h=4)
    assert one(simulate(site, day((1, 11))), "oil").hours == pytest.approx(4 + 10 / 3600, abs=1e-3)
    stop = windows((3, 3.5))
    late = one(simulate(site, day((1, 11), generator_stops=stop)), "oil")
    assert late.hours == pytest.approx(3.5 - 1 + 4, abs=1e-3)
    assert not one(simulate(site, day((1, 4))), "oil").reached


def test_what_the_site_lacks_is_not_listed() -> None:
    assert harms(simulate(normal_only_site(), day((1, 5)))) == ()


def test_run_without_an_outage_has_no_clock() -> None:
    site = house(appliance("box", 150, kind="refrigerator", behaviour=COLD_BOX))
    assert harms(simulate(site, scenario())) == ()


def test_circuit_held_off_on_the_set_is_named_so() -> None:
    base = backed_up_site()
    box = appliance("box", 150, kind="refrigerator", behaviour=COLD_BOX)
    own = circuit("r", "backed", 9, appliances=(box,), outage_role="off")
    site = with_parts(base, circuits=(*base.circuits, own))
    harm = one(simulate(site, day((1, 8))), "food")
    assert harm.why == "Circuit r held off since Thu 26 Nov 13:00"


def test_first_harms_come_first_and_the_rest_last() -> None:
    loads = (
        appliance("box", 150, kind="refrigerator", behaviour=COLD_BOX),
        appliance("cold", 150, kind="freezer", behaviour=COLD_BOX),
        appliance("router", 30, kind="internet-gear"),
    )
    site = normal_only_site(circuits=(circuit("c", "main", 1, appliances=loads),))
    found = harms(simulate(site, day((1, 9))))
    assert [h.kind for h in found if h.reached] == ["internet", "food"]
    assert [h.reached for h in found] == [True, True, False, False]


def test_two_of_a_name_are_told_apart_by_their_circuit() -> None:
    box = COLD_BOX
    circuits = tuple(
        circuit(
            f"c{n}",
            "main",
            n,
            appliances=(appliance(f"box{n}", 150, name="Box", kind="refrigerator", behaviour=box),),
        )
        for n in (1, 3)
    )
    found = harms(simulate(normal_only_site(circuits=circuits), day((1, 3))))
    assert {h.what for h in found} == {
        "Box on Circuit c1: food unsafe",
        "Box on Circuit c3: food unsafe",
    }


def test_a_device_worn_at_night_harms_at_night_beside_one_that_never_rests() -> None:
    night = KINDS["sleep-apnea-machine"].appliance("worn")
    oxygen = appliance("oxygen", 350, kind="oxygen-concentrator")
    own = circuit("c", "main", 1, appliances=(night, oxygen), load_class="must_serve")
    run = simulate(normal_only_site(circuits=(own,)), day((1, 20), span_h=24))
    assert one(run, "medical", oxygen.name).at == START + timedelta(hours=1, minutes=2)
    worn = one(run, "medical", night.name)
    assert worn.at is not None
    assert isinstance(night.behaviour, Hourly)
    assert night.behaviour.shares[(worn.at + timedelta(minutes=30)).hour] > 0
    assert worn.at > START + timedelta(hours=8)


@pytest.mark.parametrize(("people", "told"), [(0, True), (2, False)])
def test_oil_due_with_nobody_there_is_told_beside_the_answer(people: int, told: bool) -> None:
    made = simulate(fuelled(100, oil_check_h=4), day((1, 11), people=people)).verdict
    assert made.fits
    assert ("the oil of Generator set is due with nobody there to look 4.0 h" in made.answer()) is (
        told
    )


def test_a_box_on_a_circuit_of_its_name_is_named_once() -> None:
    """Two alike: the one by its circuit alone, which has its name in it, the other by both."""
    boxes = [
        appliance(f"box{i}", 150, kind="refrigerator", name="Box", behaviour=COLD_BOX)
        for i in (1, 2)
    ]
    own = (
        circuit("one", "main", 9, name="Box, upstairs", appliances=(boxes[0],)),
        circuit("two", "main", 13, name="Cellar", appliances=(boxes[1],)),
    )
    run = simulate(with_parts(normal_only_site(), circuits=own), day((1, 7)))
    assert sorted(h.what.split(":")[0] for h in harms(run) if h.kind == "food") == [
        "Box on Cellar",
        "Box, upstairs",
    ]
