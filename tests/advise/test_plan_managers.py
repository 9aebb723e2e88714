"""The load managers that a run counts on, in its plan; and one set of hours for each thing."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.outage_plan import OutagePlan, outage_plan
from server.domain.catalogue import KINDS
from server.domain.scenario import ApplianceEvent
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.run import simulate
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    generator,
    interlock_site,
    portable,
    scenario,
    whole_house_site,
    with_parts,
)


def plan_of(site: Site) -> OutagePlan:
    plan = outage_plan(simulate(site, site.scenario("out")))
    assert plan is not None
    return plan


def told(tasks, start: str) -> list[str]:
    return [t.text for t in tasks if start in t.text]


def under(site: Site, circuit_id: str, group: EnergyGroup) -> Site:
    circuits = tuple(
        c.model_copy(update={"energy_group_id": group.id}) if c.id == circuit_id else c
        for c in site.circuits
    )
    return with_parts(site, circuits=circuits, energy_groups=(group,))


def test_what_a_manager_keeps_off_is_not_left_off_by_people_and_the_manager_is_seen_to():
    pause = EnergyGroup(id="m", name="Pause", off_on_generator=True)
    plan = plan_of(under(whole_house_site(), "c", pause))
    assert not told(plan.before, "takes over by itself")
    (seen,) = told(plan.before, "See that Pause is fitted and works")
    assert "counts on it to hold off Circuit c. Where it is only planned, this plan does" in seen
    assert not told(plan_of(whole_house_site()).before, "is fitted and works")


@pytest.mark.parametrize(("setting_a", "holds"), [(45, True), (70, False)])
def test_hours_of_what_a_manager_holds_off_may_have_to_wait(setting_a, holds):
    """A dryer of 5 kW or more beside 30 A of the rest, which 45 A do not bear and 70 A do."""
    base = backed_up_site()
    day = scenario("out", span_h=12, outage_h=(2, 10)).model_copy(
        update={
            "events": (ApplianceEvent(appliance_id="dryer", at=START + timedelta(hours=5)),),
        }
    )
    dryer = KINDS["dryer"].appliance("dryer", "Clothes dryer")
    site = with_parts(
        base,
        generators=(generator(rated_kw=20.0),),
        circuits=(
            *base.circuits,
            circuit("dryer", "backed", 13, 15, appliances=(dryer,), breaker_a=30),
            circuit("heat", "backed", 17, 19, load_w=4800, breaker_a=30),
        ),
        scenarios=(day,),
    )
    group = EnergyGroup(id="m", name="Manager", setting_a=setting_a, watch_id="set")
    plan = plan_of(under(site, "dryer", group))
    (hours,) = told(plan.during, "This run has these hours")
    assert ("Manager holds Circuit dryer off at times in this run" in hours) is holds
    seen = told(plan.before, f"See that Manager, set to {setting_a} A, is fitted and works")
    assert bool(seen) is holds


@pytest.mark.parametrize(("small", "kept"), [(False, True), (True, False)])
def test_laundry_has_its_hours_or_is_done_before_and_never_both(small, kept):
    """On a set of 30 A the dryer has to be left off by the code, so it has no hours."""
    base = interlock_site()
    dryer = KINDS["dryer"].appliance("dryer", "Clothes dryer")
    day = scenario("out", span_h=12, outage_h=(2, 10)).model_copy(
        update={
            "events": (ApplianceEvent(appliance_id="dryer", at=START + timedelta(hours=5)),),
        }
    )
    site = with_parts(
        base,
        generators=(portable() if small else generator(rated_kw=20.0, start="by_hand"),),
        circuits=(
            *base.circuits,
            circuit(
                "dryer", "main", 9, 11, appliances=(dryer,), breaker_a=30, load_class="deferrable"
            ),
        ),
        scenarios=(day,),
    )
    if not small:
        site = with_parts(
            site,
            feeders=tuple(
                f.model_copy(update={"breaker_a": 90}) if f.from_id == "set" else f
                for f in site.feeders
            ),
        )
    plan = plan_of(site)
    assert bool(told(plan.during, "This run has these hours")) is kept
    assert bool(told(plan.before, "Do the laundry and the dishes")) is not kept
    left = told(plan.before, "with these breakers left off: Circuit dryer")
    assert bool(left) is not kept
