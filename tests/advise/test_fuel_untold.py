"""A set of liquid fuel without a tank: how much it needs, and that nobody told of it."""

from __future__ import annotations

import pytest

from server.advise.next_step import next_step
from server.advise.outage_plan import outage_plan
from server.domain.behaviour import Constant
from server.domain.cautions import FUEL
from server.domain.site import Site
from server.domain.supply import FuelTank
from server.simulate.fuel_untold import untold_fuel
from server.simulate.run import simulate
from tests.builders import (
    appliance,
    circuit,
    generator,
    interlock_site,
    portable,
    scenario,
    with_parts,
)


def house(fuel: str = "gasoline", *, out_h: float = 24.0, tank_gal: float = 0.0) -> Site:
    """A set through an inlet, out for so many hours."""
    tank = FuelTank(capacity_gal=tank_gal, fill_share=1.0, reserve_share=0.0) if tank_gal else None
    day = scenario("out", span_h=out_h + 4, outage_h=(2, 2 + out_h))
    one = portable(fuel=fuel, tank=tank)
    return with_parts(interlock_site(), generators=(one,), scenarios=(day,))


def test_the_answer_the_step_and_the_plan_tell_how_much_and_that_nobody_said_from_where():
    site = house()
    day = site.scenario("out")
    run = simulate(site, day)
    (bare,) = untold_fuel(site, run.sources)
    (source,) = (s for s in run.sources if s.kind == "generator")
    assert bare.used_gal == source.fuel_used.value > 1.0
    much = f"about {bare.used_gal:.0f} gal of gasoline"
    assert run.verdict.fits
    assert f"but nobody has told where {much} for Generator set come from" in run.verdict.sentence
    step = next_step(site, day)
    assert step.sentence.startswith(f"Generator set burns {much}")
    assert (step.where, step.set_id, step.settled) == ("tank", "set", False)
    (task,) = (t for t in outage_plan(run).before if much in t.text)
    assert task.caution == str(FUEL)


def test_a_tank_that_is_told_is_followed_instead():
    site = house(tank_gal=60.0)
    run = simulate(site, site.scenario("out"))
    assert untold_fuel(site, run.sources) == ()
    assert "nobody has told" not in run.verdict.sentence


@pytest.mark.parametrize(("fuel", "out_h"), [("natural_gas", 24.0), ("gasoline", 1.0)])
def test_gas_of_a_pipe_and_an_hour_ask_for_no_tank(fuel: str, out_h: float):
    site = house(fuel, out_h=out_h)
    run = simulate(site, site.scenario("out"))
    assert untold_fuel(site, run.sources) == ()


def test_where_something_fails_the_fuel_is_told_beside_it():
    site = house()
    weak = with_parts(site, generators=(generator(fuel="gasoline", start="by_hand", rated_kw=1),))
    verdict = simulate(weak, weak.scenario("out")).verdict
    assert not verdict.fits
    assert any("has no tank entered" in note for note in verdict.notes)


def test_what_the_code_bars_goes_first_and_the_tank_is_asked_beside_it():
    base = house()
    load = appliance("kiln-load", 15_000, volts=240, behaviour=Constant(share=0.01))
    kiln = circuit("kiln", "main", 17, 19, breaker_a=60, appliances=(load,))
    site = with_parts(base, circuits=(*base.circuits, kiln))
    step = next_step(site, site.scenario("out"))
    assert step.sentence.startswith("In amps this scenario holds, but: By the code ")
    assert "Besides: Generator set burns about " in step.sentence
    assert (step.where, step.set_id) == ("roles", "set")
