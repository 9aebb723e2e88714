"""An all-electric house of 3,200 ft² on 200 A: heat pump with strips, three ovens, two dryers, two
chargers that share a setting, a standby set behind a service-rated switch, a year’s record.

Worked by hand, 2020, of the service:
- standard: 3 × 3200 + 4 × 1500 + 1500 = 17 100 VA, 3000 + 0.35 × 14 100 = 7935 (Table 220.42); the
  larger of the two that run by turns is the tub, so 11 000 VA are fastened in place, × 0.75 = 8250
  (220.53); three ovens of 17.0 kW by column B of Table 220.55, note 3, × 0.55 = 9350; two dryers at
  100 %, 5500 + 5000 (220.54); the pump 4200 W / 0.9 = 4667 VA and 25 % of it (440.6, 430.24); the
  cars at their setting, 40 A × 240 V = 9600 (750.30); in all 66 168 VA, 275.7 A
- optional: 10 000 + 0.40 × 45 000; pump, 0.65 × strips and the fan against 0.65 × 4400 in the rooms
  (220.82(C)); 49 207 VA, 205.0 A
"""

from __future__ import annotations

from server.domain.site import Place, Site
from server.domain.supply import DemandRecord, EnergyGroup, FuelTank, Segment, TransferSwitch
from tests.builders import feeder, generator, panel, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2020", "2023")
TRIED = False


def site() -> Site:
    switch = TransferSwitch(
        id="ats",
        name="The changeover",
        rating_a=200,
        service_rated=True,
        withstand_a=22000,
    )
    drop = Segment(run_ft=45, size="4/0", metal="aluminum", insulation="XHHW-2", neutral_size="2/0")
    ground = {"ground_size": "6", "ground_metal": "copper"}
    pipe = {"raceway": "pvc40", "raceway_trade_size": "1-1/4"}
    out = Segment(run_ft=70, size="2", metal="copper", current_carrying=5, **ground, **pipe)
    inside = Segment(run_ft=25, size="1/0", metal="aluminum", insulation="SER", ambient_f=115)
    turns = EnergyGroup(id="turns", name="By turns", way="turns")
    return Site(
        name="Heated",
        floor_area_ft2=3200,
        people=5,
        place=Place(altitude_ft=3500),
        design_low_f=5,
        services=(service("grid", main_a=200, meter_socket_a=200, fault_current_a=18000),),
        demand_records=(
            DemandRecord(service_id="grid", kind="year", peak_kva=17.4, days=370, interval_min=15),
        ),
        generators=(
            generator(
                "set",
                name="The standby",
                rated_kw=22,
                rated_kva=22,
                breaker_a=100,
                start_kva_limit=60,
                tank=FuelTank(capacity_gal=500, other_btu_h=20000),
            ),
        ),
        transfer_switches=(switch,),
        energy_groups=(
            EnergyGroup(id="cars", name="Car pair", way="setting", setting_a=40),
            turns,
            EnergyGroup(id="shed", name="Shedder", setting_a=85, watch_id="set"),
        ),
        panels=(
            panel(
                "main", name="Big box", rating_a=225, main_a=200, spaces=40, interrupting_a=22000
            ),
            panel("up", name="Upstairs", rating_a=125, spaces=20, neutral_bonded=True),
        ),
        feeders=(
            feeder("grid", "ats", "utility", name="Laterals", segments=(drop,)),
            feeder("set", "ats", "generator", name="Set wire", breaker_a=100, segments=(out,)),
            feeder("ats", "main", name="Load side", ampacity_a=180, neutral_ampacity_a=80),
            feeder(
                "main", "up", name="Riser", breaker_a=100, spaces=(38, 40), segments=(inside, out)
            ),
        ),
        circuits=(
            row("oven", "main", (1, 3), thing("wall-oven", 4800, 240, part_120_w=60), breaker_a=30),
            row("oven-b", "main", (5, 7), thing("wall-oven", 5000, 240), breaker_a=25),
            row("hob", "main", (9, 11), thing("cooktop", 7200, 240), breaker_a=30, wire_size="10"),
            row("dry", "main", (13, 15), thing("dryer", 5500, 240, part_120_w=350), breaker_a=30),
            row("dry-up", "up", (1, 3), thing("dryer", 4400, 240), breaker_a=25),
            row(
                "pump",
                "main",
                (17, 19),
                thing(
                    "heat-pump",
                    4200,
                    240,
                    id="pump",
                    load_type="motor",
                    power_factor=0.9,
                    locked_rotor_a=105,
                    min_circuit_a=27,
                    max_device_a=40,
                ),
                thing("heat-pump-cooling", 3800, 240, load_type="motor", power_factor=0.9),
                breaker_a=45,
                wire_size="12",
            ),
            row("strip", "main", (21, 23), thing("heat-strip", 9600, 240), energy_group_id="shed"),
            row("air", "main", (25, 27), thing("air-handler", 700, 240, load_type="motor")),
            row("floor", "up", (5, 7), thing("radiant-floor", 2400, 240), continuous=True),
            row("board", "up", (9, 11), thing("baseboard", 2000, 240), breaker_a=20, is_new=True),
            row(
                "tank",
                "main",
                (29, 31),
                thing("water-heater", 5500, 240),
                breaker_a=25,
                shed_order=1,
                energy_group_id="turns",
            ),
            row(
                "tub",
                "main",
                (33, 35),
                thing("hot-tub", 6000, 240, part_120_w=400),
                breaker_a=50,
                breaker_type="gfci",
                shed_order=2,
                energy_group_id="turns",
            ),
            row(
                "car-a",
                "main",
                (2, 4),
                thing("car-charger-48", 11520, 240),
                breaker_a=60,
                wire_size="6",
                continuous=True,
                energy_group_id="cars",
                shed_order=2,
            ),
            row(
                "car-b",
                "main",
                (6, 8),
                thing("car-charger-32", 7680, 240),
                breaker_a=40,
                wire_size="8",
                continuous=True,
                energy_group_id="cars",
                shed_order=1,
            ),
            row("well", "main", (10, 12), thing("well-pump", 1500, 240, horsepower=1.5)),
            row("dish", "main", 14, thing("dishwasher", 1300), thing("disposer", 700)),
            row("bin", "main", 16, thing("disposer", 900, horsepower=0.75, load_type="motor")),
            row("door", "main", 18, thing("garage-door", 600), thing("plugs", 300)),
            row("food-a", "main", 20, thing("kitchen-plugs", 500)),
            row("food-b", "main", 22, thing("kitchen-plugs", 500), thing("toaster", 1100)),
            row("fridge", "main", 24, thing("refrigerator", 200), load_class="must_serve"),
            row("bar", "main", 26, thing("wine-cooler", 150)),
            row("wash", "main", 28, thing("washer", 600), own_battery_min=10),
            row("bath", "up", 2, thing("bath-plugs", 400)),
            row("lights", "up", 4, thing("lighting", 900), breaker_a=15, breaker_type="afci"),
            row("plugs", "up", 6, thing("home-office", 300), breaker_type="dual_function"),
        ),
        scenarios=(scenario(), scenario("out", outage_h=(1, 4))),
    )
