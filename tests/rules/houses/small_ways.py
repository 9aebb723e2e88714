"""A handle set on a 120 V set, odd and missing entries, and what is amended by the town.

By hand, 2023 with the amendment: 4 VA per square foot × 1200 = 4800 VA; 4800 + 3000 + 1500 = 9300,
3000 + 0.35 × 6300 = 5205 VA.
"""

from __future__ import annotations

from server.domain.site import LocalAmendment, Site
from server.domain.supply import Handle, Segment, TransferSwitch
from tests.builders import feeder, panel, portable, scenario, service
from tests.rules.houses import row, thing

EDITIONS = ("2023", "2026")


def site() -> Site:
    odd = (
        Segment(run_ft=15, size="4", insulation="XYZ"),
        Segment(run_ft=15, size="4", raceway="hose", raceway_trade_size="9"),
        Segment(run_ft=15, size="4", insulation="NM-B", neutral_size="x", ground_size="y"),
    )
    return Site(
        name="Small ways",
        floor_area_ft2=1200,
        amendments=(
            LocalAmendment(figure="lighting_va_per_ft2", value=4, reason="Town rule 7"),
            LocalAmendment(figure="no_such_figure", value=4, reason="Town rule 8"),
        ),
        services=(service("grid", main_a=60), service("shop", main_a=70, fault_current_a=30000)),
        generators=(portable(id="box", name="Suitcase", rated_kw=3, system="120", cord_a=20),),
        transfer_switches=(
            TransferSwitch(
                id="handles",
                name="Handles",
                kind="handles",
                rating_a=20,
                handles=(
                    Handle(circuit_id="lamps", leg="L1"),
                    Handle(circuit_id="furnace", leg="L2"),
                    Handle(circuit_id="pump", leg="L1"),
                ),
            ),
        ),
        panels=(
            panel("main", name="Old box", rating_a=60, spaces=12, neutral_bonded=False),
            panel("shed", name="Far box", rating_a=100, main_a=70, spaces=12),
            panel("empty", name="Spare box", rating_a=30, spaces=4),
        ),
        feeders=(
            feeder("grid", "main", name="Old drop", segments=odd),
            feeder("box", "handles", "generator", name="Handle cord", breaker_a=30),
            feeder("shop", "shed", name="Far drop", ampacity_a=60),
            feeder("main", "empty", name="Spare run", breaker_a=45, spaces=(9, 11)),
        ),
        circuits=(
            row("lamps", "main", 1, thing("lighting", 500, figure_source="guess")),
            row("furnace", "main", 2, thing("oil-furnace", 800, load_type="motor"), breaker_a=15),
            row("pump", "main", (3, 5), thing("well-pump-half-hp", 900, 240, load_type="motor")),
            row("plugs", "main", 4, breaker_a=25, wire_size="14"),
            row("range", "main", (6, 8), thing("range-oven", 16000, 240), breaker_a=30),
            row("fence", "shed", 1, thing("tool-charger", 300), place="outbuilding"),
            row(
                "sauna",
                "shed",
                (3, 5),
                thing("sauna", 8000, 240),
                breaker_a=35,
                wire_size="12",
                grounding="three_wire_old",
                is_new=True,
            ),
        ),
        scenarios=(scenario(), scenario("out", outage_h=(1, 4))),
    )
