"""A cottage of 960 ft² on 100 A that gets a car charger; a wheeled set on an interlock.

Worked by hand, 2023, of the service:
- standard: 3 × 960 + 2 × 1500 + 1500 = 7380 VA (220.41, 220.52), 3000 + 0.35 × 4380 = 4533 (Table
  220.45); the range of 8 kW by column B of Table 220.55, note 3, 0.80 × 8 = 6.4 kW; the dryer of
  4.5 kW as 5 kW (220.54); one fastened in place, so no 75 % (220.53); the charger 7680 VA (220.57);
  the refrigerator's 180 VA and 25 % of it (430.24); heat 3900 VA against 1100 of cooling (220.60)
- optional, 220.82: 10 000 + 0.40 × 22 240 + 0.65 × 3900 (fewer than four) = 21 431 VA, 89.3 A
- existing, 220.83(A): 8000 + 0.40 × 28 140 = 19 256 VA, 80.2 A
"""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Segment, TransferSwitch
from tests.builders import feeder, panel, portable, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2023", "2017", "2020", "2026")


def site() -> Site:
    lock = TransferSwitch(id="lock", name="The interlock", kind="interlock", rating_a=100)
    lug = Segment(run_ft=20, size="4", metal="copper", insulation="THWN-2", terminal_c=75)
    cord = Segment(run_ft=60, size="12", ground_size="12", ground_metal="copper")
    return Site(
        name="Cottage",
        floor_area_ft2=960,
        services=(service("grid", main_a=100, meter_socket_a=80, fault_current_a=14000),),
        generators=(portable(id="cart", name="The cart", rated_kw=6.5, inlet_a=20),),
        transfer_switches=(lock,),
        panels=(
            panel(
                "box",
                name="The box",
                rating_a=100,
                main_a=100,
                spaces=24,
                neutral_bonded=True,
                tandem_spaces=(9, 10),
                interrupting_a=10000,
            ),
        ),
        feeders=(
            feeder("grid", "lock", "utility", name="Drop", segments=(lug,)),
            feeder("cart", "lock", "generator", name="Cord", breaker_a=30, segments=(cord,)),
            feeder("lock", "box", name="Lugs"),
        ),
        circuits=(
            row(
                "range",
                "box",
                (1, 3),
                thing("range-oven", 3000, 240, part_120_w=100),
                thing("range-burners", 5000, 240),
                breaker_a=40,
                wire_size="10",
                outage_role="off",
            ),
            row(
                "dryer",
                "box",
                (5, 7),
                thing("dryer", 4500, 240, part_120_w=300),
                breaker_a=30,
                wire_size="10",
                grounding="three_wire_old",
                outage_role="off",
            ),
            row(
                "tank",
                "box",
                (6, 8),
                thing("water-heater", 4500, 240),
                breaker_a=20,
                wire_size="12",
                outage_role="off",
            ),
            row("food-a", "box", 9, thing("kitchen-plugs", 400), half="a", wire_size="12"),
            row("food-b", "box", 9, thing("microwave", 1400), half="b", wire_size="14"),
            row("lights", "box", 10, thing("lighting", 600), half="a", breaker_a=15),
            row("bath", "box", 11, thing("bath-plugs", 300), thing("bath-heater", 1400)),
            row("wash", "box", 12, thing("washer", 600, load_type="motor", power_factor=0.7)),
            row(
                "cold",
                "box",
                13,
                thing("refrigerator", 180, load_type="motor", locked_rotor_a=12),
                breaker_a=15,
                wire_size="12",
                wire_metal="aluminum",
                load_class="must_serve",
                outage_role="by_hand",
            ),
            row("cool", "box", 14, thing("room-air", 1100), thing("television", 120), breaker_a=15),
            row(
                "heat",
                "box",
                (15, 17),
                thing("baseboard", 1500, 240),
                thing("baseboard", 1000, 240),
                breaker_a=15,
                wire_size="14",
                continuous=True,
            ),
            row(
                "car",
                "box",
                (18, 20),
                thing("car-charger-32", 7680, 240),
                breaker_a=35,
                wire_size="8",
                is_new=True,
                continuous=True,
                outage_role="off",
            ),
        ),
        scenarios=(scenario(), scenario("out", outage_h=(1, 4))),
    )
