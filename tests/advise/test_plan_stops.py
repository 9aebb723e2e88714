"""Stops of a set: the water drawn before, the devices that are on then, what comes on first."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from server.advise.outage_plan import OutagePlan, outage_plan
from server.domain.catalogue import KINDS
from server.domain.scenario import Stop, Window
from server.domain.supply import FuelPoint, FuelTank, TransferSwitch
from server.simulate.run import simulate
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    feeder,
    generator,
    panel,
    scenario,
    with_parts,
)


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def stopped(*kinds: str, stop_h: float = 6.0, panel: str = "backed", people=None) -> OutagePlan:
    """A plan of an automatic set that carries these and is stopped for half an hour."""
    base = backed_up_site()
    things = tuple(
        circuit(
            f"c{n}",
            panel,
            *((21 + 4 * n, 23 + 4 * n) if KINDS[kind].volts == 240 else (21 + 4 * n,)),
            appliances=(KINDS[kind].appliance(kind),),
            load_class=KINDS[kind].load_class,
        )
        for n, kind in enumerate(kinds)
    )
    panels = tuple(p.model_copy(update={"spaces": 42}) for p in base.panels)
    stop = Window(start=at(stop_h), end=at(stop_h + 0.5))
    day = scenario("out", span_h=30, outage_h=(2, 26), generator_stops=(stop,), people=people)
    site = with_parts(
        base,
        generators=(generator(),),
        panels=panels,
        circuits=(*base.circuits, *things),
        scenarios=(day,),
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    return plan


def told(plan: OutagePlan, start: str) -> list:
    return [t for t in plan.during if t.text.startswith(start)]


def test_water_is_drawn_ahead_of_a_stop_that_leaves_the_well_dead():
    (task,) = told(stopped("well-pump"), "Draw the water that is needed until")
    assert task.at == at(5.5)
    assert "has no power in the stop at 18:00." in task.text
    assert not told(stopped("well-pump", panel="main"), "Draw the water that is needed")
    assert not told(stopped("well-pump", people=0), "Draw the water that is needed")


@pytest.mark.parametrize(("stop_h", "worn"), [(25.0, False), (14.0, True)])
def test_a_device_that_is_worn_at_night_is_changed_over_for_stops_of_the_night_alone(stop_h, worn):
    (task,) = told(stopped("sleep-apnea-machine", stop_h=stop_h), "Stop Generator set")
    assert ("Before it, change" in task.text) is worn


@pytest.mark.parametrize(
    ("kinds", "first"),
    [
        ((), "Close breakers that you opened one at a time."),
        (("septic-pump",), "Close breakers that you opened one at a time."),
        (("sump-pump",), "one at a time, pumps of a pit first."),
        (("sleep-apnea-machine",), "one at a time, medical devices first."),
        (
            ("sump-pump", "sleep-apnea-machine"),
            "one at a time, pumps of a pit first and medical devices second.",
        ),
    ],
)
def test_only_what_the_house_has_comes_first_after_a_stop(kinds, first):
    (task,) = told(stopped(*kinds), "Start Generator set again")
    assert task.text.endswith(first)


def test_a_device_with_a_battery_is_seen_to_at_bedtime_not_as_it_runs_empty():
    base = backed_up_site()
    bed = circuit(
        "bed",
        "main",
        13,
        appliances=(KINDS["sleep-apnea-machine"].appliance("sleep", "Breathing machine"),),
        load_class="must_serve",
        own_battery_min=420.0,
    )
    day = scenario("out", span_h=40, outage_h=(2, 36))
    run = simulate(with_parts(base, circuits=(*base.circuits, bed), scenarios=(day,)), day)
    row = next(i for i, c in enumerate(run.site.circuits) if c.id == "bed")
    bedtime_s = run.served.gaps(row)[0].begin_s
    assert bedtime_s > 2 * 3600.0
    (task,) = [t for t in outage_plan(run).during if t.text.startswith("Take whoever needs")]
    assert task.at == START + timedelta(seconds=bedtime_s)


CARED_FOR = ("well-pump", "sump-pump", "oxygen-concentrator")


def oiled(*, entered: bool, fuel: str = "propane") -> OutagePlan:
    """An automatic set that is stopped for 40 min at 8 h of running, entered or by its oil hours.

    It turns from 10 s after 14:00 on, so that its 8 h are run 10 s after 22:00.
    """
    base = backed_up_site()
    things = tuple(
        circuit(
            kind,
            "backed",
            *((21 + 4 * n, 23 + 4 * n) if KINDS[kind].volts == 240 else (21 + 4 * n,)),
            appliances=(KINDS[kind].appliance(kind),),
            load_class="must_serve",
        )
        for n, kind in enumerate(CARED_FOR)
    )
    begin = START + timedelta(hours=10, seconds=10)
    stop = Window(start=begin, end=begin + timedelta(minutes=40))
    changes = {"generator_stops": (stop,)} if entered else {"oil_stop_min": 40.0}
    day = scenario("out", span_h=18, outage_h=(2, 14), pit_inflow_gpm=2.0, **changes)
    site = with_parts(
        base,
        generators=(generator(oil_check_h=8.0, fuel=fuel),),
        panels=tuple(p.model_copy(update={"spaces": 42}) for p in base.panels),
        circuits=(*base.circuits, *things),
        scenarios=(day,),
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    return plan


@pytest.mark.parametrize("fuel", ["propane", "diesel"])
def test_a_stop_that_the_run_makes_for_oil_has_the_tasks_of_an_entered_one(fuel):
    """Water drawn, pit emptied, oxygen changed over, stop, start again: at the same moments."""
    entered, made = oiled(entered=True, fuel=fuel), oiled(entered=False, fuel=fuel)
    due = "Stop Generator set for 40 min, no later (Generator set has then run its 8 h): oil level"
    as_entered = [
        (t.at, t.text.replace(due, "Stop Generator set for 40 min: oil level"), t.caution)
        for t in made.during
    ]
    assert as_entered == [(t.at, t.text, t.caution) for t in entered.during]
    begin = START + timedelta(hours=10, seconds=10)
    (stop,) = told(made, "Stop Generator set")
    assert (stop.at, stop.text.startswith(due)) == (begin, True)
    assert "Before it, change Oxygen concentrator over to what runs it alone." in stop.text
    assert ("refuel when cool" in stop.text) is (fuel == "diesel")
    (water,) = told(made, "Draw the water that is needed until")
    assert water.at == begin - timedelta(minutes=30)
    (pit,) = told(made, "Run the pit of ")
    assert pit.at == begin
    (again,) = told(made, "Start Generator set again")
    assert again.at == begin + timedelta(minutes=40)


def barn(*, stopped_ids: tuple[str | None, ...], of_start: str = "automatic") -> OutagePlan:
    """A house set with water, a pit and oxygen on it, and a second set that has a barn alone."""
    base = backed_up_site()
    things = tuple(
        circuit(
            kind,
            "backed",
            *((11, 13) if KINDS[kind].volts == 240 else (15 + 2 * n,)),
            appliances=(KINDS[kind].appliance(kind),),
            load_class="must_serve",
        )
        for n, kind in enumerate(CARED_FOR)
    )
    stops = tuple(Stop(start=at(6), end=at(6.5), set_id=i) for i in stopped_ids)
    day = scenario("out", span_h=12, outage_h=(2, 10), pit_inflow_gpm=2.0, generator_stops=stops)
    site = with_parts(
        base,
        generators=(
            generator(name="House set", start=of_start),
            generator("other", name="Barn set", start=of_start),
        ),
        transfer_switches=(
            *base.transfer_switches,
            TransferSwitch(id="ats2", name="Barn switch", rating_a=100),
        ),
        panels=(*base.panels, panel("barn", rating_a=125)),
        feeders=(
            *base.feeders,
            feeder("main", "ats2", "utility", breaker_a=60, spaces=(6, 8)),
            feeder("other", "ats2", "generator", breaker_a=60),
            feeder("ats2", "barn"),
        ),
        circuits=(*base.circuits, *things, circuit("lamps", "barn", 1, load_w=400)),
        scenarios=(day,),
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    return plan


def test_nobody_is_seen_to_for_the_stop_of_a_set_that_does_not_feed_them():
    plan = barn(stopped_ids=("other",))
    (stop,) = told(plan, "Stop Barn set")
    assert "Before it" not in stop.text
    assert not told(plan, "Draw the water that is needed")
    assert not told(plan, "Run the pit of ")
    (stop,) = told(barn(stopped_ids=("set",)), "Stop House set")
    assert "Before it, change Oxygen concentrator over" in stop.text


@pytest.mark.parametrize("ids", [(None,), ("set", "other")])
def test_sets_that_are_stopped_together_have_one_task_each_and_are_set_back(ids):
    plan = barn(stopped_ids=ids)
    (stop,) = told(plan, "Stop ")
    assert stop.text.startswith("Stop House set and Barn set for 30 min: oil level.")
    assert len(told(plan, "Draw the water that is needed")) == 1
    assert len(told(plan, "Run the pit of ")) == 1
    (again,) = told(plan, "Start House set and Barn set again")
    assert "set them back to automatic, and see that they take over." in again.text
    (again,) = told(barn(stopped_ids=("other",)), "Start Barn set again")
    assert "set it back to automatic, and see that it takes over." in again.text


def test_a_stop_that_goes_over_into_another_is_over_once():
    """14 to 14:40 and 14:30 to 15:00 of one set: it turns again at 15:00."""
    base = backed_up_site()
    stops = tuple(Window(start=at(6 + a), end=at(6 + b)) for a, b in ((0, 2 / 3), (0.5, 1)))
    day = scenario("out", span_h=12, outage_h=(2, 10), generator_stops=stops)
    plan = outage_plan(simulate(with_parts(base, scenarios=(day,)), day))
    assert [t.at for t in told(plan, "Start Generator set again")] == [at(7)]


def test_a_set_that_finds_no_fuel_after_its_stop_is_not_started_again():
    """5 gal, 0.4 an hour to the range and 1.5 to the set from 2 to 4 h: 0.4 left, then 1 h.

    36,600 Btu/h are 0.4 gal/h at 91,500 Btu/gal; it is stopped from 4 to 7 h and finds none then.
    """
    base = backed_up_site()
    made = generator(
        fuel="propane",
        fuel_points=(FuelPoint(load_kw=0, rate_per_h=1.5), FuelPoint(load_kw=20, rate_per_h=1.5)),
        tank=FuelTank(capacity_gal=5, fill_share=1, reserve_share=0, other_btu_h=36_600),
    )
    stop = Window(start=at(4), end=at(7))
    day = scenario("out", span_h=14, outage_h=(2, 12), generator_stops=(stop,))
    run = simulate(with_parts(base, generators=(made,), scenarios=(day,)), day)
    plan = outage_plan(run)
    assert told(plan, "Let Generator set rest for 3 h")
    assert run.fuel[0].dry_at == at(7)
    assert not told(plan, "Start Generator set again")
    (none,) = told(plan, "Generator set finds no fuel to start on here unless more was brought")
    assert none.at == at(7)
