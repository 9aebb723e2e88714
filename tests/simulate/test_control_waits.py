"""What a load manager lets back waits out its delay as after any loss of power."""

from __future__ import annotations

import numpy as np
import pytest

from server.domain.appliance import Appliance
from server.domain.behaviour import Behaviour, DailyStart, RoomUnit, Stage, Timed
from server.domain.site import Site
from server.simulate.controls import CALM_TICKS
from server.simulate.prepared import prepare
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import scenario, with_parts
from tests.simulate.test_control_calm import marched
from tests.simulate.test_controls import house, service, starts_at


def delayed(site: Site, **delay_s: float) -> Site:
    """The same with a delay on some loads, by the name of their circuit."""

    def own(one: Appliance) -> Appliance:
        name = one.id.removesuffix("-load")
        return one.model_copy(update={"restart_delay_s": delay_s.get(name, 0.0)})

    return with_parts(
        site,
        circuits=tuple(
            c.model_copy(update={"appliances": tuple(own(a) for a in c.appliances)})
            for c in site.circuits
        ),
    )


def first_on_s(run: Run, name: str, *, after_s: float) -> float:
    """When a load that draws its all or nothing begins to, by its energy in that cell. [s]"""
    row = next(i for i, load in enumerate(run.flows.loads) if load.id == f"{name}-load")
    cells, taken_w = run.flows.cells, run.flows.taken_w[row]
    c = int(np.flatnonzero((taken_w > 0.0) & (cells.start_s >= after_s))[0])
    return float(cells.start_s[c] + cells.dt_s[c] * (1.0 - taken_w[c] / taken_w.max()))


@pytest.mark.parametrize("step_s", [10, 60, 300])
@pytest.mark.parametrize("delay_s", [0.0, 45.0, 120.0, 480.0])
def test_a_delay_counts_from_the_return(delay_s: float, step_s: int) -> None:
    """4 kW and an oven of 6 kW for 20 min on 30 A: 41.7 A, shed after 10 s, so off at 14:00:10.

    Room for it from 14:20:00 on, for 5 min: the manager closes at 14:25:00.
    """
    site = house(("a", 4000, None, 1), ("b", 6000, starts_at(14, 20), 2), setting_a=30)
    run = simulate(delayed(site, a=delay_s), scenario(span_h=4, step_s=step_s))
    shed_s = 2 * 3600 + 10
    assert first_on_s(run, "a", after_s=shed_s) == pytest.approx(2 * 3600 + 1500 + delay_s, abs=0.1)
    fared = service(run, "a")
    assert fared.held_min == pytest.approx(24 + 50 / 60, abs=0.01)
    assert fared.unserved_min == pytest.approx(24 + 50 / 60 + delay_s / 60, abs=0.51)
    dark_s = [b - a for a, b in run.served.dark(0)]
    assert dark_s == pytest.approx([1490 + delay_s])


def test_a_run_that_would_begin_in_the_wait_begins_after_it() -> None:
    """Held off to 14:25:00 and waiting to 14:33:00; what is due at 14:28 for 10 min comes then."""
    wash = Timed(stages=(Stage(minutes=10, share=1),), starts=(DailyStart(hour=14 + 28 / 60),))
    site = house(("a", 4000, None, 1), ("b", 6000, starts_at(14, 20), 2), setting_a=30)
    first = site.circuits[0]
    load = first.appliances[0].model_copy(
        update={"id": "w-load", "load_w": 400.0, "behaviour": wash}
    )
    both = first.model_copy(update={"appliances": (*first.appliances, load)})
    site = delayed(with_parts(site, circuits=(both, site.circuits[1])), w=480.0)
    run = simulate(site, scenario(span_h=4))
    assert first_on_s(run, "w", after_s=2 * 3600 + 1) == pytest.approx(2 * 3600 + 1980, abs=0.1)
    taken_kwh = run.flows.taken_by("w-load").sum() / 60 / 1000
    assert taken_kwh == pytest.approx(0.4 * 10 / 60, abs=1e-4)


def room(mode_cop: float) -> Behaviour:
    return RoomUnit(zone_id="house", mode="heat", cop=mode_cop)


@pytest.mark.parametrize("way", ["interlock", "turns"])
def test_what_another_kept_open_waits_too(way: str) -> None:
    """The oven draws from 14:00 to 14:20 and rests 5 min, as does its switch: then the delay."""
    for delay_s in (0.0, 120.0):
        site = house(("a", 4000, room(1.0), 1), ("b", 6000, starts_at(14, 20), 2), way=way)
        run = simulate(delayed(site, a=delay_s), scenario(span_h=4))
        row = next(i for i, load in enumerate(run.flows.loads) if load.id == "a-load")
        cells = run.flows.cells
        oven = (cells.start_s >= 2 * 3600) & (cells.start_s < 2 * 3600 + 1500 + delay_s)
        if way == "interlock":
            assert not run.flows.taken_w[row][oven].any()
        assert run.flows.taken_w[row].any()


def test_half_hours_and_minutes_come_to_the_same_with_delays() -> None:
    loads = (("a", 4000, room(2.0), 1), ("b", 6000, starts_at(14, 20), 2), ("c", 2500, None, 3))
    for group in ({"setting_a": 45}, {"way": "interlock"}, {"way": "turns"}):
        site = delayed(house(*loads, **group), a=45.0, c=480.0)
        ready = prepare(site, scenario(span_h=48, outage_h=(6, 8)))
        swift, slow = (marched(ready, n) for n in (CALM_TICKS, 0))
        for name in ("asked_w", "taken_w", "amps", "zone_f", "held_s", "unserved"):
            one, other = getattr(swift, name), getattr(slow, name)
            assert np.allclose(one, other, rtol=1e-5, atol=1e-2), name
