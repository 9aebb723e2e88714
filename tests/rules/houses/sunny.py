"""A house with two solar arrays and a battery, a double-throw panel and a bonded set: busbars,
bonds, circuits that change panels.

Worked by hand, 2023: what feeds the busbar of the main panel is 1.25 × (7.6 + 3.8) kW / 240 V =
59.4 A of sun and 1.25 × (5 + 3) kW / 240 V = 41.7 A of batteries; with its main of 200 A 301.0,
above 1.20 × 200 (705.12(B)(2)). The panel behind it 19.8 + 26.0 + 100 = 145.8, above 125 and within
150. The second array asks 19.8 A of its breaker of 15.
"""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Battery, Segment, SolarArray
from tests.builders import double_throw_site, feeder, generator, panel, service, with_parts
from tests.rules.houses import row, thing

EDITIONS = ("2023", "2017")


def site() -> Site:
    base = double_throw_site(resting="backed_up", switches_neutral=False)
    feeders = {f.id: f for f in base.feeders}
    run = Segment(run_ft=120, size="6", neutral_size="10", ground_size="10", terminal_c=60)
    feeders["main-throw-normal"] = feeders["main-throw-normal"].model_copy(
        update={"segments": (run,), "swap_legs": True}
    )
    feeders["set-ats-generator"] = feeder("set", "ats", "generator", segments=(run,))
    arrays = (
        SolarArray(
            id="roof",
            name="Roof",
            panel_id="main",
            dc_kw=9,
            ac_kw=7.6,
            breaker_a=40,
            spaces=(18, 20),
        ),
        SolarArray(
            id="barn",
            name="Ground rack",
            panel_id="backed",
            dc_kw=4,
            ac_kw=3.8,
            breaker_a=15,
            spaces=(1, 3),
        ),
    )
    return with_parts(
        base,
        name="Sunny",
        floor_area_ft2=1800,
        services=(service("grid", main_a=200),),
        generators=(
            generator(
                "set",
                rated_kw=11,
                neutral_bonded=True,
                breaker_a=None,
                fuel="natural_gas",
                gas_meter_btu_h=250_000,
                other_gas_btu_h=120_000,
            ),
        ),
        panels=(
            panel("main", rating_a=200, main_a=200, neutral_bonded=True, spaces=20),
            panel("backed", rating_a=125, neutral_bonded=True, floor_area_ft2=700),
            panel("swing", rating_a=50),
        ),
        feeders=tuple(feeders.values()),
        solar=arrays,
        batteries=(
            Battery(
                id="wall",
                name="Wall battery",
                panel_id="backed",
                usable_kwh=10,
                inverter_kw=5,
                grid_forming=True,
            ),
            Battery(id="cell", name="Cell", panel_id="main", usable_kwh=5, inverter_kw=3),
        ),
        circuits=(
            row("range", "main", (1, 3), thing("range-oven", 9000, 240), breaker_a=40),
            row("dry", "main", (5, 7), thing("dryer", 5000, 240), breaker_a=30),
            row("charge", "main", (10, 12), thing("car-charger-40", 9600, 240), breaker_a=50),
            row("cool", "main", (14, 16), thing("central-air-5-ton", 5600, 240), breaker_a=50),
            row("pair-a", "swing", 1, thing("plugs", 800), multiwire_partner_id="pair-b"),
            row("pair-b", "main", 9, thing("plugs", 700), multiwire_partner_id="pair-a"),
            row("both-a", "backed", 5, thing("plugs", 900), multiwire_partner_id="both-b"),
            row("both-b", "backed", 6, thing("plugs", 900), multiwire_partner_id="both-a"),
            row("cellar", "swing", 2, thing("sump-pump", 800, load_type="motor", horsepower=0.5)),
            row("outside", "swing", 3, thing("outdoor-lights", 200), area="Garden", breaker_a=15),
            row("bath", "swing", 4, thing("bath-plugs", 300), area="Bath", is_new=True),
            row("bed", "swing", 5, thing("lighting", 300), area="Bedroom", is_new=True),
            row("tub", "swing", (6, 8), thing("hot-tub", 5000, 240), breaker_a=30),
            row("food-a", "backed", 10, thing("kitchen-plugs", 400), area="Kitchen"),
            row("food-b", "backed", 12, thing("kitchen-plugs", 400), area="Kitchen"),
            row(
                "air",
                "backed",
                7,
                thing("oxygen-concentrator", 350),
                load_class="must_serve",
                own_battery_min=1,
            ),
            row("wash", "main", 13, thing("washer", 500), grounding="three_wire_old"),
        ),
    )
