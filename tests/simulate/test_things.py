"""Heat of lamps and appliances in the rooms while they are dark."""

from __future__ import annotations

import numpy as np
import pytest

from server.domain.appliance import Appliance
from server.domain.behaviour import (
    Constant,
    Cycle,
    DailyStart,
    Hourly,
    RoomUnit,
    Stage,
    Tank,
    Timed,
    Zone,
)
from server.domain.site import Site
from server.simulate.prepared import prepare
from server.simulate.run import simulate
from server.simulate.things import usual_w
from tests.builders import appliance, backed_up_site, circuit, scenario

OUT = scenario(span_h=30, outage_h=(1, 30))


def house(share: float = 0.6, *, kept_w: float = 300.0) -> Site:
    """900 W of lamps on the main panel and what a set keeps on, in a zone that nothing heats."""
    zone = Zone(id="house", name="House", loss_btuh_per_f=100, gain_btuh=2500, things_share=share)
    lamps = circuit("lamps", "main", 9, load_w=900)
    kept = circuit("kept", "backed", 9, load_w=kept_w)
    heater = appliance("tank", 4500, volts=240, behaviour=Tank(
        gallons=50, draws_gal_by_hour=(0.0,) * 24))  # fmt: skip
    tank = circuit("tank", "backed", 5, 7, breaker_a=30, appliances=(heater,))
    return backed_up_site(circuits=(lamps, kept, tank), zones=(zone,))


def test_all_dark_leaves_the_heat_of_people() -> None:
    """Far from where it settles: 2,500 Btu/h hold 25 °F above outdoors, people's 1,000 hold 10."""
    day = scenario(span_h=300, outage_h=(0, 400), generator="absent")
    run = simulate(house(), day)
    assert float(run.zone_f[0, -1]) == pytest.approx(40.0 + 10.0, abs=0.1)
    lit = simulate(house(), scenario(span_h=300))
    assert float(lit.zone_f[0, -1]) == pytest.approx(40.0 + 25.0, abs=0.1)


def test_what_a_set_feeds_goes_on_giving_its_part() -> None:
    """300 of 1,200 W have power: 1,000 + 1,500 / 4 = 1,375 Btu/h, 13.75 °F above outdoors."""
    run = simulate(house(), scenario(span_h=300, outage_h=(-0.5, 400)))
    assert float(run.zone_f[0, -1]) == pytest.approx(40.0 + 13.75, abs=0.1)


def test_the_share_follows_the_supply_of_every_moment() -> None:
    ready = prepare(house(), OUT)
    powered, at_s = ready.ambient[:, 3], ready.supply.cells.start_s
    assert powered[at_s < 3600.0].tolist() == [1.0] * int((at_s < 3600.0).sum())
    late = powered[at_s > 3700.0]
    assert late == pytest.approx(np.full(late.shape, 0.25))


def test_without_things_or_with_none_entered_the_heat_goes_on() -> None:
    day = scenario(span_h=300, outage_h=(0, 400), generator="absent")
    assert float(simulate(house(0.0), day).zone_f[0, -1]) == pytest.approx(65.0, abs=0.1)
    bare = house().model_copy(update={"circuits": house().circuits[2:]})
    assert float(simulate(bare, day).zone_f[0, -1]) == pytest.approx(65.0, abs=0.1)


@pytest.mark.parametrize(
    ("load_w", "behaviour", "watts"),
    [
        (100, Constant(share=0.5), 50.0),
        (240, Hourly(shares=(1.0,) * 6 + (0.0,) * 18), 60.0),
        (150, Cycle(on_min=10, off_min=20), 50.0),
        (1440, Timed(stages=(Stage(minutes=30, share=0.5, cycle_on_s=10, cycle_off_s=30),),
                     starts=(DailyStart(hour=8), DailyStart(hour=18, chance=0.5))), 5.625),
        (4500, Tank(gallons=50, draws_gal_by_hour=(2.0,) * 24), 0.0),
        (9000, RoomUnit(zone_id="house", mode="heat"), 0.0),
    ],
)  # fmt: skip
def test_usual_watts_are_a_day_s_mean(load_w: float, behaviour: object, watts: float) -> None:
    one = Appliance(id="x", name="X", load_w=load_w, volts=240, behaviour=behaviour)
    assert usual_w(one) == pytest.approx(watts)
