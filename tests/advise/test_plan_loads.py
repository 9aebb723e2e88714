"""The to-do list of an outage: what is switched off, put on again, or run one at a time."""

from __future__ import annotations

from datetime import timedelta

from server.advise.outage_plan import outage_plan
from server.domain.catalogue import KINDS
from server.domain.scenario import ApplianceEvent
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, generator, scenario, with_parts


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
