"""Energy in against used, stored and lost, each summed on its own; a water heater's known sums.

Sources: 50 gal by 70 F = 8.6 kWh and 4.5 kW recovering 26 gal/h at 70 F rise are arithmetic with
8.33 lb/gal and 3412 Btu/kWh; 18 gal/h at 100 F rise is the maker's rule W x .004 in Bradford White
technical bulletin 111-1 (4500 W x .004 = 18 gal/h).
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from server.domain.behaviour import (
    Charger,
    Cycle,
    DailyStart,
    Hourly,
    RoomUnit,
    Stage,
    Tank,
    Timed,
    Zone,
)
from server.domain.scenario import SwitchMove, Weather
from server.domain.site import Site
from server.physics.newton import BTU_PER_WH
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    EVERY_SITE,
    START,
    appliance,
    circuit,
    double_throw_site,
    normal_only_site,
    scenario,
    with_parts,
)

NO_DRAW = (0.0,) * 24


def full_house(*, solar: bool = True) -> Site:
    """Every model, heat pump with strip heat and a cooled pantry, on all three buses."""
    base = double_throw_site(solar=solar)
    draws = tuple(4.0 if 6 <= h < 9 or 18 <= h < 22 else 0.5 for h in range(24))
    wash = (Stage(minutes=20, share=1), Stage(minutes=30, share=0.6, cycle_on_s=45, cycle_off_s=75))
    loads = {
        ("tank", "swing", (9, 11)): appliance(
            "tank", 4500, volts=240, behaviour=Tank(gallons=50, draws_gal_by_hour=draws)
        ),
        ("pump", "backed", (9, 11)): appliance(
            "pump",
            3000,
            volts=240,
            power_factor=0.9,
            behaviour=RoomUnit(zone_id="house", mode="heat", cop=3, min_off_min=5),
        ),
        ("strip", "main", (9, 11)): appliance(
            "strip",
            9600,
            volts=240,
            behaviour=RoomUnit(zone_id="house", mode="heat", stage_drop_f=2),
        ),
        ("cooler", "backed", (13,)): appliance(
            "cooler", 700, behaviour=RoomUnit(zone_id="pantry", mode="cool", cop=2.5)
        ),
        ("fridge", "backed", (15,)): appliance(
            "fridge", 150, power_factor=0.8, behaviour=Cycle(on_min=14, off_min=22)
        ),
        ("washer", "main", (13,)): appliance(
            "washer", 900, behaviour=Timed(stages=wash, starts=(DailyStart(hour=14),))
        ),
        ("lights", "main", (17,)): appliance(
            "lights", 800, behaviour=Hourly(shares=tuple(h / 24 for h in range(24)))
        ),
        ("car", "main", (14, 16)): appliance(
            "car", 7200, volts=240, behaviour=Charger(energy_kwh=18, arrive_hour=17.5)
        ),
    }
    circuits = [
        circuit(name, where, *spaces, appliances=(load,))
        for (name, where, spaces), load in loads.items()
    ]
    return with_parts(
        base,
        circuits=(*base.circuits, *circuits),
        zones=(
            Zone(id="house", name="House", loss_btuh_per_f=750, gain_btuh=1500, things_share=0),
            Zone(
                id="pantry",
                name="Pantry",
                loss_btuh_per_f=60,
                gain_btuh=2500,
                things_share=0,
                cool_setpoint_f=69,
            ),
        ),
    )


def busy_days(step_s: int = 60, span_h: float = 60) -> Run:
    moves = (
        SwitchMove(switch_id="throw", at=START + timedelta(hours=5), position="backed_up"),
        SwitchMove(switch_id="throw", at=START + timedelta(hours=30), position="normal"),
    )
    return simulate(
        full_house(),
        scenario(
            span_h=span_h,
            step_s=step_s,
            outage_h=(3.004, 26.7),
            weather=Weather(low_f=5, high_f=78, sun_share=0.9),
            switch_moves=moves,
        ),
    )


def check_electric(run: Run) -> None:
    balance = run.balance
    assert balance.electric_in_kwh > 0.0
    assert balance.electric_in_kwh == pytest.approx(
        balance.electric_used_kwh + balance.electric_out_kwh, rel=1e-3
    )
    assert balance.electric_in_kwh == pytest.approx(sum(s.in_kwh for s in run.sources))
    by_bus = sum(b.energy_kwh for b in run.bus_results)
    assert by_bus == pytest.approx(balance.electric_used_kwh, rel=1e-5)


@pytest.mark.parametrize("name", EVERY_SITE)
def test_electric_energy_closes_on_every_kind_of_site(name: str) -> None:
    """Sources' volts times amps against the loads' watts, within 0.1 %."""
    for outage in (None, (2, 5)):
        check_electric(simulate(EVERY_SITE[name](), scenario(outage_h=outage)))


@pytest.mark.parametrize("step_s", [10, 60, 300, 900])
def test_electric_and_heat_energy_close_in_a_busy_house(step_s: int) -> None:
    run = busy_days(step_s, span_h=60 if step_s > 10 else 36)
    check_electric(run)
    balance = run.balance
    assert balance.heat_in_kwh > 10.0
    assert balance.heat_lost_kwh > 10.0
    assert balance.heat_in_kwh == pytest.approx(
        balance.heat_stored_kwh + balance.heat_lost_kwh, rel=1e-3
    )


def test_heat_in_is_what_the_watts_make_and_the_gains_add() -> None:
    """Heat in, from the run's own watts: tank, pump x 3, strip, gain, less the cooler x 2.5."""
    run = busy_days()
    hours = run.scenario.span_h
    kwh = {
        c.id: float(run.circuit_w[i].sum(dtype=float)) * run.scenario.step_s / 3.6e6
        for i, c in enumerate(run.site.circuits)
    }
    gains = (1500 + 2500) * hours / BTU_PER_WH / 1000
    made = kwh["tank"] + 3 * kwh["pump"] + kwh["strip"] - 2.5 * kwh["cooler"] + gains
    assert kwh["cooler"] > 0.1
    assert kwh["strip"] > 1.0
    assert run.balance.heat_in_kwh == pytest.approx(made, rel=1e-3)


def test_an_unbalanced_ledger_would_be_seen() -> None:
    balance = replace(busy_days().balance, heat_lost_kwh=0.0)
    gap = balance.heat_in_kwh - balance.heat_stored_kwh - balance.heat_lost_kwh
    assert abs(gap) > 1e-3 * balance.heat_in_kwh


def recovery_gph(rise_f: float) -> float:
    """Gallons an hour that 4.5 kW can heat, from the element's duty under a known draw."""
    draw = 10.0
    behaviour = Tank(
        gallons=50,
        setpoint_f=60 + rise_f,
        inlet_f=60,
        deadband_f=0.5,
        loss_btuh_per_f=0,
        draw_gpm=0,
        draws_gal_by_hour=(draw,) * 24,
    )
    load = appliance("tank", 4500, volts=240, behaviour=behaviour)
    site = normal_only_site(circuits=(circuit("t", "main", 9, 11, appliances=(load,)),))
    run = simulate(site, scenario(span_h=48))
    settled = run.circuit_w[0, 1440:].mean(dtype=float)
    return draw * 4500 / float(settled)


@pytest.mark.parametrize(("rise_f", "gph"), [(100, 18), (70, 26)])
def test_4500_watts_recover_18_or_26_gallons_an_hour(rise_f: float, gph: float) -> None:
    assert recovery_gph(rise_f) == pytest.approx(gph, rel=0.03)
    exact = 4500 * BTU_PER_WH / (8.33 * rise_f)
    assert recovery_gph(rise_f) == pytest.approx(exact, rel=0.01)


def test_50_gallons_by_70_degrees_is_8_6_kwh() -> None:
    """A full tank replaced once by inlet water 70 F colder costs 8.6 kWh to heat again."""
    behaviour = Tank(
        gallons=50,
        setpoint_f=125,
        deadband_f=0.5,
        inlet_f=55,
        loss_btuh_per_f=0,
        draws_gal_by_hour=(25.0, 25.0, *NO_DRAW[2:]),
    )
    load = appliance("tank", 4500, volts=240, behaviour=behaviour)
    site = normal_only_site(circuits=(circuit("t", "main", 9, 11, appliances=(load,)),))
    run = simulate(site, scenario(start=START.replace(hour=0), span_h=24))
    assert run.balance.heat_in_kwh == pytest.approx(8.6, rel=0.02)
    assert run.balance.heat_in_kwh - run.balance.heat_stored_kwh == pytest.approx(
        run.balance.heat_lost_kwh, rel=1e-6
    )


def test_standby_of_an_idle_tank_is_44_watts() -> None:
    """UA 2.5 Btu/h F across 60 F is 150 Btu/h = 44 W."""
    behaviour = Tank(gallons=50, setpoint_f=125, deadband_f=1, room_f=65, draws_gal_by_hour=NO_DRAW)
    load = appliance("tank", 4500, volts=240, behaviour=behaviour)
    site = normal_only_site(circuits=(circuit("t", "main", 9, 11, appliances=(load,)),))
    run = simulate(site, scenario(span_h=240))
    assert run.balance.heat_lost_kwh / 240 * 1000 == pytest.approx(44, rel=0.02)


def test_a_dead_tank_cools_by_newtons_law() -> None:
    """Heat lost over a dead night is C (T0 - Troom) (1 - exp(-UA t / C)).

    It starts within a deadband of 0.01 F, so T0 is known to that.
    """
    behaviour = Tank(
        gallons=50, setpoint_f=125, deadband_f=0.01, room_f=65, draws_gal_by_hour=NO_DRAW
    )
    load = appliance("tank", 4500, volts=240, behaviour=behaviour)
    site = normal_only_site(circuits=(circuit("t", "main", 9, 11, appliances=(load,)),))
    run = simulate(site, scenario(span_h=12, outage_h=(0, 13)))
    store = 50 * 8.33
    lost = store * 60 * (1 - math.exp(-2.5 / store * 12)) / BTU_PER_WH / 1000
    assert run.balance.heat_lost_kwh == pytest.approx(lost, rel=1e-3)
    assert run.balance.heat_stored_kwh == pytest.approx(-lost, rel=1e-3)
    assert run.balance.heat_in_kwh == 0.0
    assert np.all(run.circuit_w == 0.0)
