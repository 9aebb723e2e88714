"""A house on its own well: once its pressure tank is empty, no hot water is drawn either."""

from __future__ import annotations

import math

import numpy as np
import pytest

from server.domain.behaviour import Tank, WellPump
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario, with_parts

HEATER = Tank(gallons=50, draws_gal_by_hour=(6.0,) * 24, draw_gpm=0, loss_btuh_per_f=2.5)
WELL = WellPump(pump_gpm=10, tank_gal=44, draws_gal_by_hour=(12.0,) * 24, draw_gpm=0)
OUT_H = (2, 12)
DAY = scenario(span_h=24, outage_h=OUT_H)


def house(*, well: bool = True) -> Site:
    heater = appliance("heater", 4500, volts=240, behaviour=HEATER)
    circuits = [circuit("h", "main", 1, 3, breaker_a=30, appliances=(heater,))]
    if well:
        pump = appliance("pump", 1500, volts=240, behaviour=WELL)
        circuits.append(circuit("p", "main", 5, 7, breaker_a=20, appliances=(pump,)))
    return normal_only_site(circuits=tuple(circuits))


def water_f(site: Site) -> np.ndarray:
    """Temperature of the heater at the end of every hour. [F]"""
    run = simulate(site, DAY)
    row = [w.appliance_id for w in run.watched].index("heater")
    return run.level[row].astype(float)[59::60]


def test_without_water_the_heater_only_stands_and_cools() -> None:
    """2.5 Btu/h °F of 50 × 8.33 Btu/°F: the difference to the room falls by e in 166.6 h.

    The pressure tank holds 11.4 gal at most, so it is empty within an hour of 12 gal/h.
    """
    hot = water_f(house())
    first, last = OUT_H[0] + 1, OUT_H[1] - 1
    kept = math.exp(-(last - first) / 166.6)
    assert hot[last] == pytest.approx(HEATER.room_f + (hot[first] - HEATER.room_f) * kept, abs=0.05)


def test_on_town_water_the_draws_go_on() -> None:
    hot = water_f(house(well=False))
    assert hot[OUT_H[1] - 1] < hot[OUT_H[0] + 1] - 20.0


def test_until_the_tank_is_empty_and_from_when_the_pump_is_back_the_draws_are_as_ever() -> None:
    on_well, on_town = simulate(house(), DAY), simulate(house(well=False), DAY)
    dead = 60 * OUT_H[0]
    assert on_well.level[0, :dead] == pytest.approx(on_town.level[0, :dead], abs=1e-3)
    late = water_f(house())[OUT_H[1] + 6 :]
    assert late.max() > HEATER.setpoint_f - HEATER.deadband_f
    assert float(on_well.flows.taken_by("heater")[60 * (OUT_H[1] + 6) :].sum()) > 0.0


def test_it_is_the_same_under_a_load_manager() -> None:
    free = house()
    heater = free.circuits[0].model_copy(update={"energy_group_id": "hold"})
    held = with_parts(
        free,
        energy_groups=(EnergyGroup(id="hold", name="Hold", setting_a=200),),
        circuits=(heater, *free.circuits[1:]),
    )
    dead = slice(OUT_H[0], OUT_H[1])
    assert water_f(held)[dead] == pytest.approx(water_f(free)[dead], abs=0.05)
