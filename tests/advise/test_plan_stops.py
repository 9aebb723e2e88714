"""Stops of a set: the water drawn before, the devices that are on then, what comes on first."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from server.advise.outage_plan import OutagePlan, outage_plan
from server.domain.catalogue import KINDS
from server.domain.scenario import Window
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, generator, scenario, with_parts


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
