"""Five dwellings and a common stair on one service of 400 A: 220.84.

Worked by hand, 2023: each dwelling 3 × 700 + 3000 + 1500 + 9000 + 4500 + 5000 = 25 100 VA; five of
them × 0.45 (Table 220.84) = 56 475. Standard: five ranges of 9 kW are 20 kW by column C of Table
220.55; 3 × 3500 + 22 500 = 33 000, 3000 + 0.35 × 30 000 = 13 500.
"""

from __future__ import annotations

from server.domain.site import Site
from tests.builders import feeder, panel, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2023", "2020")
DOORS = ("a", "b", "c", "d", "e")


def site() -> Site:
    return Site(
        name="Five doors",
        services=(service("grid", main_a=400),),
        panels=(
            panel("stack", name="Stack", rating_a=400, main_a=400, spaces=42, neutral_bonded=True),
            *(
                panel(
                    d,
                    name=f"Box of {d}",
                    rating_a=100,
                    dwelling=f"Door {d}",
                    floor_area_ft2=700,
                )
                for d in DOORS
            ),
        ),
        feeders=(
            feeder("grid", "stack", name="Lateral"),
            *(
                feeder("stack", d, name=f"Riser {d}", breaker_a=100, spaces=(4 * i + 1, 4 * i + 3))
                for i, d in enumerate(DOORS)
            ),
        ),
        circuits=(
            *(
                row(f"{d}-range", d, (1, 3), thing("range-oven", 9000, 240), breaker_a=40)
                for d in DOORS
            ),
            *(
                row(f"{d}-tank", d, (5, 7), thing("water-heater", 4500, 240), breaker_a=30)
                for d in DOORS
            ),
            *(
                row(f"{d}-heat", d, (9, 11), thing("baseboard", 5000, 240), breaker_a=30)
                for d in DOORS
            ),
            *(row(f"{d}-lamps", d, 2, thing("lighting", 500), breaker_a=15) for d in DOORS),
            row("stair", "stack", 2, thing("lighting", 900), place="common_area"),
            row("shared-dry", "stack", (6, 8), thing("dryer", 5000, 240), place="common_area"),
        ),
        scenarios=(scenario(),),
    )
