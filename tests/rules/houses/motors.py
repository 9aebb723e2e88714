"""Motors told by plate, horsepower, code letter and locked rotor, on a set of 7 kW by hand.

Worked by hand: 5 hp is 28 A (Table 430.248), its device 2.5 × 28 = 70 A at most (430.52); 3 hp is
17 A, 4080 VA; 1/2 hp at 120 V 9.8 A; 15 hp is past the table. The plate of 25 A is kept to (440.4).
"""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Segment, TransferSwitch
from tests.builders import feeder, generator, panel, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2026",)


def site() -> Site:
    motor = {"load_type": "motor", "power_factor": 0.8}
    wire = Segment(run_ft=150, size="8", ground_size="10")
    return Site(
        name="Motors",
        floor_area_ft2=1400,
        services=(service("grid", main_a=150),),
        generators=(generator("set", name="Small set", rated_kw=7, rated_kva=8.75),),
        transfer_switches=(
            TransferSwitch(id="sw", name="Lever", kind="manual", rating_a=60, withstand_a=10000),
        ),
        panels=(
            panel("main", name="Entry box", main_a=150, neutral_bonded=True, spaces=30),
            panel("sub", name="Pump box", rating_a=60, spaces=20),
        ),
        feeders=(
            feeder("grid", "main", name="Entry"),
            feeder("main", "sw", "utility", name="To lever", breaker_a=60, spaces=(1, 3)),
            feeder("set", "sw", "generator", name="Set run", breaker_a=30, segments=(wire,)),
            feeder("sw", "sub", name="To pumps", segments=(wire,)),
        ),
        circuits=(
            row(
                "deep",
                "sub",
                (1, 3),
                thing("well-pump-deep", 2600, 240, horsepower=3, code_letter="G", **motor),
                breaker_a=35,
                wire_size="12",
            ),
            row(
                "mill",
                "main",
                (5, 7),
                thing("other", 4500, 240, horsepower=5, locked_rotor_a=160, **motor),
                breaker_a=80,
                wire_size="10",
            ),
            row(
                "big",
                "main",
                (9, 11),
                thing("other", 9500, 240, horsepower=15, code_letter="K", **motor),
                breaker_a=100,
            ),
            row(
                "soft",
                "sub",
                (5, 7),
                thing(
                    "heat-pump-cooling",
                    3000,
                    240,
                    locked_rotor_a=80,
                    start_share=0.4,
                    min_circuit_a=20,
                    max_device_a=35,
                    **motor,
                ),
                breaker_a=30,
                wire_size="12",
            ),
            row(
                "plate",
                "main",
                (13, 15),
                thing(
                    "central-air",
                    3600,
                    240,
                    min_circuit_a=24,
                    max_device_a=25,
                    horsepower=3,
                    **motor,
                ),
                breaker_a=50,
                wire_size="14",
            ),
            row("two", "main", (17, 19), *[thing("pool-pump", 1700, 240, horsepower=1.5)] * 2),
            row("sump", "sub", 9, thing("sump-pump", 900, horsepower=0.5, **motor), breaker_a=15),
            row("lift", "sub", 10, thing("sewage-pump", 1500, horsepower=1, locked_rotor_a=70)),
            row("fridge", "sub", 11, thing("freezer", 250, **motor), load_class="must_serve"),
            row("food-a", "sub", 12, thing("kitchen-plugs", 500)),
            row("food-b", "sub", 13, thing("kitchen-plugs", 500)),
            row("lamps", "sub", 14, thing("lighting", 400), breaker_a=15),
            row("odd", "main", 2, thing("other", 2000), breaker_a=18, wire_size="10"),
            row("huge", "main", (21, 23), thing("other", 600000, 240), breaker_a=1300),
        ),
        scenarios=(scenario(), scenario("out", outage_h=(1, 4))),
    )
