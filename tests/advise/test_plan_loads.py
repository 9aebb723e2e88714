"""The to-do list of an outage: what is switched off, put on again, or run one at a time."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.outage_plan import outage_plan
from server.advise.plan_turns import in_turns
from server.domain.catalogue import KINDS
from server.domain.scenario import ApplianceEvent
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, generator, scenario, with_parts
from tests.rules.check_sites import of_kind


def test_all_that_is_heavy_is_off_before_power_returns_and_a_car_that_the_run_never_plugs():
    heaters = tuple(circuit(f"h{n}", "backed", n, load_w=1500 + n) for n in range(2, 18, 2))
    car = KINDS["car-charger-32"].appliance("car")
    base = backed_up_site()
    day = scenario(
        "out",
        span_h=8,
        outage_h=(2, 5),
        events=(ApplianceEvent(appliance_id="car", at=START + timedelta(hours=8)),),
    )
    site = with_parts(
        base,
        circuits=(*base.circuits, *heaters, circuit("car", "main", 9, 11, appliances=(car,))),
        scenarios=(day,),
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    names = [c.name for c in (*heaters, site.circuit("car"), site.circuit("d"))]
    for start in ("Before the power is due, switch off: ", "Then switch on, one every 5 min"):
        (told,) = [t.text for t in plan.after if t.text.startswith(start)]
        assert all(name in told for name in names)


def test_what_must_be_served_stays_on_beside_the_one_that_runs():
    base = backed_up_site()
    must = circuit("must", "backed", 2, 4, load_w=3000, breaker_a=20, load_class="must_serve")
    heaters = tuple(circuit(f"h{n}", "backed", n, load_w=1800) for n in (9, 11))
    day = scenario("out", span_h=8, outage_h=(2, 5))
    site = with_parts(
        base,
        generators=(generator(rated_kw=7),),
        circuits=(*base.circuits, must, *heaters),
        scenarios=(day,),
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    (told,) = [t.text for t in plan.during if "run only one of them" in t.text]
    assert "at a time on Generator set beside Circuit must: " in told
    assert "Circuit must" not in told.partition(": ")[2]
    assert "Circuit h9" in told.partition(": ")[2]


def test_what_begins_by_itself_takes_turns_by_its_breaker_alone():
    heat, tank = of_kind("heat", "backed", (9, 11), "water-heater"), "these begin by themselves"
    words = in_turns(
        "Set", ["Oxygen"], ["Range", "Heater", "Air"], frozenset({"Heater", "Air"}), passed=True
    )
    assert "run only one of them at a time on Set beside Oxygen: Range. Heater, Air: these" in words
    assert f"{tank}, so open their breakers and close one only while" in words
    base = backed_up_site()
    needed = circuit("oxygen", "backed", 13, load_w=1000, load_class="must_serve")
    site = with_parts(
        base,
        generators=(generator(rated_kw=2.0),),
        circuits=(*base.circuits, needed, heat),
        scenarios=(scenario("out", span_h=12, outage_h=(2, 10)),),
    )
    told = [t.text for t in outage_plan(simulate(site, site.scenarios[0])).during]
    (rest,) = [t for t in told if t.startswith("What else is on comes on top")]
    people, _, themselves = rest.partition(f"{heat.name}: this begins by itself")
    assert heat.name not in people
    assert "open its breaker" in themselves


def test_a_run_that_holds_with_a_load_on_never_has_its_breaker_opened():
    words = in_turns("Set", ["Oxygen"], ["Range", "Air"], frozenset({"Air"}), passed=False)
    assert "at other hours than this run has, run only one" in words
    assert "Air: this begins by itself, and this run leaves it on: start nothing else" in words
    assert "breaker" not in words
    alone = in_turns("Set", [], ["Heat", "Air"], frozenset({"Heat", "Air"}), passed=False)
    assert "these begin by themselves, and this run leaves them on and passes no limit" in alone
    assert "breaker" not in alone
    assert "open its breaker" in in_turns(
        "Set", [], ["Range", "Air"], frozenset({"Air"}), passed=True
    )


@pytest.mark.parametrize("kind", ["septic-pump", "refrigerator"])
def test_a_pit_and_cold_food_stay_on_beside_what_takes_turns(kind):
    base = backed_up_site()
    needed = KINDS[kind].appliance("needed", "Needed").model_copy(update={"load_w": 1400.0})
    heaters = tuple(circuit(f"h{n}", "backed", n, load_w=1800) for n in (9, 11))
    day = scenario("out", span_h=8, outage_h=(2, 5))
    site = with_parts(
        base,
        generators=(generator(rated_kw=4),),
        circuits=(*base.circuits, circuit("pit", "backed", 13, appliances=(needed,)), *heaters),
        scenarios=(day,),
    )
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    told = [t.text for t in plan.during]
    (rest,) = [t for t in told if t.startswith("What else is on comes on top")]
    assert "Circuit pit" not in rest.partition(": ")[2]
    assert not any("reaker" in t and "Circuit pit" in t for t in told)
