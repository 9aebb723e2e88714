"""The first minutes of an outage, and an answer that hangs on a guessed burn, as its plan has them.

Every figure is worked out by hand beside the check.
"""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from server.advise.outage_plan import OutagePlan, outage_plan
from server.domain.behaviour import SumpPump
from server.domain.cautions import MEDICAL
from server.domain.supply import Battery, FuelTank
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    feeder,
    generator,
    interlock_site,
    normal_only_site,
    panel,
    scenario,
    with_parts,
)
from tests.rules.check_sites import of_kind

GONE = START + timedelta(hours=2)


def begun(
    *, start: str = "by_hand", hand_min: float = 15.0, tank_gal: float = 60.0, inflow_gpm: float = 2
) -> tuple[Run, OutagePlan]:
    """A house with oxygen and a pit of 12 gal above its float, out from 14:00 to 22:00."""
    base = backed_up_site()
    pit = appliance("pit", 800, behaviour=SumpPump(cycle_gal=6.0, reserve_gal=12.0, pump_gpm=30.0))
    circuits = (
        *base.circuits,
        of_kind("oxygen", "backed", (9,), "oxygen-concentrator").model_copy(
            update={"load_class": "must_serve"}
        ),
        circuit("sump", "backed", 11, appliances=(pit,)).model_copy(
            update={"allowed_gap_min": 33.0, "load_class": "must_serve"}
        ),
        circuit("dryer", "backed", 13, 15, load_w=5000, breaker_a=30, outage_role="off").model_copy(
            update={"load_class": "deferrable"}
        ),
        circuit("kiln", "backed", 17, 19, load_w=3000, breaker_a=30, outage_role="off").model_copy(
            update={"load_class": "important"}
        ),
    )
    tank = FuelTank(capacity_gal=tank_gal, fill_share=1.0, reserve_share=0.1)
    day = scenario(
        "out", span_h=12, outage_h=(2, 10), hand_start_min=hand_min, pit_inflow_gpm=inflow_gpm
    )
    site = with_parts(
        base,
        generators=(generator(fuel="gasoline", start=start, tank=tank, rated_kw=20),),
        circuits=circuits,
        scenarios=(day,),
    )
    run = simulate(site, day)
    plan = outage_plan(run)
    assert plan is not None
    return run, plan


def over(plan: OutagePlan) -> list:
    return [t for t in plan.during if t.text.startswith("At once, change ")]


def test_a_medical_device_is_changed_over_at_once_until_the_set_carries_it():
    """By hand after 15 min: 14:00 + 15 min = 14:15."""
    _, plan = begun()
    (task,) = over(plan)
    assert task.at == GONE
    assert "until Thu 26 Nov 14:15" in task.text
    assert task.caution == str(MEDICAL)
    order = [t.text for t in plan.during]
    start = next(text for text in order if text.startswith("Start "))
    assert order.index(task.text) < order.index(start)


def test_a_set_that_starts_by_itself_leaves_nothing_to_change_over():
    assert over(begun(start="automatic")[1]) == []


def test_a_gap_that_it_must_be_taken_away_for_is_told_once():
    """90 min is past the 60 min of a service stop: to a place with power, in one task."""
    _, plan = begun(hand_min=90.0)
    assert over(plan) == []
    assert any(t.text.startswith("Take whoever needs ") for t in plan.during)


def test_the_breaker_of_a_pit_is_closed_first_and_its_minutes_are_told():
    """2 gal/min fill what is free below the brim, 12 to 18 gal, in 6 to 9 min."""
    run, plan = begun()
    (pit,) = run.verdict.pits
    whole = math.floor((pit.at - GONE).total_seconds() / 60.0)
    assert 6 <= whole <= 9
    start = next(t.text for t in plan.during if t.text.startswith("Start "))
    assert "Circuit sump first, Circuit oxygen (" in start
    assert ") second, what else must be served third." in start
    assert f"runs over {whole} min after the power fails" in start


def test_a_pit_that_bears_the_start_is_first_without_minutes():
    """0.2 gal/min bring 3 gal in 15 min, and 12 gal are free at least."""
    _, plan = begun(inflow_gpm=0.2)
    start = next(t.text for t in plan.during if t.text.startswith("Start "))
    assert "Circuit sump first" in start
    assert "after the power fails, as full" not in start


def test_fuel_that_ends_by_the_high_guess_is_not_called_enough_alone():
    """Of a guessed burn, 35 % more counts: with a tank between once and 1.35 times it, it hangs."""
    (need,) = begun()[0].fuel
    run, plan = begun(tank_gal=1.25 * need.used_gal)
    (hangs,) = run.fuel
    assert hangs.hangs_on_guess
    told = next(t.text for t in plan.before if "that this scenario counts on" in t.text)
    verdict = next(n for n in run.verdict.notes if n.startswith("What Generator set burns"))
    assert verdict in told
    more = math.ceil(1.35 * hangs.used_gal + hangs.reserve_gal - hangs.there_gal)
    assert f"Else have about {more} gal more within reach." in told
    sure = next(t.text for t in begun()[1].before if "that this scenario counts on" in t.text)
    assert "guess" not in sure


def test_what_is_needed_is_switched_on_before_what_can_wait_though_it_is_lighter():
    """The dryer asks 5,000 W and can wait; the kiln here asks 3,000 W and matters."""
    _, plan = begun()
    back = next(t.text for t in plan.after if t.text.startswith("Then switch on"))
    assert back.index("Circuit kiln") < back.index("Circuit dryer")


def test_what_the_code_forbids_stands_before_every_order_to_prepare():
    base = interlock_site()
    big = circuit("heat", "main", 13, 15, load_w=9000, breaker_a=50)
    day = scenario("out", span_h=12, outage_h=(2, 10))
    site = with_parts(base, circuits=(*base.circuits, big), scenarios=(day,))
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    assert plan.before[0].text.startswith("By the code ")
    assert " may not be run with all that is set to stay on" in plan.before[0].text


@pytest.mark.parametrize("people", [0, 2])
def test_nobody_is_told_to_change_over_in_an_empty_house(people):
    run, _ = begun()
    day = run.scenario.model_copy(update={"people": people})
    plan = outage_plan(simulate(with_parts(run.site, scenarios=(day,)), day))
    assert plan is not None
    assert bool(over(plan)) == bool(people)


def test_breakers_of_another_set_are_not_closed_on_this_one():
    """The sump stands behind its own automatic set; whoever starts this one has no such breaker."""
    run, _ = begun()
    base = run.site
    other = generator("other", rated_kw=20)
    switch = base.transfer_switches[0].model_copy(update={"id": "second", "name": "Second switch"})
    site = with_parts(
        base,
        generators=(*base.generators, other),
        transfer_switches=(*base.transfer_switches, switch),
        panels=(*base.panels, panel("apart", rating_a=125)),
        feeders=(
            *base.feeders,
            feeder("main", "second", "utility", breaker_a=100, spaces=(6, 8)),
            feeder("other", "second", "generator", breaker_a=90),
            feeder("second", "apart"),
        ),
        circuits=tuple(
            c.model_copy(update={"panel_id": "apart"}) if c.id == "sump" else c
            for c in base.circuits
        ),
    )
    plan = outage_plan(simulate(site, run.scenario))
    assert plan is not None
    (start,) = [t.text for t in plan.during if t.text.startswith("Start ")]
    assert "Circuit sump" not in start
    assert "Circuit oxygen (" in start
    assert ") first, what else must be served second." in start


def test_a_house_battery_is_charged_before_and_counted_nowhere():
    base = normal_only_site()
    store = Battery(id="bat", name="House battery", panel_id="main", usable_kwh=13, inverter_kw=5)
    day = scenario("out", span_h=12, outage_h=(2, 10))
    run = simulate(with_parts(base, batteries=(store,), scenarios=(day,)), day)
    plan = outage_plan(run)
    assert plan is not None
    said = "House battery is not counted: ask its installer what it carries, and for how long."
    assert [t.text for t in plan.before if "House battery" in t.text] == [
        f"Charge House battery in full before. {said}"
    ]
    (dark,) = [t.text for t in plan.during if t.text.startswith("Nothing works")]
    assert dark.endswith("and what House battery may carry: that is not counted here.")
    assert said in run.verdict.notes
    without = simulate(with_parts(base, scenarios=(day,)), day)
    assert not any("not counted: ask" in note for note in without.verdict.notes)
