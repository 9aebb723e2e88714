"""What fills a pit: a storm none of waste, and nobody's water none while every well is dry."""

from __future__ import annotations

import numpy as np
import pytest

from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.harms import harms
from server.simulate.pit_water import inflow_gpm, without_water
from server.simulate.run import simulate
from tests.builders import circuit, normal_only_site, scenario


def pumps(*kinds: str) -> tuple[tuple[Circuit, ...], Site, tuple[Panel, ...]]:
    """A circuit for each kind, the site they go on, and its panels with room for them."""
    things = tuple(
        circuit(
            kind,
            "main",
            *((21 + 4 * n, 23 + 4 * n) if KINDS[kind].volts == 240 else (21 + 4 * n,)),
            appliances=(KINDS[kind].appliance(kind),),
        )
        for n, kind in enumerate(kinds)
    )
    base = normal_only_site()
    return things, base, tuple(p.model_copy(update={"spaces": 42}) for p in base.panels)


@pytest.mark.parametrize(
    ("kind", "people", "storm_gpm", "expected_gpm"),
    [
        ("sump-pump", None, 2.0, 2.0),
        ("sump-pump", 0, None, KINDS["sump-pump"].appliance("p").behaviour.inflow_gpm),
        ("sewage-pump", None, 2.0, KINDS["sewage-pump"].appliance("p").behaviour.inflow_gpm),
        ("sewage-pump", 0, 2.0, 0.0),
    ],
)
def test_a_storm_fills_no_pit_of_waste_and_an_empty_house_neither(
    kind, people, storm_gpm, expected_gpm
):
    pump = KINDS[kind].appliance("p")
    day = scenario(pit_inflow_gpm=storm_gpm, people=people)
    assert inflow_gpm(pump, pump.behaviour, day) == expected_gpm


def test_a_storm_that_fills_a_sump_leaves_a_pit_of_waste_as_it_was():
    def highest(kind: str, storm_gpm: float | None) -> float:
        pump = KINDS[kind].appliance("pump")
        site = normal_only_site(circuits=(circuit("p", "main", 9, appliances=(pump,)),))
        run = simulate(site, scenario(span_h=8, outage_h=(1, 7), pit_inflow_gpm=storm_gpm))
        (row,) = run.level
        return float(row.max())

    assert highest("sewage-pump", 2.0) == pytest.approx(highest("sewage-pump", None))
    assert highest("sump-pump", 2.0) > highest("sump-pump", 0.0)


def test_a_septic_pump_is_not_called_once_every_well_is_dry():
    def called(*kinds: str):
        things, base, panels = pumps(*kinds)
        site = normal_only_site(circuits=(*base.circuits, *things), panels=panels)
        run = simulate(site, scenario(span_h=40, outage_h=(2, 38)))
        (pit,) = [h for h in harms(run) if h.kind == "sump"]
        dry = [h.at for h in harms(run) if h.kind == "water"]
        return pit.at, dry

    at, _ = called("septic-pump")
    assert at is not None
    after, (dry_at,) = called("septic-pump", "well-pump")
    assert dry_at < at
    assert after is None


def test_water_is_there_while_one_well_gives_it_and_from_the_street():
    assert not without_water((), steps=4, step_s=60.0).any()
    both = without_water((((60.0, 240.0),), ((0.0, 180.0),)), steps=4, step_s=60.0)
    assert np.array_equal(both, [False, True, True, False])


@pytest.mark.parametrize("managed", [False, True])
def test_a_sewage_pit_fills_no_further_once_the_well_is_dry(managed):
    """What comes in stops with the well's tank: by a day dead it has run over from the street."""

    def pit_gal(*kinds: str):
        things, base, panels = pumps(*kinds)
        group = EnergyGroup(id="g", name="Manager", setting_a=150, watch_id="main")
        held = things[0].model_copy(update={"energy_group_id": "g", "shed_order": 1})
        things = (held, *things[1:]) if managed else things
        site = normal_only_site(
            circuits=(*base.circuits, *things),
            panels=panels,
            energy_groups=(group,) if managed else (),
        )
        run = simulate(site, scenario(span_h=30, outage_h=(2, 29)))
        levels = run.level[[w.appliance_id for w in run.watched].index("sewage-pump")]
        dry = [h.at for h in harms(run) if h.kind == "water" and h.at]
        return levels, dry

    street, _ = pit_gal("sewage-pump")
    pit = KINDS["sewage-pump"].appliance("p").behaviour
    assert float(street.max()) == pytest.approx(pit.cycle_gal + pit.reserve_gal)
    well, (dry_at,) = pit_gal("sewage-pump", "well-pump")
    k = int((dry_at - scenario().start).total_seconds() // 60) + 2
    assert float(np.ptp(well[k : 28 * 60])) == pytest.approx(0.0, abs=0.01)
    assert float(well.max()) < pit.cycle_gal + pit.reserve_gal
