"""Sites that fill every table."""

from __future__ import annotations

from datetime import datetime

from server.domain.appliance import Appliance
from server.domain.behaviour import (
    Charger,
    Constant,
    Cycle,
    DailyStart,
    Hourly,
    RoomUnit,
    Stage,
    Tank,
    Timed,
    Zone,
)
from server.domain.circuit import Circuit
from server.domain.scenario import ApplianceEvent, Delivery, SwitchMove
from server.domain.site import Place, Site, Tariff
from server.domain.supply import Battery, FuelPoint, FuelTank, Segment
from tests.builders import (
    appliance,
    circuit,
    double_throw_site,
    feeder,
    generator,
    panel,
    scenario,
    with_parts,
)

BEHAVIOURS = (
    Constant(share=0.3),
    Hourly(shares=(0.1,) * 23 + (1 / 3,)),
    Cycle(on_min=7.5, off_min=21),
    Timed(
        stages=(Stage(minutes=12, share=1), Stage(minutes=40, share=0.5, cycle_on_s=30)),
        starts=(DailyStart(hour=17.25, chance=0.8),),
    ),
    Charger(energy_kwh=11.2),
    Tank(gallons=50, draws_gal_by_hour=(2.0,) * 24),
    RoomUnit(zone_id="upstairs", mode="heat", cop=2.7),
)


def _loads(number: int) -> tuple[Appliance, ...]:
    behaviour = BEHAVIOURS[number % len(BEHAVIOURS)]
    return tuple(
        appliance(f"load-{number}-{i}", 100.1 * (i + 1), behaviour=behaviour, note="Küche — ½ “on”")
        for i in range(3)
    )


def _circuits(count: int) -> tuple[Circuit, ...]:
    return tuple(
        circuit(
            f"n{i}",
            f"wing-{i // 40}",
            i % 40 + 1,
            appliances=_loads(i),
            pinned=i % 2 == 0,
            allowed_gap_min=0.1 + 0.2 if i % 3 else None,
        )
        for i in range(count)
    )


def full_site(*, circuits: int = 60) -> Site:
    """A site with rows in every table, odd figures and odd characters."""
    base = double_throw_site(solar=True)
    wings = range((circuits + 39) // 40)
    return with_parts(
        base,
        name="Ω house № 7",
        place=Place(name="Fern Hollow", latitude_deg=44.123456789012345, altitude_ft=1 / 3),
        tariff=Tariff(import_per_kwh=0.1),
        note="First line\nsecond line",
        generators=(
            generator(
                tank=FuelTank(capacity_gal=500),
                fuel_points=(FuelPoint(load_kw=0, rate_per_h=1.5),),
            ),
        ),
        batteries=(
            Battery(id="bank", name="Bank", panel_id="main", usable_kwh=13.5, inverter_kw=5),
        ),
        zones=(
            Zone(id="upstairs", name="Upstairs", loss_btuh_per_f=300),
            Zone(id="cellar", name="Cellar", loss_btuh_per_f=120.5),
        ),
        panels=(*base.panels, *(panel(f"wing-{w}", spaces=42) for w in wings)),
        feeders=(
            *base.feeders,
            *(
                feeder("grid", f"wing-{w}", segments=(Segment(run_ft=150, size="3"),))
                for w in wings
            ),
        ),
        circuits=(*base.circuits, *_circuits(circuits)),
        scenarios=(
            *base.scenarios,
            scenario(
                "gale",
                start=datetime(2027, 1, 9, 5, 30, 15, 250_000),
                events=(ApplianceEvent(appliance_id="load-3-0", at=datetime(2027, 1, 9, 8)),),
                switch_moves=(
                    SwitchMove(switch_id="throw", at=datetime(2027, 1, 9, 9), position="backed_up"),
                ),
                deliveries=(Delivery(at=datetime(2027, 1, 9, 10), gallons=80),),
                seed=2**63 - 1,
            ),
        ),
    )
