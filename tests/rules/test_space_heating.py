"""Fuel-burning space heating is not one of the fastened appliances taken at 75 %."""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.domain.thermal import Zone
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests import builders

OTHERS = ("dishwasher", "disposer", "water-heater")


def site(*kinds: str):
    appliances = tuple(KINDS[k].appliance(k) for k in kinds)
    circuits = tuple(
        builders.circuit(a.id, "main", *spaces).model_copy(update={"appliances": (a,)})
        for a, spaces in zip(appliances, ((1,), (3,), (5, 7), (9,)), strict=False)
    )
    zones = (Zone(id="house", name="House", loss_btuh_per_f=450, time_constant_h=25),)
    return builders.normal_only_site(
        circuits=circuits, zones=zones, scenarios=(), floor_area_ft2=1500
    )


@pytest.mark.parametrize("kind", ["gas-furnace", "boiler", "pellet-stove"])
def test_fuel_burning_heat_counts_in_full_and_makes_no_group_of_four(kind):
    rules = rulebook("2023")
    service = builders.normal_only_site().services[0].id
    without, with_heat = (
        demand_of(site(*kinds), service, rules=rules).sheet("standard")
        for kinds in (OTHERS, (*OTHERS, kind))
    )
    heater = KINDS[kind].appliance("heater")
    va = heater.load_w / heater.power_factor
    assert with_heat.total_va - without.total_va >= va * 0.999
