"""Whole runs against published points of heaters, sets, chargers, heat pumps and cold boxes.

Sources, beside each test: recovery of a 4.5 kW element as the trade repeats it (18 and 26 gal/h
at 100 and 70 °F rise; common practice, no source); one published owner's manual of a 25 kW
liquid-cooled set on propane (1.5, 2.9 and 4.3 gal/h at exercise, half and full load); DOE
figures for charging to SAE J1772 (240 V, up to 80 A, 19.2 kW); AHRI 210/240 rating temperatures
47 and 17 °F and the 5 °F point of the DOE cold-climate challenge with planning coefficients
from memory; USDA FSIS and FoodSafety.gov on food without power.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from server.domain.behaviour import Charger, ColdBox, RoomUnit, Tank, Zone
from server.domain.catalogue import KINDS
from server.domain.scenario import Scenario, Weather, Window
from server.domain.supply import FuelPoint, FuelTank
from server.simulate.burn import burn_at, tank_lasts
from server.simulate.harms import harms
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    generator,
    normal_only_site,
    scenario,
    with_parts,
)
from tests.simulate.houses import run_of, taken_w

PROPANE_25_KW = (
    FuelPoint(load_pct=0, rate_per_h=1.5),
    FuelPoint(load_pct=50, rate_per_h=2.9),
    FuelPoint(load_pct=100, rate_per_h=4.3),
)
"""Its exercise burn stands at no load: half and full run back to 1.5 gal/h there too."""


@pytest.mark.parametrize(("gph", "rise_f"), [(18, 100), (26, 70)])
def test_element_of_4500_w_recovers_18_gallons_at_100_degrees_and_26_at_70(
    gph: float, rise_f: float
) -> None:
    """Drawn without a break and heated without a rest, the water comes out that much warmer.

    Within 3 %: the published gallons are whole.
    """
    tank = Tank(
        gallons=50,
        setpoint_f=210,
        loss_btuh_per_f=0,
        draw_gpm=0,
        draws_gal_by_hour=(gph,) * 24,
    )
    run = run_of(tank, load_w=4500, span_h=72)
    assert taken_w(run)[-60:].min() == pytest.approx(4500)
    assert float(run.level[0, -1]) - 58 == pytest.approx(rise_f, rel=0.03)


def test_idle_tank_loses_44_w_and_a_third_of_a_degree_an_hour() -> None:
    """UA 2.5 Btu/h °F, 125 °F water in a 65 °F room: 44 W, 0.36 °F/h."""
    tank = Tank(gallons=50, room_f=65, draws_gal_by_hour=(0.0,) * 24, deadband_f=0.5)
    run = run_of(tank, load_w=4500, outage_h=(2, 12))
    dead = run.level[0, 2 * 60 : 12 * 60].astype(float)
    assert (dead[0] - dead[60]) == pytest.approx(0.36, abs=0.01)
    kept = run_of(tank, load_w=4500, span_h=240)
    assert taken_w(kept).mean() == pytest.approx(44, rel=0.05)


@pytest.mark.parametrize(("load_kw", "gph"), [(0.0, 1.5), (12.5, 2.9), (25.0, 4.3)])
def test_propane_set_burns_its_published_points(load_kw: float, gph: float) -> None:
    made = generator(rated_kw=25, fuel="propane", fuel_points=PROPANE_25_KW)
    assert burn_at(made, load_kw).value == pytest.approx(gph, abs=1e-9)


def test_published_gallons_and_heat_of_one_sheet_agree() -> None:
    """The same sheet prints 262,500 and 387,000 Btu/h at half and full on propane: by EIA's heat
    content within 2 % of its rounded gallons."""
    points = (
        FuelPoint(load_pct=50, rate_per_h=262_500),
        FuelPoint(load_pct=100, rate_per_h=387_000),
    )
    made = generator(rated_kw=25, fuel="propane", fuel_points=points, fuel_rate_in="Btu/h")
    assert burn_at(made, 12.5).value == pytest.approx(2.9, rel=0.02)
    assert burn_at(made, 25.0).value == pytest.approx(4.3, rel=0.02)


DIESELS = {20: (0.6, 0.9, 1.3, 1.6), 60: (1.8, 2.9, 3.8, 4.8)}
"""Gal/h at a quarter, half, three quarters and full: a published approximate diesel fuel
consumption chart (a generator dealer's, the rows of 20 and 60 kW)."""


@pytest.mark.parametrize("kw", DIESELS)
def test_diesel_passes_all_four_points_of_its_chart(kw: int) -> None:
    shares = (25, 50, 75, 100)
    points = tuple(
        FuelPoint(load_pct=s, rate_per_h=r) for s, r in zip(shares, DIESELS[kw], strict=True)
    )
    made = generator(rated_kw=kw, fuel="diesel", fuel_points=points)
    got = [burn_at(made, kw * share / 100).value for share in shares]
    assert got == pytest.approx(DIESELS[kw], abs=1e-9)


@pytest.mark.parametrize("step_s", [60, 300])
def test_three_hundred_gallons_last_163_hours_at_three_kilowatts(step_s: int) -> None:
    """500 gal, 80 % fill, 20 % kept: 300 gal at 1.5 + 0.112 x 3 = 1.84 gal/h."""
    kept = FuelTank(capacity_gal=500, fill_share=0.8, reserve_share=0.2)
    sheet = generator(rated_kw=25, fuel="propane", fuel_points=PROPANE_25_KW, tank=kept)
    lasts = tank_lasts(sheet, 3.0)
    assert lasts is not None
    assert lasts.value == pytest.approx(163, abs=0.5)
    tank = FuelTank(capacity_gal=500, fill_share=0.6, reserve_share=0.0)
    base = backed_up_site()
    set_ = base.generators[0].model_copy(
        update={"rated_kw": 25.0, "fuel": "propane", "fuel_points": PROPANE_25_KW, "tank": tank}
    )
    steady = circuit("b", "backed", 1, 3, load_w=3000, breaker_a=30)
    site = with_parts(base, generators=(set_,), circuits=(base.circuits[0], steady))
    out = Window(start=START, end=START + timedelta(hours=200))
    day = Scenario.model_validate(
        scenario(span_h=200, step_s=step_s).model_dump() | {"outages": (out,)}
    )
    (fuel,) = [h for h in harms(simulate(site, day)) if h.kind == "fuel"]
    assert fuel.hours == pytest.approx(163, abs=1.0)


def test_car_at_80_amps_takes_19_2_kilowatts() -> None:
    """20 kWh in 62.5 minutes, 80 A on each leg."""
    car = appliance(
        "car",
        19_200,
        volts=240,
        behaviour=Charger(energy_kwh=20, arrive_hour=14, depart_hour=8),
    )
    own = circuit("c", "main", 1, 3, breaker_a=100, appliances=(car,))
    run = simulate(normal_only_site(circuits=(own,)), scenario(span_h=6))
    on = np.flatnonzero(run.circuit_w[0] > 100)
    assert run.circuit_w[0].sum() / 60 / 1000 == pytest.approx(20, rel=1e-4)
    assert len(on) == 63
    peak = next(r for r in run.limits if r.point.element_id == "c")
    assert [leg.peak_a for leg in peak.legs] == pytest.approx([80, 80])


@pytest.mark.parametrize(("outdoor_f", "cop"), [(47, 3.5), (17, 2.5), (5, 2.0)])
def test_heat_pump_moves_its_rated_heat_for_each_watt(outdoor_f: float, cop: float) -> None:
    unit = KINDS["heat-pump"].behaviour
    assert isinstance(unit, RoomUnit)
    unit = unit.model_copy(update={"defrost_every_min": 0.0, "ducted": False})
    zone = Zone(id="house", name="House", loss_btuh_per_f=250)
    heat_pump = appliance("load", 3300, volts=240, behaviour=unit)
    own = circuit("c", "main", 1, 3, breaker_a=60, appliances=(heat_pump,))
    site = normal_only_site(circuits=(own,), zones=(zone,))
    weather = Weather(low_f=outdoor_f, high_f=outdoor_f, sun_share=0)
    run = simulate(site, scenario(span_h=48).model_copy(update={"weather": weather}))
    ratio = run.balance.heat_in_kwh / run.balance.electric_used_kwh
    assert ratio == pytest.approx(cop, rel=0.001)


@pytest.mark.parametrize(
    ("box", "hours"),
    [
        (ColdBox(), 4.0),
        (ColdBox(kept_f=0, time_constant_h=57), 48.0),
        (ColdBox(kept_f=0, time_constant_h=28), 24.0),
    ],
    ids=("refrigerator", "full-freezer", "half-full-freezer"),
)
def test_food_is_never_called_safe_for_longer_than_the_guidance(box: ColdBox, hours: float) -> None:
    """No later than the guidance, and not in half its time."""
    run = run_of(box, load_w=200, span_h=80, outage_h=(6, 70))
    (food,) = [h for h in harms(run) if h.kind == "food"]
    assert food.hours is not None
    assert 0.5 * hours < food.hours <= hours * 1.01
