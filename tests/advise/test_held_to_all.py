"""A step that acts in every scenario, held to those beside the one it was found for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.advise.held_to_all import held_to_all, in_others
from server.advise.levers import Lever, apply_lever
from server.advise.next_step import next_step
from server.advise.step import NextStep
from server.domain.behaviour import RoomUnit, Stage, Timed
from server.domain.scenario import ApplianceEvent, KeptOff, Weather
from server.domain.site import Site
from server.domain.thermal import Zone
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    circuit,
    generator,
    scenario,
    whole_house_site,
    with_parts,
)

SAID = "Keep Circuit strip off while the generator runs"


def house(*, winter: bool = True) -> Site:
    """10 kW give 41.7 A a leg: 25 A of strip heat and 25 A of a kiln that runs in one scenario.

    At 5 °F outdoors a house of 400 Btu/h a degree freezes without the strip.
    """
    unit = RoomUnit(zone_id="house", mode="heat")
    strip = appliance("strip", 6000, volts=240, behaviour=unit)
    once = Timed(stages=(Stage(minutes=120, share=1.0),))
    kiln = appliance("kiln", 6000, volts=240, behaviour=once)
    fired = ApplianceEvent(appliance_id="kiln", at=START.replace(hour=18))
    mild = Weather(low_f=45.0, high_f=55.0)
    cold = Weather(low_f=0.0, high_f=10.0)
    days = [scenario("mild", span_h=24, outage_h=(2, 20), weather=mild, events=(fired,))]
    if winter:
        days.append(scenario("storm", span_h=72, outage_h=(2, 70), weather=cold))
    kept = {"load_class": "must_serve", "allowed_gap_min": 900.0}
    return with_parts(
        whole_house_site(kind="automatic"),
        generators=(generator(rated_kw=10),),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=250, time_constant_h=25),),
        circuits=(
            circuit("strip", "main", 1, 3, breaker_a=40, appliances=(strip,)),
            circuit("kiln", "main", 5, 7, breaker_a=40, appliances=(kiln,), **kept),
        ),
        scenarios=tuple(days),
    )


def test_a_heater_kept_off_that_would_freeze_the_house_in_a_storm_is_off_in_this_scenario_alone():
    site = house()
    assert simulate(site, site.scenario("storm")).verdict.fits
    assert simulate(site, site.scenario("mild")).verdict.over
    step = next_step(site, site.scenario("mild"))
    assert step.command == f"{SAID}, in this scenario alone"
    assert step.lever == Lever("off", "strip", here=True)
    assert step.sentence.startswith(step.command)
    assert "Kept off in every scenario it would do harm: in Scenario storm" in step.sentence
    then, mild = apply_lever(site, site.scenario("mild"), step.lever)
    assert then.circuits == site.circuits
    assert then.scenario("storm") == site.scenario("storm")
    assert then.scenario("mild").kept_off == (KeptOff(circuit_id="strip"),)
    assert not simulate(then, mild).verdict.over
    assert simulate(then, then.scenario("storm")).verdict.fits


def test_a_heater_kept_off_that_harms_no_other_scenario_is_off_in_all():
    site = house(winter=False)
    step = next_step(site, site.scenario("mild"))
    assert step.command == SAID
    assert step.lever == Lever("off", "strip")


@pytest.mark.parametrize("kind", ["ready", "later"])
def test_what_writes_to_one_scenario_changes_no_other(kind):
    site = house()
    day = site.scenario("mild").model_copy(update={"generator_state": "not_used"})
    site = with_parts(site, scenarios=(day, site.scenario("storm")))
    lever = Lever("ready", "kiln")
    if kind == "later":
        lever = replace(lever, kind="later", hours=1.0, at=START.replace(hour=19))
        day = day.model_copy(update={"generator_state": "ready"})
    then, _ = apply_lever(site, day, lever)
    assert then.circuits == site.circuits
    assert then.scenario("storm") == site.scenario("storm")
    assert in_others(site, day, lever) == ("", ())


def test_a_circuit_kept_on_that_fails_another_scenario_is_told_and_not_offered():
    """In the storm scenario the kiln is fired beside the strip: 50 A of 41.7."""
    site = house()
    off = tuple(
        c.model_copy(update={"outage_role": "off", "load_class": "comfort"}) if i else c
        for i, c in enumerate(site.circuits)
    )
    storm = site.scenario("storm")
    fired = storm.model_copy(update={"events": site.scenario("mild").events})
    calm = scenario("calm", outage_h=(2, 4), weather=Weather(low_f=60.0, high_f=65.0))
    site = with_parts(site, circuits=off, scenarios=(calm, fired))
    step = NextStep("Keep Circuit kiln on.", "Keep it on", Lever("on", "kiln"))
    held = held_to_all(site, calm, step)
    assert held.lever is None
    assert held.command == ""
    assert "But it acts in every scenario, and with it, in Scenario storm, " in held.sentence
    assert "carries 50.0 A of 41.7 A: try it on a copy first." in held.sentence
