"""The to-do list of an outage: a step for each harm that its run brings, and what fuel does."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.outage_plan import OutagePlan, outage_plan
from server.advise.plan_fuel import fuel_ends
from server.advise.plan_harms import switched_off
from server.domain.catalogue import KINDS
from server.domain.scenario import Delivery, HandWindow, Weather, Window
from server.domain.supply import FuelTank
from server.domain.thermal import Zone
from server.simulate.harms import harms
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    generator,
    normal_only_site,
    scenario,
    with_parts,
)
from tests.rules.check_sites import HOUSE, of_kind


def at(hours: float):
    return START + timedelta(hours=hours)


def needy(*, oxygen: str = "on", tank_gal: float = 6.0, **changed) -> tuple[Run, OutagePlan]:
    """A gasoline set by hand from 14:00 to 10:00, its tank too small; oxygen and a pit on it."""
    base = backed_up_site()
    breath = of_kind("bedroom", "backed", (15,), "oxygen-concentrator").model_copy(
        update={"load_class": "must_serve", "outage_role": oxygen}
    )
    pump = of_kind("pump", "backed", (17,), "sump-pump").model_copy(
        update={"load_class": "must_serve"}
    )
    day = scenario("out", span_h=24, outage_h=(2, 20), **changed)
    tank = FuelTank(capacity_gal=tank_gal, fill_share=1.0, reserve_share=0.1)
    site = with_parts(
        base,
        generators=(generator(fuel="gasoline", start="by_hand", tank=tank),),
        circuits=(*base.circuits, breath, pump),
        scenarios=(day,),
    )
    run = simulate(site, day)
    plan = outage_plan(run)
    assert plan is not None
    return run, plan


def test_after_the_fuel_has_ended_somebody_is_moved_before_it_and_a_wet_floor_is_kept_off():
    run, plan = needy()
    (need,) = run.fuel
    assert need.dry_at is not None
    (moved,) = [t for t in plan.during if t.text.startswith("Take whoever needs ")]
    assert run.site.circuit("bedroom").appliances[0].name in moved.text
    assert moved.at is not None
    assert moved.at < need.dry_at
    assert "Ask clinician" in moved.caution
    pit = next(h for h in harms(run) if h.kind == "sump")
    assert pit.at is not None
    (wet,) = [t for t in plan.during if "Keep off a wet floor" in t.text]
    assert wet.at == pit.at
    assert "Flood:" in wet.caution
    (dried,) = [t for t in plan.after if t.text.startswith("Where water stood")]
    assert "looked at by an electrician before power is put on it" in dried.text
    assert "Flood:" in dried.caution
    (back,) = [t for t in plan.after if t.text.startswith("Wait for steady volts")]
    assert "stands still by then" in back.text
    assert "cool" not in back.text


def test_a_device_that_goes_dark_again_and_again_is_told_of_once():
    """The set stands still from 16:00 to 18:00 and from 20:00 to 23:00."""
    stops = tuple(Window(start=at(first), end=at(last)) for first, last in ((4, 6), (8, 11)))
    _, plan = needy(tank_gal=400.0, generator_stops=stops)
    (moved,) = [t for t in plan.during if t.text.startswith("Take whoever needs ")]
    assert "ready that lasts 3 h each time: " in moved.text
    assert "has no power 2 times, first from Thu 26 Nov 16:00 on, 5 h in all" in moved.text


def test_a_pit_that_runs_over_is_seen_to_before_the_outage():
    run, plan = needy()
    pit = next(h for h in harms(run) if h.kind == "sump")
    (ready,) = [t for t in plan.before if "have a pump ready" in t.text]
    assert pit.what in ready.text
    assert ready.at is not None
    assert pit.at is not None
    assert ready.at < pit.at
    assert "Flood:" in ready.caution


def test_with_fuel_enough_none_of_that_is_told():
    run, plan = needy(tank_gal=400.0)
    assert not run.fuel[0].runs_dry
    told = "\n".join(t.text for t in (*plan.during, *plan.after))
    assert "Take whoever" not in told
    assert "Where water stood" not in told
    assert "cool 5 min without load" in told


def test_every_end_of_the_fuel_is_named_no_stop_is_of_an_empty_set_and_what_fits_is_told():
    stops = tuple(Window(start=at(h), end=at(h + 1 / 3)) for h in (10, 12.5, 19))
    first = Delivery(at=at(10), gallons=3.0)
    more = Delivery(at=at(11), gallons=50.0)
    run, plan = needy(generator_stops=stops, deliveries=(first, more), tank_gal=4.0)
    (used,) = run.site.generators
    dry = fuel_ends(run, used)
    assert len(dry) >= 2
    assert [t.at for t in plan.during if "stops here unless" in t.text] == dry
    told = [t for t in plan.during if t.text.startswith("Stop ")]
    assert all(t.at != stops[0].start for t in told)
    assert all(t.at != stops[2].start for t in told)
    assert not any("0.0 gal" in t.text for t in plan.during)
    (poured,) = [t for t in plan.during if t.text.startswith("50 gal of fuel are due.")]
    assert "There is room for about " in poured.text
    (left,) = run.fuel
    room = float(poured.text.split("about ")[1].split(" gal")[0])
    assert abs((53.0 - left.left_over_gal) - (3.0 + room)) < 0.2
    assert "Generator set stood empty" in next(
        t.text for t in plan.during if t.text.startswith("3 gal of fuel are due.")
    )


def test_no_fuel_is_poured_into_a_set_that_runs_or_is_hot():
    """A stop of 2 min cools nothing, and what comes at 12:00 meets a running set."""
    short = (Window(start=at(11), end=at(11) + timedelta(minutes=2)),)
    long = (Window(start=at(11), end=at(11) + timedelta(minutes=20)),)
    due = (Delivery(at=at(12), gallons=3.0),)
    for stops, told in ((short, True), (long, False)):
        _, plan = needy(generator_stops=stops, deliveries=due, tank_gal=40.0)
        (stop,) = [t.text for t in plan.during if t.text.startswith("Stop ")]
        assert ("2 min do not let it cool: leave it off 15 min" in stop) is told
        (poured,) = [t.text for t in plan.during if "gal of fuel are due" in t.text]
        assert "pour none into a running or hot set, keep it in cans" in poured


def test_a_medical_device_is_named_with_its_circuit_where_that_is_switched_off():
    run, plan = needy(oxygen="off")
    device = run.site.circuit("bedroom").appliances[0].name
    (off,) = [t for t in plan.before if t.text.startswith("Switch off, and leave off")]
    assert f"{device} then has no power at all: leave that circuit on" in off.text
    assert "Ask clinician" in off.caution
    due = next(t for t in plan.after if "What was switched off before stays off" in t.text)
    assert run.site.circuit("bedroom").name not in due.text
    (back,) = [t for t in plan.after if t.text.startswith("Then switch on, one every")]
    assert run.site.circuit("bedroom").name in back.text


def test_a_battery_is_named_by_its_device_and_two_that_stay_on_stay_on():
    base = backed_up_site()
    room = of_kind("room", "backed", (15,), "sleep-apnea-machine").model_copy(
        update={"own_battery_min": 480.0}
    )
    needed = [circuit(f"n{n}", "backed", n, load_w=700, load_class="must_serve") for n in (9, 13)]
    heavy = circuit("heater", "backed", 17, load_w=1400)
    site = with_parts(
        base,
        generators=(generator(rated_kw=2.0),),
        circuits=(*base.circuits, *needed, heavy, room),
        scenarios=(scenario("out", span_h=12, outage_h=(2, 10)),),
    )
    plan = outage_plan(simulate(site, site.scenarios[0]))
    assert plan is not None
    (charged,) = [t.text for t in plan.before if t.text.startswith("Charge in full")]
    assert charged == f"Charge in full: {room.appliances[0].name}."
    stay = [t.text for t in plan.during if t.text.startswith("Never all at once")]
    assert any("Circuit n9 and Circuit n13 stay on" in text for text in stay)


def test_a_motor_that_the_set_may_not_start_is_tried_before_and_never_said_to_stay_on():
    base = backed_up_site()
    well = of_kind("well", "backed", (22, 24), "well-pump").model_copy(
        update={"load_class": "must_serve"}
    )
    site = with_parts(
        base,
        panels=tuple(p.model_copy(update={"spaces": 40}) for p in base.panels),
        generators=(generator(rated_kw=3.0),),
        circuits=(*base.circuits, well, circuit("heater", "backed", 17, load_w=1400)),
        scenarios=(scenario("out", span_h=12, outage_h=(2, 10)),),
    )
    plan = outage_plan(simulate(site, site.scenarios[0]))
    assert plan is not None
    (motor,) = well.appliances
    (tried,) = [t.text for t in plan.before if t.text.startswith("Try whether ")]
    assert f"{motor.name}. Leave off while it runs what does not start" in tried
    assert "in any case" not in tried
    told = [t.text for t in plan.during]
    assert not any(" stays on" in t and well.name in t.partition(";")[2] for t in told)
    assert not any("run only one of them" in t and well.name in t for t in told)


def test_what_only_cools_a_room_is_left_off_until_it_was_tried_and_started():
    base = backed_up_site()
    window = of_kind("window", "backed", (22,), "room-air").model_copy(
        update={"load_class": "comfort"}
    )
    site = with_parts(
        base,
        panels=tuple(p.model_copy(update={"spaces": 40}) for p in base.panels),
        generators=(generator(rated_kw=2.0, rated_kva=2.0),),
        circuits=(*base.circuits, window),
        zones=HOUSE,
    )
    hot = {"weather": Weather(low_f=90, high_f=102, hottest_hour=16)}
    plan = outage_plan(simulate(site, scenario("out", span_h=12, outage_h=(2, 10), **hot)))
    assert plan is not None
    (tried,) = [t.text for t in plan.before if t.text.startswith("Try whether ")]
    (motor,) = window.appliances
    assert f"Leave off in any case unless it was tried and started: {motor.name}." in tried


def test_what_has_no_power_is_not_put_on_by_hand():
    """The counter is on at 15:00, with the set, and at 02:00 and 05:00, when that is empty."""
    run, _ = needy()
    counter = circuit("counter", "backed", 19, load_w=900, outage_role="by_hand")
    hours = (3, 14, 17)
    windows = tuple(
        HandWindow(circuit_id="counter", window=Window(start=at(h), end=at(h + 0.5))) for h in hours
    )
    day = run.scenario.model_copy(update={"hand_windows": windows})
    site = with_parts(run.site, circuits=(*run.site.circuits, counter), scenarios=(day,))
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    assert [t.at for t in plan.during if "on by hand" in t.text] == [at(3)]


@pytest.mark.parametrize("people", [None, 0])
def test_a_house_without_power_that_freezes_is_drained_and_left(people):
    box = KINDS["refrigerator"].appliance("box", "Refrigerator")
    day = scenario(
        "out", span_h=60, outage_h=(2, 50), weather=Weather(low_f=5, high_f=5), people=people
    )
    site = normal_only_site(
        circuits=(circuit("one", "main", 13, appliances=(box,)),),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=600),),
        scenarios=(day,),
    )
    run = simulate(site, day)
    plan = outage_plan(run)
    assert plan is not None
    came = {h.kind: h.at for h in harms(run) if h.reached}
    assert {"pipes", "room_cold"} <= set(came)
    during = {t.at: t for t in plan.during}
    if people == 0:
        assert any("drain the pipes before leaving" in t.text for t in plan.before)
        assert not any("drain" in t.text for t in plan.during)
    else:
        (drained,) = [t for t in plan.during if "drain the pipes" in t.text]
        assert drained.at == came["pipes"] - timedelta(hours=2)
        assert drained.text.startswith("Before ")
        assert "or let the taps drip while water comes" in drained.text
        assert "leave the house for a heated place" in drained.text
        assert "a heated place" in during[came["room_cold"]].text
        assert "no camp stoves or grills indoors" in during[came["room_cold"]].caution
        (food,) = [t for t in plan.during if "throw out what was above that" in t.text]
        assert "look with a thermometer" in food.text
    assert any("look along the pipes for leaks" in t.text for t in plan.after)


def test_no_tap_drips_where_the_well_has_no_power():
    well = KINDS["well-pump"].appliance("well")
    day = scenario("out", span_h=60, outage_h=(2, 50), weather=Weather(low_f=5, high_f=5))
    site = normal_only_site(
        circuits=(circuit("one", "main", 13, 15, appliances=(well,)),),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=600),),
        scenarios=(day,),
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    (drained,) = [t for t in plan.during if "drain the pipes" in t.text]
    assert "drip" not in drained.text


@pytest.mark.parametrize("outdoor_f", [5, 75])
def test_food_that_stays_cold_through_the_run_is_not_thrown_out_by_the_clock(outdoor_f):
    box = KINDS["refrigerator"].appliance("box", "Refrigerator")
    kept = box.behaviour.model_copy(update={"zone_id": "house"})
    box = box.model_copy(update={"behaviour": kept})
    weather = Weather(low_f=outdoor_f, high_f=outdoor_f)
    day = scenario("out", span_h=12, outage_h=(2, 8), weather=weather)
    site = normal_only_site(
        circuits=(circuit("one", "main", 13, appliances=(box,)),),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=600),),
        scenarios=(day,),
    )
    run = simulate(site, day)
    plan = outage_plan(run)
    assert plan is not None
    (food,) = [t for t in plan.during if "look with a thermometer" in t.text]
    (watched,) = [k for k, w in enumerate(run.watched) if w.appliance_id == "box"]
    cold = float(run.level[watched].max()) < 40.0
    assert cold == (outdoor_f == 5)
    assert ("though in this run it warms to" in food.text) == cold
    assert ("Medicines that must stay cold" in food.text) != cold


@pytest.mark.parametrize(("kind", "waste"), [("septic-pump", True), ("sump-pump", False)])
def test_nothing_is_drained_while_the_pump_of_a_pit_of_waste_has_no_power(kind, waste):
    pump = KINDS[kind].appliance("pump", "The pump")
    day = scenario("out", span_h=40, outage_h=(2, 38))
    site = normal_only_site(
        circuits=(circuit("one", "main", 13, appliances=(pump,)),), scenarios=(day,)
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    told = [t.text for t in (*plan.before, *plan.during)]
    drained = [t for t in told if "stop flushing and draining until it has power" in t]
    carried = [t for t in told if "carry off or pump out the water" in t]
    assert bool(drained) is waste
    assert bool(carried) is not waste
    ahead = [t for t in told if "once the power is out, flush and drain as little" in t]
    assert bool(ahead) is waste


def test_a_septic_pump_that_is_switched_off_tells_that_the_tank_backs_up():
    pump = KINDS["septic-pump"].appliance("pump", "The pump")
    off = circuit("one", "main", 13, appliances=(pump,))
    words = switched_off([off])
    assert "The pump is off then: stop flushing and draining until it has power again" in words
    assert "flushing" not in switched_off([circuit("two", "main", 15)])
