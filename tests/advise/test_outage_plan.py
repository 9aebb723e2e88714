"""The to-do list of an outage: its times and gallons are those of the scenario and its run."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from server.advise.outage_plan import outage_plan
from server.domain.catalogue import KINDS
from server.domain.scenario import Delivery, HandWindow, KeptOff, Stop, SwitchMove, Window
from server.domain.supply import FuelTank
from server.simulate.run import simulate
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    normal_only_site,
    scenario,
    with_parts,
)
from tests.rules.check_sites import of_kind


def window(first: float, last: float) -> Window:
    return Window(start=START + timedelta(hours=first), end=START + timedelta(hours=last))


def set_stop(first: float, last: float) -> Stop:
    return Stop(**window(first, last).model_dump())


def planned(*, capacity_gal: float = 20.0, back_h: float = 10.0):
    """A gasoline set started by hand from 14:00 to 22:00, stopped at 18:00 for 20 min."""
    tank = FuelTank(capacity_gal=capacity_gal, fill_share=1.0, reserve_share=0.1)
    base = backed_up_site()
    off = circuit("tub", "backed", 9, 11, load_w=4000, breaker_a=30, outage_role="off")
    hand = circuit("counter", "backed", 13, load_w=1200, outage_role="by_hand")
    day = scenario(
        "out",
        span_h=back_h + 2.0,
        outage_h=(2, back_h),
        generator_stops=(window(6, 6 + 1 / 3),),
        hand_windows=(HandWindow(circuit_id="counter", window=window(4, 5)),),
    )
    site = with_parts(
        base,
        generators=(generator(fuel="gasoline", start="by_hand", tank=tank),),
        circuits=(*base.circuits, off, hand),
        scenarios=(day,),
    )
    run = simulate(site, day)
    plan = outage_plan(run)
    assert plan is not None
    return run, plan


def orders(**changed):
    """What the plan says of circuit ``counter``, on by hand for an hour, with this changed."""
    run, _ = planned()
    circuits = tuple(
        c.model_copy(update=changed.get("circuit", {})) if c.id == "counter" else c
        for c in run.site.circuits
    )
    day = run.scenario.model_copy(update=changed.get("day", {}))
    plan = outage_plan(simulate(with_parts(run.site, circuits=circuits, scenarios=(day,)), day))
    assert plan is not None
    tasks = (*plan.before, *plan.during)
    return [t.text for t in tasks if "ircuit counter" in t.text]


@pytest.mark.parametrize(
    "changed",
    [
        {"circuit": {"outage_role": "off"}},
        {"day": {"kept_off": (KeptOff(circuit_id="counter"),)}},
    ],
)
def test_what_is_off_until_the_end_is_never_told_to_be_put_on(changed):
    assert any("on by hand" in text for text in orders())
    (only,) = orders(**changed)
    assert only.startswith("Switch off, and leave off until the end: ")


def said(tasks) -> str:
    return "\n".join(task.text for task in tasks)


def test_gasoline_past_what_a_home_may_keep_is_fetched_as_it_goes_and_leaves_the_reserve():
    """20 gal are there; entered as fuel delivered, what it says is missing is enough."""
    run, plan = planned(capacity_gal=20.0, back_h=26.0)
    (need,) = run.fuel
    short = need.used_gal + need.reserve_gal - need.there_gal
    assert need.there_gal + short > 25.0
    (told,) = [t for t in plan.before if "needs about" in t.text]
    assert told.text.startswith(
        f"About {math.ceil(short)} gal more are needed, and many places let a home keep no more "
        "than 25 gal at once: "
    )
    assert "more at hand" not in told.text
    assert "enter it as fuel delivered in the scenario" in told.text
    assert "25 gal or less" in told.caution
    fetched = Delivery(at=START + timedelta(hours=10), gallons=math.ceil(short) / 2)
    again = fetched.model_copy(update={"at": START + timedelta(hours=18)})
    day = run.scenario.model_copy(update={"deliveries": (fetched, again)})
    (then,) = simulate(run.site, day).fuel
    assert (then.runs_dry, then.eats_reserve) == (False, False)


def test_before_tells_the_fuel_what_to_switch_off_and_the_storage_caution():
    run, plan = planned(capacity_gal=1.0)
    assert {task.at for task in plan.before} == {START + timedelta(hours=2)}
    assert "gal more at hand" in said(plan.before)
    assert any("25 gal or less" in task.caution for task in plan.before)
    assert "leave off until the end: Circuit tub." in said(plan.before)
    (dry,) = [t for t in plan.during if "stops here unless" in t.text]
    assert dry.at == run.fuel[0].dry_at


def test_before_says_that_the_fuel_there_is_enough_and_leaves_out_empty_tenths():
    run, plan = planned(capacity_gal=400.0)
    (fuel,) = [t.text for t in plan.before if "that this scenario counts on" in t.text]
    assert "the 400 gal that this scenario counts on are enough" in fuel
    assert "leaves the reserve of 40 gal" in fuel
    assert ".0 gal" not in fuel
    (need,) = run.fuel
    days = 360.0 / (need.used_gal / 8.0) / 24.0
    assert fuel.endswith(f"above the reserve lasts about {days:.1f} days of outage.")


def test_before_does_what_needs_the_utility_and_during_names_what_is_dark():
    run, _ = planned()
    more = [
        of_kind("car", "main", (21, 23), "car-charger-32"),
        of_kind("wash", "main", (25,), "washer"),
        of_kind("tank", "main", (29, 31), "water-heater"),
        of_kind("well", "main", (22, 24), "well-pump"),
    ]
    panels = tuple(p.model_copy(update={"spaces": 40}) for p in run.site.panels)
    day = run.scenario
    site = with_parts(run.site, panels=panels, circuits=(*run.site.circuits, *more))
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    before, during = said(plan.before), said(plan.during)
    assert "Charge the car in full while the utility is on: " in before
    assert "Do the laundry and the dishes while the utility is on: " in before
    assert "then let it heat up in full before the power goes: " in before
    assert "Draw water for drinking, cooking and flushing: " in before
    (dark,) = [t.text for t in plan.during if t.text.startswith("Without power until")]
    assert all(c.name in dark for c in more), during
    assert run.site.circuit("counter").name not in dark
    _, plain = planned()
    assert not [t for t in plain.before if "while the utility is on" in t.text]


def test_a_house_without_a_set_is_told_that_nothing_works():
    site = normal_only_site()
    day = scenario("out", span_h=6, outage_h=(2, 4))
    plan = outage_plan(simulate(with_parts(site, scenarios=(day,)), day))
    assert plan is not None
    assert "Nothing works until the utility is back" in said(plan.during)


def test_during_is_in_order_with_the_stop_and_what_was_burnt_since():
    run, plan = planned()
    start, again = [task for task in plan.during if task.text.startswith("Start ")]
    assert "20 ft or more away" in start.caution
    times = [task.at for task in plan.during if task.at]
    assert times == sorted(times)
    (stop,) = [task for task in plan.during if task.text.startswith("Stop ")]
    assert stop.at == START + timedelta(hours=6)
    assert again.at == stop.at + timedelta(minutes=20)
    (source,) = [s for s in run.sources if s.kind == "generator"]
    assert source.fuel_used is not None
    hours = 4.0 - run.scenario.hand_start_min / 60.0
    burnt = hours * source.fuel_used.value / source.run_h
    assert f"for 20 min: oil level, then refuel when cool (about {burnt:.1f} gal" in stop.text
    assert burnt == pytest.approx(source.fuel_used.value / 2, rel=0.1)
    assert "16:00 to 17:00: on by hand, then off again: Circuit counter." in said(plan.during)


def test_after_brings_the_heaviest_back_one_at_a_time():
    _, plan = planned()
    assert {task.at for task in plan.after} == {START + timedelta(hours=10)}
    assert "one every 5 min or more: Circuit tub, Circuit d, Circuit c" in said(plan.after)


def test_a_day_with_the_utility_on_has_no_plan():
    site = backed_up_site()
    assert outage_plan(simulate(site, site.scenario("day"))) is None


def test_a_long_stop_is_told_as_a_rest():
    run, _ = planned()
    day = run.scenario.model_copy(update={"generator_stops": (set_stop(5, 8.5),)})
    plan = outage_plan(simulate(with_parts(run.site, scenarios=(day,)), day))
    assert plan is not None
    (rest,) = (t for t in plan.during if "oil level" in t.text)
    assert rest.text.startswith("Let Generator set rest for 3.5 h, to save fuel: oil level")


def test_a_set_that_ran_dry_is_not_stopped_again():
    run, plan = planned(capacity_gal=2.0)
    (need,) = run.fuel
    assert need.dry_at is not None
    assert need.dry_at < START + timedelta(hours=6)
    assert not [t for t in plan.during if t.text.startswith("Stop ")]


def test_a_set_that_ran_dry_is_stopped_again_only_once_fuel_has_come():
    run, _ = planned(capacity_gal=4.0)
    due = START + timedelta(hours=7)
    stops = (set_stop(6, 6 + 1 / 3), set_stop(8, 8 + 1 / 3))
    day = run.scenario.model_copy(
        update={
            "generator_stops": stops,
            "deliveries": (Delivery(at=due, gallons=3.0),),
        }
    )
    dry = simulate(with_parts(run.site, scenarios=(day,)), day)
    (need,) = dry.fuel
    assert need.dry_at is not None
    assert need.dry_at < stops[0].start
    plan = outage_plan(dry)
    assert plan is not None
    (stop,) = (t for t in plan.during if t.text.startswith("Stop "))
    assert stop.at == stops[1].start
    (ran,) = (s for s in dry.sources if s.kind == "generator")
    assert ran.fuel_used is not None
    assert f"about {ran.fuel_used.value / ran.run_h:.1f} gal were burnt" in stop.text


def test_with_nobody_there_all_is_done_before_they_leave_or_once_they_are_back():
    base = backed_up_site()
    box = KINDS["refrigerator"].appliance("box", "Refrigerator")
    site = with_parts(
        base,
        circuits=(
            *base.circuits,
            circuit("one", "backed", 13, appliances=(box,)),
            circuit("two", "backed", 15, appliances=(box.model_copy(update={"id": "other"}),)),
        ),
    )
    day = scenario(span_h=12, outage_h=(2, 10), people=0)
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    assert {t.at for t in plan.before} == {day.start}
    words = said((*plan.before, *plan.during, *plan.after))
    for by_hand in ("Keep shut", "lamp", "switch off", "switch on", "see that it does."):
        assert by_hand not in words
    assert "Refrigerator on Circuit one, Refrigerator on Circuit two" in words
    home = outage_plan(simulate(site, day.model_copy(update={"people": None})))
    assert home is not None
    assert "Keep shut" in said(home.during)


def test_a_medical_device_is_seen_to_before_the_set_is_stopped():
    run, _ = planned()
    breathing = of_kind("bedroom", "backed", (15,), "oxygen-concentrator").model_copy(
        update={"load_class": "must_serve"}
    )
    site = with_parts(run.site, circuits=(*run.site.circuits, breathing))
    plan = outage_plan(simulate(site, site.scenarios[0]))
    name = breathing.appliances[0].name
    (ahead,) = [t for t in plan.before if "can run on alone" in t.text]
    assert name in ahead.text
    assert "Ask clinician" in ahead.caution
    (stop,) = [t for t in plan.during if t.text.startswith("Stop ")]
    assert f"Before it, change {name} over" in stop.text


def test_what_must_be_served_is_no_choice_and_the_rest_comes_on_top():
    """A set of 2 kW, 16.7 A a leg at 120 V, before what is heavy."""
    base = backed_up_site()
    needed = circuit("oxygen", "backed", 9, load_w=1000, load_class="must_serve")
    heavy = [circuit(f"heater-{n}", "backed", n, load_w=1400) for n in (13, 17)]
    site = with_parts(
        base,
        generators=(generator(rated_kw=2.0),),
        circuits=(*base.circuits, needed, *heavy),
        scenarios=(scenario("out", span_h=12, outage_h=(2, 10)),),
    )
    told = [t.text for t in outage_plan(simulate(site, site.scenarios[0])).during]
    assert any(t.startswith("Never all at once") and "Circuit oxygen stays on" in t for t in told)
    (rest,) = [t for t in told if t.startswith("What else is on comes on top")]
    assert "Circuit heater-13" in rest
    assert "Circuit heater-17" in rest


def test_what_asks_for_nothing_is_not_put_on_by_hand_and_alarms_are_not_charged():
    run, _ = planned()
    idle = [
        c.model_copy(update={"appliances": ()}) if c.id == "counter" else c
        for c in run.site.circuits
    ]
    alarms = of_kind("alarms", "backed", (15,), "smoke-alarms").model_copy(
        update={"own_battery_min": 1440.0}
    )
    site = with_parts(run.site, circuits=(*idle, alarms))
    plan = outage_plan(simulate(site, site.scenarios[0]))
    assert not any("on by hand" in t.text for t in plan.during)
    assert not any("Charge in full" in t.text for t in plan.before)


def test_lights_beside_the_alarms_make_nothing_to_charge_and_a_machine_for_breath_does():
    run, _ = planned()
    for other, charged in (("lighting", False), ("sleep-apnea-machine", True)):
        hall = of_kind("alarms", "backed", (15,), "smoke-alarms")
        things = (*hall.appliances, KINDS[other].appliance("other"))
        hall = hall.model_copy(update={"own_battery_min": 1440.0, "appliances": things})
        plan = outage_plan(
            simulate(with_parts(run.site, circuits=(*run.site.circuits, hall)), run.scenario)
        )
        assert plan is not None
        assert any("Charge in full" in t.text for t in plan.before) is charged


def test_a_refill_that_falls_into_a_rest_is_no_stop_and_the_burn_counts_from_the_rest_s_end():
    """A rest from 13:00 to 16:30 with a refill at 14:30 in it, then a stop at 18:30."""
    run, _ = planned()
    stops = (set_stop(3, 6.5), set_stop(4.5, 4.5 + 1 / 3), set_stop(8.5, 8.5 + 1 / 3))
    day = run.scenario.model_copy(update={"generator_stops": stops})
    ran = simulate(with_parts(run.site, scenarios=(day,)), day)
    plan = outage_plan(ran)
    assert plan is not None
    told = [t for t in plan.during if "oil level" in t.text]
    assert [t.at for t in told] == [stops[0].start, stops[2].start]
    (source,) = (s for s in ran.sources if s.kind == "generator")
    assert source.fuel_used is not None
    burnt = 2.0 * source.fuel_used.value / source.run_h
    assert f"(about {burnt:.1f} gal were burnt" in told[1].text
    said = [e.text for e in ran.events if "service" in e.text or "rests" in e.text]
    assert [text.split(" ", 2)[2] for text in said] == ["rests", "is stopped for service"]


def test_a_throw_before_in_and_after_the_outage_is_a_task_of_its_part_and_one_that_stays_is_none():
    moves = tuple(
        SwitchMove(switch_id="throw", at=START + timedelta(hours=h), position=position)
        for h, position in (
            (0.5, "normal"),
            (1, "backed_up"),
            (3, "normal"),
            (4, "normal"),
            (7, "backed_up"),
            (8, "normal"),
        )
    )
    site = double_throw_site()
    day = scenario("out", span_h=12, outage_h=(2, 6), switch_moves=moves)
    plan = outage_plan(simulate(with_parts(site, scenarios=(day,)), day))
    assert plan is not None
    parts = [
        [
            (t.at, "backed-up" in t.text.split("throw it to")[1])
            for t in part
            if "throw it" in t.text
        ]
        for part in (plan.before, plan.during, plan.after)
    ]
    at = {h: START + timedelta(hours=h) for h in (1, 3, 7, 8)}
    assert parts == [[(at[1], True)], [(at[3], False)], [(at[7], True), (at[8], False)]]
    for part in (plan.before, plan.after):
        times = [t.at for t in part]
        assert times == sorted(times)
        assert all("move the handle fully" in t.caution for t in part if "throw it" in t.text)


def test_no_stop_is_told_where_no_set_runs():
    """A house without a generator, in a day whose stops were written for one."""
    run, _ = planned()
    site = normal_only_site()
    day = run.scenario.model_copy(update={"hand_windows": ()})
    plan = outage_plan(simulate(with_parts(site, scenarios=(day,)), day))
    assert plan is not None
    assert not site.generators
    assert day.generator_stops
    assert "oil level" not in said(plan.during)
    failed = run.scenario.model_copy(update={"generator": "fails"})
    plan = outage_plan(simulate(with_parts(run.site, scenarios=(failed,)), failed))
    assert plan is not None
    assert "oil level" not in said(plan.during)
