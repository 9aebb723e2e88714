"""Two dwellings on one service with a shared cellar, and one set for both; then a third meter.

Worked by hand, 2023, of the service:
- standard: 3 × 2400 + 6000 + 3000 = 16 200 VA, 3000 + 0.35 × 13 200 = 7620; two ranges up to 12 kW
  by column C of Table 220.55 = 11 kW; five things fastened in place × 0.75 (220.53)
- 220.85: three of the heavier dwelling, 3 × 37 000 = 111 000 VA × 0.45 (Table 220.84) = 49 950, and
  what is shared in full, 300 + 4 × 180 + 700 = 1720
"""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Segment, TransferSwitch
from tests.builders import feeder, generator, panel, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2023", "2020")
TRIED = False


def dwelling(at: str, oven_w: float, heat_w: float, **lamps: object) -> tuple:
    return (
        row(f"{at}-range", at, (1, 3), thing("range-oven", oven_w, 240), breaker_a=40),
        row(f"{at}-dry", at, (5, 7), thing("dryer", 5000, 240, part_120_w=300), breaker_a=30),
        row(f"{at}-heat", at, (9, 11), thing("baseboard", heat_w, 240), breaker_a=30),
        row(f"{at}-tank", at, (13, 15), thing("water-heater", 4500, 240), breaker_a=30),
        row(f"{at}-cool", at, (2, 4), thing("mini-split", 1400, 240, max_device_a=15)),
        row(f"{at}-food-a", at, 6, thing("kitchen-plugs", 400)),
        row(f"{at}-food-b", at, 8, thing("kitchen-plugs", 400)),
        row(f"{at}-wash", at, 10, thing("washer", 500)),
        row(f"{at}-lamps", at, 12, thing("lighting", 500), **{"breaker_a": 15} | lamps),
        row(f"{at}-dish", at, 14, thing("dishwasher", 1200)),
    )


def site() -> Site:
    opens = {"rating_a": 100, "poles": 3, "switches_neutral": True}
    wire = Segment(run_ft=55, size="2", metal="aluminum", insulation="SER", ground_size="4")
    return Site(
        name="Two doors",
        services=(service("grid", main_a=200, meter_socket_a=320),),
        generators=(generator("set", name="Shared set", rated_kw=14, neutral_bonded=True),),
        transfer_switches=(
            TransferSwitch(id="left-ats", name="Left throw", **opens),
            TransferSwitch(id="right-ats", name="Right throw", **opens),
        ),
        panels=(
            panel("meter", name="Meter stack", rating_a=225, main_a=200, neutral_bonded=True),
            panel("left", name="Left box", rating_a=125, dwelling="Left door", floor_area_ft2=1100),
            panel(
                "right", name="Right box", rating_a=100, dwelling="Right door", floor_area_ft2=1300
            ),
        ),
        feeders=(
            feeder("grid", "meter", name="Lateral"),
            feeder(
                "meter",
                "left-ats",
                "utility",
                name="Left run",
                breaker_a=100,
                spaces=(1, 3),
                segments=(wire,),
            ),
            feeder("meter", "right-ats", "utility", name="Right run", breaker_a=90, spaces=(2, 4)),
            feeder("set", "left-ats", "generator", name="Set to left", breaker_a=50),
            feeder("set", "right-ats", "generator", name="Set to right", breaker_a=50),
            feeder("left-ats", "left", name="Left end"),
            feeder("right-ats", "right", name="Right end"),
        ),
        circuits=(
            *dwelling("left", 8000, 4000),
            *dwelling("right", 11000, 5500, breaker_type="afci"),
            row("stair", "meter", 5, thing("lighting", 300), place="common_area", plug_outlets=4),
            row("cellar", "meter", 7, thing("sump-pump", 700, horsepower=0.5), place="common_area"),
        ),
        scenarios=(scenario(), scenario("out", outage_h=(1, 4))),
    )
