"""A house with a detached shop and a shed behind it: long runs of several sizes, parallel sets,
full raceways, hot and bundled wires, thin grounds and neutrals, a tap, a cable in the ground.

Worked by hand, of the wires:
- 3/0 aluminum: 175 A at 90 °C × 0.80 for six wires = 140 A, 155 A at 75 °C
- two sets of 1/0 copper: 2 × 150 A; in metal tubing of 2 in three take 3 × 0.1855 = 0.5565 in² of
  0.40 × 3.356 = 1.342 (chapter 9, tables 4 and 5), jam 2.067 / 0.486 = 4.25
- 250 aluminum where 3/0 carries it: the ground grows by 250 000 / 167 800 = 1.490, from 4 aluminum
  of 41 740 cmil to 62 187, which is 2 (250.122(B)); four wires take 2 × 0.397 + 0.1158 + 0.0824
  = 0.992 in² of 0.40 × 1.986 = 0.794
- a tap of 8 ft takes the ground of the 200 A ahead of it, 6 copper (250.122(G))
"""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Segment
from tests.builders import feeder, panel, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2017", "2023")


def site() -> Site:
    aluminum = {"metal": "aluminum", "insulation": "THWN-2"}
    far = (
        Segment(run_ft=40, size="3/0", ground_size="6", current_carrying=6, **aluminum),
        Segment(
            run_ft=310,
            size="250",
            neutral_size="2",
            ground_size="4",
            ground_metal="aluminum",
            wet=True,
            raceway="pvc40",
            raceway_trade_size="1-1/2",
            terminal_c=75,
            **aluminum,
        ),
        Segment(run_ft=25, size="1", ambient_f=125, ground_size="8", insulation="THHN", wet=True),
    )
    twin = Segment(
        run_ft=90,
        size="1/0",
        sets=2,
        metal="copper",
        neutral_size="1/0",
        ground_size="3",
        raceway="emt",
        raceway_trade_size="2",
        terminal_c=75,
    )
    cable = Segment(run_ft=140, size="10", insulation="NM-B", ground_size="10", wet=True)
    nipple = Segment(run_ft=8, size="6", ground_size="10", raceway="emt", raceway_trade_size="3/4")
    return Site(
        name="Yard",
        floor_area_ft2=2100,
        services=(service("grid", main_a=400, fault_current_a=9000),),
        panels=(
            panel(
                "main", name="Outer box", rating_a=400, main_a=400, spaces=42, neutral_bonded=True
            ),
            panel("house", name="House box", rating_a=225, main_a=200, spaces=30),
            panel(
                "shop",
                name="Shop box",
                rating_a=125,
                main_a=125,
                spaces=16,
                detached_building=True,
                neutral_bonded=True,
            ),
            panel("shed", name="Shed box", rating_a=60, spaces=12, detached_building=True),
            panel("attic", name="Attic box", rating_a=60, main_a=60, spaces=8),
        ),
        feeders=(
            feeder("grid", "main", name="Service wire", segments=(twin,)),
            feeder(
                "main", "house", name="House feeder", breaker_a=200, spaces=(1, 3), segments=(twin,)
            ),
            feeder(
                "main",
                "shop",
                name="Shop feeder",
                breaker_a=150,
                spaces=(5, 7),
                segments=far,
                neutral_ampacity_a=20,
            ),
            feeder(
                "shop",
                "shed",
                name="Shed feeder",
                breaker_a=40,
                spaces=(1, 3),
                segments=(cable,),
                no_neutral=True,
            ),
            feeder("house", "attic", name="Attic tap", segments=(nipple,)),
        ),
        circuits=(
            row("range", "house", (1, 3), thing("induction-cooktop", 11000, 240), breaker_a=50),
            row("dry", "house", (5, 7), thing("heat-pump-dryer", 1200, 240), breaker_a=15),
            row("ac", "house", (9, 11), thing("central-air", 3500, 240, min_circuit_a=18)),
            row("furnace", "house", 2, thing("gas-furnace", 600, load_type="motor"), breaker_a=15),
            row("food-a", "house", 4, thing("kitchen-plugs", 400), multiwire_partner_id="food-b"),
            row("food-b", "house", 6, thing("kitchen-plugs", 400), multiwire_partner_id="food-a"),
            row("lights", "house", 8, thing("lighting", 700), breaker_a=15),
            row("wash", "house", 10, thing("washer", 500)),
            row("attic-a", "attic", 1, thing("attic-fan", 300, load_type="motor"), breaker_a=15),
            row("attic-b", "attic", 2, thing("home-server", 1200), continuous=True),
            row(
                "saw",
                "shop",
                (5, 7),
                thing("table-saw", 2900, 240, horsepower=3, load_type="motor", power_factor=0.8),
                breaker_a=20,
                wire_size="12",
                place="outbuilding",
            ),
            row(
                "air",
                "shop",
                (9, 11),
                thing(
                    "air-compressor",
                    4400,
                    240,
                    horsepower=5,
                    locked_rotor_a=150,
                    load_type="motor",
                    restart="by_itself",
                ),
                breaker_a=60,
                wire_size="10",
                place="outbuilding",
            ),
            row(
                "weld",
                "shop",
                (2, 4),
                thing("welder", 9000, 240),
                breaker_a=50,
                wire_size="8",
                place="outbuilding",
            ),
            row("kiln", "shop", (6, 8), thing("kiln", 9600, 240), breaker_a=50, wire_size="8"),
            row(
                "bench",
                "shop",
                10,
                thing("workshop-plugs", 500),
                place="outbuilding",
                plug_outlets=14,
            ),
            row(
                "lamps",
                "shop",
                12,
                thing("lighting", 600),
                place="outbuilding",
                plug_outlets=0,
                continuous=True,
            ),
            row("pump", "shed", (1, 3), thing("pond-pump", 900, 240, load_type="motor")),
            row("light", "shed", 2, thing("lighting", 100), place="outbuilding", is_new=True),
        ),
        scenarios=(scenario(),),
    )
