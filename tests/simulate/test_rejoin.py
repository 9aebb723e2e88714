"""Delays after a loss of power, as the march keeps them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from server.domain.behaviour import Cycle, RoomUnit, SumpPump, Timed, WellPump, Zone
from server.domain.scenario import KeptOff, Scenario
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.ensemble import run_draws
from server.simulate.run import simulate
from tests.builders import START, appliance, backed_up_site, circuit, scenario, with_parts

HOUSE = Zone(id="house", name="House", loss_btuh_per_f=500)


def waiting(delay_s: float, *, behaviour: object = None, **changes: Any) -> Site:
    """A lamp without a delay, and a motor that wants to run at all times, with one."""
    more = {} if behaviour is None else {"behaviour": behaviour}
    pump = appliance("pump", 1000, load_type="motor", restart_delay_s=delay_s, **more)
    return with_parts(
        backed_up_site(),
        circuits=(
            circuit("p", "backed", 1, appliances=(pump,), **changes),
            circuit("l", "backed", 2, appliances=(appliance("lamp", 100),)),
        ),
        zones=(HOUSE,),
    )


def ons_s(site: Site, day: Scenario, part_id: str) -> list[float]:
    """When a load begins to draw after it had nothing. [s]"""
    flows = simulate(site, day).flows
    row = next(i for i, load in enumerate(flows.loads) if load.id == part_id)
    on = flows.taken_w[row] > 0.0
    begins = np.flatnonzero(on[1:] & ~on[:-1]) + 1
    return flows.cells.start_s[begins].tolist()


@pytest.mark.parametrize("step_s", [10, 60, 900])
@pytest.mark.parametrize("delay_s", [0.0, 45.0, 200.0])
def test_a_delay_holds_the_load_off_after_every_loss_of_power(delay_s: float, step_s: int) -> None:
    """The lamp comes on as the set takes over and as the utility is back; the pump so much later.

    Without power for 10 s and the throw, then for the throw alone, as the set still runs.
    """
    day, site = scenario(outage_h=(2, 3), step_s=step_s), waiting(delay_s)
    lamp = ons_s(site, day, "lamp")
    assert len(lamp) == 2
    assert ons_s(site, day, "pump") == pytest.approx([at + delay_s for at in lamp])


@pytest.mark.parametrize(
    "behaviour",
    [
        Cycle(on_min=1000.0, off_min=0.02, spread=0.0),
        RoomUnit(zone_id="house", mode="heat", cop=1.0),
        RoomUnit(zone_id="house", mode="heat", cop=1.0, min_off_min=2.0),
        SumpPump(inflow_gpm=30.0, pump_gpm=31.0),
        WellPump(draws_gal_by_hour=(60.0,) * 24, draw_gpm=0.0, pump_gpm=1.01, tank_gal=20.0),
        Timed(stages=({"minutes": 1000, "share": 1.0},), starts=({"hour": 6},)),
    ],
    ids=lambda one: f"{one.model}",
)
def test_every_kind_of_load_keeps_its_delay(behaviour: object) -> None:
    day, site = scenario(outage_h=(2, 3), step_s=10), waiting(250.0, behaviour=behaviour)
    at_s = ons_s(site, day, "lamp")[0]
    run = simulate(site, day)
    taken = run.flows.taken_by("pump")
    step = int(at_s // 10)
    held = slice(step + 1, int((at_s + 250.0) // 10))
    assert not (taken[held] > 0.0).any()
    assert (taken[held.stop : held.stop + 60] > 0.0).any()


def test_the_longer_of_delay_and_least_time_off_holds() -> None:
    """Heat that cannot keep up calls at all times: back after 5 min off, or 400 s with power."""
    day = scenario(outage_h=(2, 3), step_s=10)
    found = {}
    for off_min, delay_s in ((5.0, 0.0), (0.0, 400.0), (5.0, 400.0), (5.0, 30.0)):
        unit = RoomUnit(zone_id="house", mode="heat", cop=1.0, min_off_min=off_min)
        begins = ons_s(waiting(delay_s, behaviour=unit), day, "pump")
        found[off_min, delay_s] = next(at for at in begins if at > 2 * 3600)
    lamp_s = ons_s(waiting(0.0), day, "lamp")[0]
    assert found[5.0, 0.0] == pytest.approx(2 * 3600 + 300, abs=10)
    assert found[0.0, 400.0] == pytest.approx(lamp_s + 400)
    assert found[5.0, 400.0] == pytest.approx(lamp_s + 400)
    assert found[5.0, 30.0] == found[5.0, 0.0]


def test_a_loss_of_power_within_the_wait_begins_it_anew() -> None:
    """Two losses 100 s apart, a wait of 150 s: it counts from the second alone."""
    first, second = (scenario(outage_h=(h, h + 0.001)).outages[0] for h in (2, 2 + 100 / 3600))
    day = scenario(outages=(first, second), step_s=10, generator="absent")
    assert ons_s(waiting(150.0), day, "pump") == pytest.approx([2 * 3600 + 100 + 3.6 + 150])


def test_a_run_that_begins_within_the_wait_waits_out_the_rest() -> None:
    """Power came 60 s before the run; 250 s of delay leave 190 s."""
    out = scenario(outage_h=(-1, -60 / 3600)).outages
    run = simulate(waiting(250.0), scenario(outages=out, step_s=10, generator="absent"))
    taken = run.flows.taken_by("pump")
    assert np.flatnonzero(taken > 0.0)[0] == 19


def test_a_circuit_closed_by_hand_waits_from_then() -> None:
    base = scenario(outage_h=(1, 5), step_s=10)
    hand = {
        "circuit_id": "p",
        "window": {"start": START + timedelta(hours=2), "end": START + timedelta(hours=3)},
    }
    day = Scenario.model_validate(base.model_dump() | {"hand_windows": (hand,)})
    first = ons_s(waiting(120.0, outage_role="by_hand"), day, "pump")[0]
    assert first == pytest.approx(2 * 3600 + 120)


def test_what_is_kept_off_on_the_set_waits_for_the_utility() -> None:
    day = scenario(outage_h=(1, 2), step_s=10, kept_off=(KeptOff(circuit_id="p"),))
    lamp = ons_s(waiting(120.0), day, "lamp")
    assert ons_s(waiting(120.0), day, "pump") == pytest.approx([lamp[-1] + 120])


def test_many_draws_keep_a_delay_as_one_run_does() -> None:
    """Where nothing is drawn by chance, every draw takes just what the run did."""
    day, site = scenario(outage_h=(2, 3)), waiting(1200.0)
    run, draws = simulate(site, day), run_draws(site, day, draws=range(3))
    peaks = run.amps[:, :2].max(axis=2)
    assert np.allclose(draws.peaks_a[:, :, :2], peaks[None], atol=1e-4)


@pytest.mark.parametrize("delay_s", [0.0, 45.0, 100.0])
def test_a_delay_begins_as_a_load_manager_lets_its_circuit_back(delay_s: float) -> None:
    """Without power from 2:00:00 its least time off of 5 min is over at 2:05:00."""
    manager = EnergyGroup(id="m", name="Manager", setting_a=50)
    base = waiting(delay_s)
    managed = base.circuits[0].model_copy(update={"energy_group_id": "m"})
    site = with_parts(base, energy_groups=(manager,), circuits=(managed, base.circuits[1]))
    day = scenario(outage_h=(2, 3), step_s=10)
    assert ons_s(site, day, "lamp")[0] == 2 * 3600 + 16
    back_s = 2 * 3600 + 300
    run = simulate(site, day)
    row = next(i for i, load in enumerate(run.flows.loads) if load.id == "pump")
    taken_w, cells = run.flows.taken_w[row], run.flows.cells
    before, after = (cells.start_s < t for t in (back_s, back_s + delay_s + 30))
    energy_ws = (taken_w * cells.dt_s)[after & ~before].sum()
    assert energy_ws == pytest.approx(
        1000 * (cells.start_s[after][-1] + cells.dt_s[after][-1] - back_s - delay_s)
    )
    assert not taken_w[before & (cells.start_s >= 2 * 3600)].any()


@pytest.mark.parametrize("beside", [False, True])
def test_a_lamp_beside_it_ends_no_gap_of_what_waits(*, beside: bool) -> None:
    """A medical device that waits an hour is an hour dark, whatever else is alight there."""
    device = appliance("mask", 300, kind="oxygen-concentrator", restart_delay_s=3600.0)
    lamp = appliance("lamp", 10)
    both = (device, lamp) if beside else (device,)
    one = circuit("p", "backed", 1, appliances=both, load_class="must_serve")
    run = simulate(
        with_parts(backed_up_site(), circuits=(one,)), scenario(outage_h=(2, 4), step_s=10)
    )
    (fared,) = run.service
    assert fared.longest_gap_min == pytest.approx(60.0, abs=0.5)
    assert fared.gap_exceeded
    assert not run.verdict.fits


def test_what_waits_beside_what_must_be_served_ends_nothing() -> None:
    """The lamp waits; the device does not, and has its power as the set takes over."""
    device = appliance("mask", 300, kind="oxygen-concentrator")
    lamp = appliance("lamp", 10, restart_delay_s=3600.0)
    one = circuit("p", "backed", 1, appliances=(device, lamp), load_class="must_serve")
    run = simulate(with_parts(backed_up_site(), circuits=(one,)), scenario(outage_h=(2, 4)))
    assert run.service[0].longest_gap_min < 1.0
