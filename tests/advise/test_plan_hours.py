"""The hours that a run counts on, and what a set that takes over by itself finds on."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.outage_plan import outage_plan
from server.domain.catalogue import KINDS
from server.domain.scenario import ApplianceEvent, HandWindow, KeptOff, Window
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    generator,
    scenario,
    whole_house_site,
    with_parts,
)


def event(appliance_id: str, hour: float) -> ApplianceEvent:
    return ApplianceEvent(appliance_id=appliance_id, at=START + timedelta(hours=hour))


def house(*, span_h: float = 60.0, back_h: float = 50.0, rated_kw: float = 20.0, **changes) -> Site:
    """A car and a dryer on the set of a panel that is backed up by itself."""
    base = backed_up_site()
    car = KINDS["car-charger-32"].appliance("car", "Car charger")
    dryer = KINDS["dryer"].appliance("dryer", "Clothes dryer")
    day = scenario("out", span_h=span_h, outage_h=(2, back_h)).model_copy(update=changes)
    return with_parts(
        base,
        generators=(generator(rated_kw=rated_kw),),
        circuits=(
            *base.circuits,
            circuit("car", "backed", 9, 11, appliances=(car,), breaker_a=40),
            circuit("dryer", "backed", 13, 15, appliances=(dryer,), breaker_a=30),
        ),
        scenarios=(day,),
    )


def plan_of(site: Site):
    plan = outage_plan(simulate(site, site.scenarios[0]))
    assert plan is not None
    return plan


def told(tasks, start: str) -> list[str]:
    return [t.text for t in tasks if start in t.text]


def test_moved_hours_stand_in_the_plan_day_by_day_and_days_alike_once():
    hours = (5, 29, 50.5 - 0.75)
    site = house(events=tuple(event("dryer", h) for h in hours))
    tasks = [t for t in plan_of(site).during if t.text.startswith("This run has these hours")]
    first, last = tasks
    assert first.at == START + timedelta(hours=5)
    assert "on Thu 26 Nov and Fri 27 Nov: Clothes dryer 17:00. Keep to them" in first.text
    assert "on Sat 28 Nov: Clothes dryer 13:45. Keep to them" in last.text


def test_hours_of_a_run_that_passes_a_limit_are_not_to_be_kept_to():
    site = house(events=(event("dryer", 5),), rated_kw=4.0)
    (hours,) = told(plan_of(site).during, "This run has these hours")
    assert "Keep to them" not in hours


def test_what_waits_for_the_utility_is_told():
    site = house(events=(event("dryer", 55),))
    plan = plan_of(site)
    (waits,) = told(plan.during, "starts none of these until the utility is back")
    assert waits.endswith(": Clothes dryer.")
    assert not told(plan.during, "This run has these hours")
    small = tuple(
        c.model_copy(
            update={"appliances": tuple(a.model_copy(update={"load_w": 900}) for a in c.appliances)}
        )
        if c.id == "dryer"
        else c
        for c in site.circuits
    )
    light = plan_of(with_parts(site, circuits=small))
    assert not told(light.during, "starts none of these until the utility is back")


@pytest.mark.parametrize(
    ("hour", "words"),
    [
        (12, "let Car charger charge only from Fri 27 Nov 00:00 on"),
        (54, "let Car charger charge only from Sat 28 Nov 18:00 on"),
        (0.1, "Leave the car unplugged from Car charger while the utility is out"),
    ],
)
def test_the_hour_at_which_a_car_charges_is_set_before(hour, words):
    short = ApplianceEvent(appliance_id="car", at=START + timedelta(hours=hour), energy_kwh=5.0)
    before = plan_of(house(events=(short,))).before
    assert len(told(before, words)) == 1


def test_a_car_that_comes_by_habit_has_no_hour_to_set():
    before = plan_of(house()).before
    assert not told(before, "charge only from")
    assert not told(before, "unplugged")


def test_an_outage_that_nobody_announced_finds_on_what_the_run_has_off():
    day = scenario("out", span_h=8, outage_h=(2, 5))
    site = whole_house_site(generators=(generator(start_delay_s=10.0),), scenarios=(day,))
    (words,) = told(plan_of(site).before, "takes over by itself")
    assert "about 15 s after the power fails, and this run has Circuit c off by then" in words
    assert "leave it off from now on" in words
    off = day.model_copy(update={"kept_off": (KeptOff(circuit_id="a"),)})
    (both,) = told(plan_of(with_parts(site, scenarios=(off,))).before, "takes over by itself")
    assert "this run has Circuit a and Circuit c off by then" in both


@pytest.mark.parametrize(
    ("site", "people"),
    [
        (whole_house_site(kind="manual"), None),
        (whole_house_site(generators=(generator(start="by_hand"),)), None),
        (whole_house_site(), 0),
    ],
)
def test_a_person_is_asked_where_one_throws_starts_or_has_left(site, people):
    day = scenario("out", span_h=8, outage_h=(2, 5), people=people)
    before = plan_of(with_parts(site, scenarios=(day,))).before
    assert not told(before, "takes over by itself")
    assert told(before, "Switch off, and leave off until the end: Circuit c.")


def test_what_is_on_by_hand_at_some_hours_is_off_as_an_automatic_set_takes_over():
    span = Window(start=START + timedelta(hours=3), end=START + timedelta(hours=4))
    day = scenario(
        "out",
        span_h=8,
        outage_h=(2, 5),
        hand_windows=(HandWindow(circuit_id="b", window=span),),
    )
    base = whole_house_site()
    hand = tuple(
        c.model_copy(update={"outage_role": "by_hand"}) if c.id == "b" else c for c in base.circuits
    )
    plan = plan_of(with_parts(base, circuits=hand, scenarios=(day,)))
    assert told(plan.before, "Switch off, to be on by hand at some hours only: Circuit b.")
    (words,) = told(plan.before, "takes over by itself")
    assert "Circuit b and Circuit c off by then" in words
