"""What a change takes from people: the harm that it makes longer, and comfort before water."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.levers import Lever, apply_lever
from server.advise.needed import new_harms, takes_needed
from server.advise.next_step import next_step
from server.advise.relief import relief_of
from server.domain.behaviour import Cycle, Stage, Timed
from server.domain.scenario import Scenario, Weather, Window
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    generator,
    interlock_site,
    scenario,
    with_parts,
)
from tests.rules.check_sites import HOUSE, of_kind


def with_well(*, rated_kw: float) -> tuple[Site, Scenario]:
    """A well and two lasting loads of 20 A on one set, stopped once for 20 min."""
    well = of_kind("well", "backed", (1, 3), "well-pump").model_copy(
        update={"load_class": "important", "outage_role": "on"}
    )
    site = with_parts(
        backed_up_site(),
        generators=(generator(rated_kw=rated_kw),),
        circuits=(
            well,
            circuit("cool", "backed", 5, 7, load_w=4800, breaker_a=30),
            circuit("warm", "backed", 9, 11, load_w=4800, breaker_a=30),
        ),
    )
    stop = Window(start=START + timedelta(hours=6), end=START + timedelta(hours=6, minutes=20))
    day = scenario("out", span_h=24, outage_h=(2, 22), generator_stops=(stop,), people=4)
    return with_parts(site, scenarios=(day,)), day


def test_a_harm_that_grows_from_minutes_to_hours_counts_as_brought():
    """A stop of 20 min leaves no water for minutes; the pump kept off, for most of 20 h."""
    site, day = with_well(rated_kw=20)
    run = simulate(site, day)
    after = simulate(*apply_lever(site, day, Lever("off", "well")))
    (brought,) = new_harms(run, after)
    assert "gives no water for up to" in brought
    assert new_harms(run, run) == ()
    assert new_harms(after, run) == ()


@pytest.mark.parametrize(("low_f", "needed"), [(20.0, True), (60.0, False)])
@pytest.mark.parametrize("kind", ["air-handler", "heat-pump"])
def test_in_frost_heat_is_needed_and_so_is_the_fan_that_it_blows_through(kind, low_f, needed):
    site, day = with_well(rated_kw=20)
    unit = of_kind("unit", "backed", (13, 15), kind)
    day = day.model_copy(update={"weather": Weather(low_f=low_f, high_f=low_f + 5.0)})
    site = with_parts(site, circuits=(*site.circuits, unit), zones=HOUSE, scenarios=(day,))
    assert takes_needed(simulate(site, day), ["unit"]) is needed


def test_what_takes_water_is_needed_and_a_lasting_load_is_comfort():
    run = simulate(*with_well(rated_kw=20))
    assert takes_needed(run, ["well"])
    assert not takes_needed(run, ["cool"])


def test_the_step_takes_comfort_and_never_calls_a_house_without_water_one_where_all_holds():
    """Two loads of 20 A and a well pump of some 7 A pass 41.7 A: without either it holds."""
    site, day = with_well(rated_kw=10)
    run = simulate(site, day)
    assert run.verdict.over
    relief = relief_of(site, day)
    assert relief is not None
    (dry,) = [c for c in relief.candidates if c.lever == Lever("off", "well")]
    assert dry.mends
    assert dry.holds == ""
    assert "gives no water" in dry.harmed[0]
    step = next_step(site, day)
    assert step.lever is not None
    assert step.lever.circuit_id in {"cool", "warm"}


def test_a_motor_that_gives_comfort_can_be_left_off_with_a_button_and_a_well_cannot():
    """A set of 3 kW: a start of 6 times 1,200 W dips it past 30 %."""
    fan = appliance("fan", 1200, load_type="motor", behaviour=Cycle(on_min=10, off_min=10))
    for kind, lever in (("comfort", Lever("off", "fan")), ("must_serve", None)):
        one = circuit("fan", "backed", 1, appliances=(fan,)).model_copy(
            update={"load_class": kind, "allowed_gap_min": 600.0}
        )
        site = with_parts(backed_up_site(), generators=(generator(rated_kw=3),), circuits=(one,))
        day = scenario("out", span_h=10, outage_h=(2, 8))
        step = next_step(with_parts(site, scenarios=(day,)), day)
        assert "leave it off while the set runs" in step.sentence
        assert step.lever == lever


def test_where_nothing_else_is_open_the_step_names_what_the_code_forbids():
    """9,000 W asked for by nobody in this day still count by the code on a set of 7,200 W."""
    once = Timed(stages=(Stage(minutes=1, share=1.0),))
    quiet = appliance("heat", 9000, volts=240, behaviour=once)
    heat = circuit("heat", "main", 1, 3, appliances=(quiet,), breaker_a=50)
    lamp = circuit("lamp", "main", 5, load_w=100)
    day = scenario("out", span_h=6, outage_h=(2, 5))
    site = with_parts(interlock_site(), circuits=(heat, lamp), scenarios=(day,))
    step = next_step(site, day)
    assert "By the code " in step.sentence
