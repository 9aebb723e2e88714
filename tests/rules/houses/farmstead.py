"""A farm on one service: a dwelling, a hen house, a greenhouse and a dairy (Part V of Article 220).

Worked by hand, 2023, of the service by Part V: the dwelling 10 000 + 0.40 × 16 000 = 16 400 VA
(220.82); the glass house 2400 + 3800 + 6000 + 1-1/2 hp of 10 A × 240 V = 14 600 in full, as nobody
told what runs together; the dairy 10 141 VA, all within its first 60 A (Table 220.102); the river
pump of 7-1/2 hp 40 A × 240 V = 9600. By Table 220.103 14 600 + 0.75 × 10 141 + 0.65 × 9600 + 0.50 ×
(1500 + 300); with the dwelling 45 746 VA, 190.6 A. Standard: a range of 12.5 kW is 8 kW × 1.05.
"""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Segment, TransferSwitch
from server.rules.demand.mapping import Facts
from tests.builders import feeder, generator, panel, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2023", "2017")
TRIED = False
FACTS = Facts(together_va_by_building={"Dairy box": 9000.0})


def site() -> Site:
    out = {"place": "outbuilding"}
    wire = Segment(run_ft=180, size="2", metal="aluminum", ground_size="6", ground_metal="aluminum")
    manual = TransferSwitch(id="lever", name="The lever", kind="manual", rating_a=200, poles=3)
    return Site(
        name="Farmstead",
        floor_area_ft2=1500,
        services=(service("grid", main_a=200),),
        generators=(generator("pto", name="Tractor set", rated_kw=25, start="by_hand"),),
        transfer_switches=(manual,),
        panels=(
            panel("home", name="Home box", main_a=200, spaces=42, neutral_bonded=True),
            panel("hens", name="Hen box", rating_a=60, detached_building=True),
            panel("glass", name="Glass box", rating_a=100, main_a=100, detached_building=True),
            panel("dairy", name="Dairy box", rating_a=125, main_a=100, detached_building=True),
        ),
        feeders=(
            feeder("grid", "lever", "utility", name="Pole wire"),
            feeder("pto", "lever", "generator", name="Tractor cord", breaker_a=100),
            feeder("lever", "home", name="Lever to home"),
            feeder("home", "hens", name="To hens", breaker_a=60, spaces=(1, 3), segments=(wire,)),
            feeder("home", "glass", name="To glass", breaker_a=90, spaces=(5, 7), segments=(wire,)),
            feeder("home", "dairy", name="To dairy", breaker_a=100, spaces=(9, 11)),
        ),
        circuits=(
            row("range", "home", (13, 15), thing("range-oven", 12500, 240), breaker_a=50),
            row("tank", "home", (17, 19), thing("water-heater", 4500, 240), breaker_a=30),
            row("food-a", "home", 2, thing("kitchen-plugs", 400)),
            row("food-b", "home", 4, thing("kitchen-plugs", 400)),
            row("wash", "home", 6, thing("washer", 500)),
            row("lights", "home", 8, thing("lighting", 800), breaker_a=15),
            row(
                "river",
                "home",
                (10, 12),
                thing("irrigation-pump", 5600, 240, horsepower=7.5, load_type="motor"),
                breaker_a=60,
                wire_size="8",
                **out,
            ),
            row("barn-lamp", "home", 14, thing("barn-lights", 300), area="Hay barn", **out),
            row("hen-heat", "hens", 1, thing("heat-lamp", 750), **out),
            row("hen-fan", "hens", 2, thing("ventilation-fan", 500, load_type="motor"), **out),
            row("hen-water", "hens", 3, thing("heated-waterer", 250), **out),
            row("mats", "glass", (1, 3), thing("heat-mats", 2400, 240), continuous=True, **out),
            row("grow", "glass", (5, 7), thing("grow-lights", 3800, 240), continuous=True, **out),
            row("glass-heat", "glass", (2, 4), thing("greenhouse-heater", 6000, 240), **out),
            row(
                "fans",
                "glass",
                (6, 8),
                thing("ventilation-fan", 1100, 240, horsepower=1.5, load_type="motor"),
                **out,
            ),
            row(
                "milk",
                "dairy",
                (1, 3),
                thing(
                    "walk-in-cooler",
                    4200,
                    240,
                    load_type="motor",
                    locked_rotor_a=96,
                    power_factor=0.85,
                ),
                breaker_a=50,
                area="Milk house",
                **out,
            ),
            row("vacuum", "dairy", (5, 7), thing("other", 3700, 240, horsepower=5), **out),
            row("trough", "dairy", 9, thing("stock-tank-heater", 1500), area="Paddock", **out),
        ),
        scenarios=(scenario(), scenario("out", outage_h=(1, 4))),
    )
