"""What is off for nothing, and the step that relieves most of those that cost least."""

from __future__ import annotations

import pytest

from server.advise.advice import advice_on
from server.advise.levers import Lever, apply_lever
from server.advise.needed import takes_needed
from server.advise.needless import needless
from server.advise.next_step import next_step
from server.advise.relief import relief_of
from server.domain.behaviour import DailyStart, Stage, Timed
from server.domain.circuit import Circuit
from server.domain.pairs import in_role
from server.domain.scenario import Weather
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    generator,
    scenario,
    whole_house_site,
    with_parts,
)
from tests.rules.check_sites import HOUSE, of_kind


def by_hand(*days, more=()) -> Site:
    """10 kW give 41.7 A a leg; 25 A run, and 12.5 A and 25 A are set to stay off."""
    return with_parts(
        whole_house_site(kind="manual"),
        generators=(generator(rated_kw=10),),
        circuits=(
            circuit("one", "main", 1, 3, load_w=6000, breaker_a=40),
            circuit("small", "main", 5, 7, load_w=3000, breaker_a=20, outage_role="off"),
            circuit("large", "main", 9, 11, load_w=6000, breaker_a=40, outage_role="off"),
            *more,
        ),
        scenarios=days or (scenario("out", outage_h=(2, 5)),),
    )


def test_what_fits_beside_the_rest_may_be_on_again_and_what_does_not_stays_off() -> None:
    """25 + 12.5 A are 37.5 A, 90 % of 41.7; 25 A more are not within it."""
    site = by_hand()
    step = next_step(site, site.scenario("out"))
    assert "Circuit small is off for nothing and may be on again" in step.sentence
    assert "is then filled to 90 %" in step.sentence
    assert step.command == "Keep Circuit small on while the generator runs"
    assert step.changed == in_role(site, "small", "on")
    after = next_step(step.changed, step.changed.scenario("out"))
    assert "off for nothing" not in after.sentence


def test_what_another_scenario_cannot_carry_stays_off_for_both() -> None:
    """25 + 6.25 A run there by hand; with 12.5 A more it were 43.75 A of 41.7."""
    more = circuit("more", "main", 13, 15, load_w=1500, breaker_a=20, outage_role="by_hand")
    idle, day = scenario("out", outage_h=(2, 5)), scenario("busy", outage_h=(2, 5))
    opened = {"circuit_id": "more", "window": day.outages[0]}
    day = day.model_validate(day.model_dump() | {"hand_windows": (opened,)})
    site = by_hand(idle, day, more=(more,))
    assert needless(simulate(site, idle)) is None
    alone = with_parts(site, scenarios=(idle,))
    assert needless(simulate(alone, idle)) is not None


def test_what_a_manager_keeps_off_besides_is_not_called_needless() -> None:
    site = by_hand()
    group = {"id": "m", "name": "Pause", "off_on_generator": True}
    held = [c.model_copy(update={"energy_group_id": "m"}) for c in site.circuits[1:]]
    site = with_parts(site, energy_groups=(group,), circuits=(site.circuits[0], *held))
    assert needless(simulate(site, site.scenario("out"))) is None


@pytest.mark.parametrize(("low_f", "needed"), [(35.0, False), (-30.0, True)])
def test_strip_heat_is_needed_where_the_room_grows_colder_without_it(low_f, needed) -> None:
    """At 35 °F the house loses 400 x 33 = 13,200 Btu/h, less than the heat pump alone gives."""
    pump, strip = (
        of_kind(part, "backed", (first, first + 2), kind)
        for part, first, kind in (("pump", 9, "heat-pump"), ("strip", 13, "heat-strip"))
    )
    day = scenario("out", span_h=24, outage_h=(2, 23))
    day = day.model_copy(update={"weather": Weather(low_f=low_f, high_f=low_f)})
    site = with_parts(backed_up_site(), circuits=(pump, strip), zones=HOUSE, scenarios=(day,))
    run = simulate(site, day)
    after = simulate(in_role(site, "strip", "off"), day)
    assert takes_needed(run, ["strip"])
    assert takes_needed(run, ["strip"], after) is needed
    without = simulate(in_role(site, "pump", "off"), day)
    assert takes_needed(run, ["pump"], without) == (without.zone_f < run.zone_f - 2.0).any()


def test_the_step_is_what_relieves_most_of_what_costs_least() -> None:
    """8.3 + 12.5 + 2 x 41.25 A on 41.7: no one is enough; of the largest two one matters."""
    site = with_parts(
        whole_house_site(),
        generators=(generator(rated_kw=10),),
        circuits=(
            circuit("a", "main", 1, 3, load_w=2000, breaker_a=20),
            circuit("b", "main", 5, 7, load_w=3000, breaker_a=20),
            circuit("c", "main", 9, 11, load_w=9900, breaker_a=60, load_class="important"),
            circuit("d", "main", 13, 15, load_w=9900, breaker_a=60),
        ),
    )
    day = scenario("out", outage_h=(2, 5))
    site = with_parts(site, scenarios=(day,))
    relief = relief_of(site, day)
    assert relief is not None
    assert relief.gentlest is None
    step = next_step(site, day)
    assert step.lever == Lever("off", "d")
    assert relief.strongest is not None
    assert relief.strongest.lever == step.lever


def grinder(circuit_id: str, first: int, locked_rotor_a: float, **changes: object) -> Circuit:
    """A motor that runs a minute in the afternoon, started by a hand."""
    use = Timed(stages=(Stage(minutes=1.0, share=1.0),), starts=(DailyStart(hour=15.5),))
    things = (
        appliance(
            f"{circuit_id}-load",
            300,
            volts=120,
            load_type="motor",
            locked_rotor_a=locked_rotor_a,
            behaviour=use,
        ),
    )
    defaults = {"poles": 1, "breaker_a": 20, "load_class": "comfort"}
    return circuit(circuit_id, "main", first, appliances=things, **defaults | changes)


def hard_starts(**changes: object) -> Site:
    """On 10 kW two motors whose starts the set may not manage, one of which must be served."""
    return by_hand(
        scenario("out", outage_h=(2, 5)),
        scenario("long", outage_h=(1, 5)),
        more=(
            grinder("pump", 13, 75.0, load_class="must_serve", allowed_gap_min=60.0),
            grinder("disposer", 15, 95.0, **changes),
        ),
    )


def followed(site: Site, *, most: int = 12) -> list[Site]:
    """The sites one comes to by doing what the next step of each scenario says until none says."""
    seen = [site]
    for _ in range(most):
        for day in seen[-1].scenarios:
            step = next_step(seen[-1], day)
            if step.lever is not None:
                then, _ = apply_lever(seen[-1], day, step.lever)
            elif step.changed is not None:
                then = step.changed
            else:
                continue
            assert then not in seen, f"{step.command} comes back to what was left"
            seen.append(then)
            break
        else:
            return seen
    raise AssertionError(f"no end after {most} steps: {step.command}")


def test_a_motor_that_is_off_for_its_start_is_not_called_needless() -> None:
    site = hard_starts(outage_role="off")
    assert advice_on(simulate(site, site.scenario("out"))).doubt
    found = needless(simulate(site, site.scenario("out")))
    assert found is not None
    assert found.names == ("Circuit small",)


@pytest.mark.parametrize(
    "site", [hard_starts(), hard_starts(outage_role="off"), by_hand()], ids=["on", "off", "amps"]
)
def test_steps_that_are_followed_come_to_an_end(site) -> None:
    """No state of the site comes twice, else one step would undo another for ever."""
    assert len(followed(site)) > 1
