"""A flat on two legs of 120/208 V behind the building's feeder, with heat, a range and motors.

Worked by hand, 2023, of the flat:
- standard: 3 × 1050 + 4500 = 7650 VA, 3000 + 0.35 × 4650 = 4627.5; the range 8 kW by column C of
  Table 220.55; to neutral 4627.5 + 350 of the dryer + 500 of the fan = 5477.5 VA; 5477.5 / 240 +
  31 550 / 208 = 174.5 A (Example D5(a)); leg 1: 19.3 + 21.6 + 38.5 + 26.2 + 24.0 + 9.6 + 34.6 + 4.2
  = 178.0 A; no reduction of the neutral (220.61(C)(1))
- optional: 10 000 + 0.40 × 23 850 + 0.65 × 7000 = 24 090 VA
"""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Segment, TransferSwitch
from tests.builders import feeder, generator, panel, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2023",)


def site() -> Site:
    wire = Segment(run_ft=110, size="2", neutral_size="4", ground_size="8", terminal_c=75)
    return Site(
        name="Wye",
        floor_area_ft2=1050,
        services=(service("flat", system="120/208", main_a=125, building_feeder=True),),
        generators=(generator("set", name="Yard set", rated_kw=10, system="120/208"),),
        transfer_switches=(
            TransferSwitch(id="ats", name="Flat switch", rating_a=100, withstand_a=5000),
        ),
        panels=(panel("box", name="Flat box", rating_a=125, main_a=125, spaces=30),),
        feeders=(
            feeder("flat", "ats", "utility", name="Riser", segments=(wire,)),
            feeder("set", "ats", "generator", name="Set run", breaker_a=50),
            feeder("ats", "box", name="Box lugs", segments=(wire,)),
        ),
        circuits=(
            row("range", "box", (1, 3), thing("range-oven", 8800, 240, part_120_w=200)),
            row("dry", "box", (5, 7), thing("dryer", 5200, 240, part_120_w=350), breaker_a=30),
            row("heat", "box", (9, 11), thing("baseboard", 5000, 240), breaker_a=30),
            row("heat-b", "box", (13, 15), thing("wall-heater", 2000, 240), breaker_a=15),
            row("cool", "box", (2, 4), thing("central-air-2-ton", 2200, 240, horsepower=2)),
            row("tank", "box", (6, 8), thing("water-heater", 4500, 240), continuous=True),
            row("car", "box", (10, 12), thing("car-charger-24", 5760, 240), breaker_a=30),
            row("fan", "box", 14, thing("whole-house-fan", 500, horsepower=0.333)),
            row("food-a", "box", 16, thing("kitchen-plugs", 400)),
            row("food-b", "box", 18, thing("kitchen-plugs", 400)),
            row("wash", "box", 20, thing("washer", 500)),
            row("lights", "box", 22, thing("lighting", 700), breaker_a=15),
        ),
        scenarios=(scenario(), scenario("out", outage_h=(1, 4))),
    )
