"""The breakers that the code wants off a set worked by hand are entered by one button."""

from __future__ import annotations

from server.advise.left_by_hand import and_barred, barred_step
from server.advise.next_step import next_step
from server.advise.step import NextStep
from server.domain.behaviour import Constant
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.demand.left_off import left_off
from server.simulate.run import cached_run
from tests.builders import appliance, circuit, interlock_site, scenario, with_parts
from tests.rules.check_sites import of_kind


def seldom(part_id: str, *spaces: int, **changes: object) -> Circuit:
    """7,500 VA by the code that hardly ever draw."""
    load = appliance(f"{part_id}-load", 7_500, volts=240, behaviour=Constant(share=0.01))
    return circuit(part_id, "main", *spaces, breaker_a=40, appliances=(load,), **changes)


def house(*others: Circuit) -> Site:
    base = interlock_site()
    days = (scenario("calm"), scenario("out", outage_h=(2, 5)))
    mine = (seldom("kiln", 13, 15), seldom("oven", 17, 19))
    return with_parts(base, circuits=(*base.circuits[:1], *mine, *others), scenarios=days)


def test_the_whole_list_is_one_change_after_which_the_set_may_be_run():
    site = house()
    (one,) = left_off(site)
    step = next_step(site, site.scenario("out"))
    assert step.changed is not None
    assert step.names_code
    many = len(one.circuits)
    count = f"these {many} breakers" if many > 1 else "this breaker"
    assert step.command == f"Leave {count} off until switched on by hand"
    assert all(step.changed.circuit(c.id).outage_role == "by_hand" for c in one.circuits)
    assert left_off(step.changed) == ()
    assert not step.planned
    assert "may not be run" not in next_step(step.changed, step.changed.scenario("out")).sentence


def test_what_waits_for_the_named_breakers_is_not_told_one_by_one():
    site = house()
    step = next_step(site, site.scenario("out"))
    assert "waits up to" not in step.sentence
    assert "is then without power" not in step.sentence


def test_a_list_that_takes_the_water_is_told_and_not_offered():
    """A well of 9,000 VA goes with the others, and gives no water for more than an hour."""
    pump = of_kind("well", "main", (5, 7), "well-pump")
    loads = tuple(a.model_copy(update={"load_w": 9_000.0}) for a in pump.appliances)
    own = {"outage_role": "on", "load_class": "comfort", "breaker_a": 60, "appliances": loads}
    site = house(pump.model_copy(update=own))
    step = barred_step(cached_run(site, site.scenario("out")), {"set"})
    assert step is not None
    assert step.changed is None
    assert step.command == ""
    assert step.where == "roles"
    assert "With all of them off, in Scenario out, Well pump, 1 hp gives no water" in step.sentence


def test_a_step_that_has_a_change_keeps_it_and_names_the_code_after_it():
    site = house()
    barred = barred_step(cached_run(site, site.scenario("out")), {"set"})
    assert barred is not None
    assert and_barred(NextStep("First."), None) == NextStep("First.")
    both = and_barred(NextStep("First."), barred)
    assert both.sentence.startswith("First. By the code ")
    assert both.changed == barred.changed
    kept = and_barred(NextStep("First.", "Other", changed=site), barred)
    assert kept.command == "Other"
    assert kept.changed == site
