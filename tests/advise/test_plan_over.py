"""What a plan says of the hours in which a run passes a limit without the utility."""

from __future__ import annotations

from datetime import datetime, timedelta

from server.advise.outage_plan import outage_plan
from server.advise.plan_over import may_wait, stretches
from server.domain.appliance import Appliance
from server.domain.behaviour import RoomUnit, Zone
from server.domain.catalogue import KINDS
from server.domain.scenario import ApplianceEvent, Weather
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, generator, scenario, with_parts

HEATS = RoomUnit(zone_id="house", mode="heat")


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def evenings(*, rated_kw: float = 9.0, hours: tuple[float, ...] = (7, 31), out_h: float = 2.0):
    """A dryer at some hours on the set of a panel with 4.8 kW on all the time, and its plan."""
    base = backed_up_site()
    dryer = KINDS["dryer"].appliance("dryer", "Clothes dryer")
    day = scenario(
        "out",
        span_h=48,
        outage_h=(out_h, 44),
        events=tuple(ApplianceEvent(appliance_id="dryer", at=at(h)) for h in hours),
    )
    needed = tuple(c.model_copy(update={"load_class": "must_serve"}) for c in base.circuits)
    site = with_parts(
        base,
        generators=(generator(rated_kw=rated_kw),),
        circuits=(
            *needed,
            circuit("dryer", "backed", 13, 15, breaker_a=30, appliances=(dryer,)).model_copy(
                update={"load_class": "deferrable"}
            ),
        ),
        scenarios=(day,),
    )
    run = simulate(site, day)
    plan = outage_plan(run)
    assert plan is not None
    return run, plan


def test_each_evening_past_a_limit_has_its_hour_what_is_on_and_what_is_left_off():
    run, plan = evenings()
    told = [t for t in plan.during if "carries up to" in t.text]
    assert [t.at for t in told] == [run.time_of(s.first) for s in stretches(run)]
    assert [t.at - at(h) < timedelta(minutes=20) for t, h in zip(told, (7, 31), strict=True)]
    for task in told:
        assert "Circuit dryer" in task.text.partition("switch off and leave off until")[2]
        assert "Circuit d " not in task.text.partition("switch off")[2]
        assert "Even so" not in task.text
        assert task.caution.startswith("A tripped breaker is a message.")


def test_what_is_left_off_mends_the_run():
    run, plan = evenings()
    assert any("leave off" in t.text and "Circuit dryer" in t.text for t in plan.during)
    without = run.scenario.model_copy(
        update={"events": (ApplianceEvent(appliance_id="dryer", at=at(46)),)}
    )
    assert not stretches(simulate(run.site, without))


def test_a_run_that_holds_has_no_such_line_and_no_word_of_a_trip():
    _, plan = evenings(rated_kw=20.0)
    assert not any("carries up to" in t.text or "trips" in t.text for t in plan.during)


def test_a_breaker_that_may_trip_is_closed_once_and_never_held():
    run, plan = evenings()
    assert {r.point.kind for r in run.verdict.over} == {"generator"}
    assert not any("Where a breaker trips" in t.text for t in plan.during)
    base = run.site
    small = tuple(
        f.model_copy(update={"breaker_a": 30}) if f.from_id == "set" else f for f in base.feeders
    )
    tripping = simulate(with_parts(base, feeders=small), run.scenario)
    told = [t.text for t in outage_plan(tripping).during if "Where a breaker trips" in t.text]
    assert len(told) == 1
    assert "close it once. Never hold it closed" in told[0]


def test_what_is_past_a_limit_as_a_set_takes_over_is_switched_off_before():
    _, plan = evenings(hours=(2.1,))
    (task,) = [t for t in plan.before if t.text.startswith("Switch off before the power fails")]
    assert task.at == at(2)
    assert "Circuit dryer. In an outage that nobody announced, at once." in task.text


def strip(*, alone: bool) -> Site:
    """A strip heater, with another that heats the same house or alone, in frost."""

    def heater(name: str) -> Appliance:
        return Appliance(id=name, name=name, load_w=5000, volts=240, behaviour=HEATS)

    units = ("strip",) if alone else ("strip", "other")
    base = backed_up_site()
    return with_parts(
        base,
        zones=(Zone(id="house", name="House", loss_btuh_per_f=600),),
        circuits=(
            *base.circuits,
            *(
                circuit(u, "backed", 13 + 4 * k, 15 + 4 * k, appliances=(heater(u),), breaker_a=30)
                for k, u in enumerate(units)
            ),
        ),
        scenarios=(scenario("out", outage_h=(2, 5), weather=Weather(low_f=10, high_f=20)),),
    )


def test_heat_in_frost_is_left_off_only_where_another_heats_the_same_room():
    both = strip(alone=False)
    run = simulate(both, both.scenarios[0])
    assert may_wait(run, both.circuit("strip"), [])
    assert not may_wait(run, both.circuit("strip"), ["other"])
    one = strip(alone=True)
    assert not may_wait(simulate(one, one.scenarios[0]), one.circuit("strip"), [])
