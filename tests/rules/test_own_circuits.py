"""Appliances that neither floor area nor a kitchen or laundry circuit carries."""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from server.rules.tables import read_toml
from tests.builders import normal_only_site, with_parts
from tests.rules.test_demand_site import house_circuit

RULES = rulebook("2023")
OWN_CIRCUIT = {
    kind: row for kind, row in read_toml("appliance_kinds")["kinds"].items() if "own_circuit" in row
}
LIGHTS = house_circuit("lights", "main", (1,), "lighting", "plugs")


def sheets(*circuits):
    site = with_parts(
        normal_only_site(scenarios=()), circuits=(LIGHTS, *circuits), floor_area_ft2=1500
    )
    return {s.method: s for s in demand_of(site, "grid", rules=RULES).sheets}


def named(sheet, kind):
    name = KINDS[kind].appliance("x").name
    # In a farm building a line begins with the building’s name.
    return [x for x in sheet.lines if x.label == name or x.label.endswith(f": {name}")]


@pytest.mark.parametrize("method", ["standard", "optional", "existing"])
def test_a_dehumidifier_alone_counts_at_its_nameplate(method):
    """785 W at its power factor, on a 15 A circuit that carries nothing else."""
    drying = house_circuit("dry", "main", (3,), "dehumidifier")
    (line,) = named(sheets(drying)[method], "dehumidifier")
    plate = KINDS["dehumidifier"].appliance("x")
    assert line.connected_va == pytest.approx(plate.load_w / plate.power_factor)
    assert line.note == "on its own circuit"
    with_it, without = sheets(drying)[method].total_va, sheets()[method].total_va
    assert with_it > without


def test_a_dehumidifier_among_lights_is_in_the_floor_area():
    mixed = house_circuit("dry", "main", (3,), "dehumidifier", "plugs")
    found = sheets(mixed)
    assert all(not named(s, "dehumidifier") for s in found.values())
    assert found["standard"].total_va == pytest.approx(sheets()["standard"].total_va)


@pytest.mark.parametrize(
    "kind",
    sorted(k for k, r in OWN_CIRCUIT.items() if r["category"] != "laundry"),
)
def test_no_appliance_on_a_circuit_of_its_own_is_left_out(kind):
    """On 15 A it is no small-appliance circuit, so its nameplate is what counts."""
    own = house_circuit("own", "main", (3,), kind, breaker_a=15)
    for sheet in sheets(own).values():
        assert len(named(sheet, kind)) == 1


@pytest.mark.parametrize(
    "kind", sorted(k for k, r in OWN_CIRCUIT.items() if r["category"] == "laundry")
)
def test_a_laundry_behind_a_small_breaker_counts_as_its_circuit_and_not_twice(kind):
    own = house_circuit("own", "main", (3,), kind, breaker_a=15)
    for sheet in sheets(own).values():
        assert not named(sheet, kind)
        laundry = next(x for x in sheet.lines if x.label == "Laundry circuits")
        assert laundry.connected_va >= 1500


@pytest.mark.parametrize("kind", ["refrigerator", "washer"])
def test_a_20_a_kitchen_or_laundry_circuit_counts_as_one_and_not_twice(kind):
    own = house_circuit("own", "main", (3,), kind, breaker_a=20)
    assert all(not named(s, kind) for s in sheets(own).values())


def test_two_freezers_alone_are_two_lines_and_lights_alone_are_none():
    freezers = house_circuit("cold", "main", (3,), "freezer", "second-refrigerator")
    sheet = sheets(freezers)["optional"]
    assert len(named(sheet, "freezer")) == len(named(sheet, "second-refrigerator")) == 1
    light = house_circuit("more", "main", (3,), "lighting")
    assert all(not named(s, "lighting") for s in sheets(light).values())


def test_a_240_v_dryer_of_the_heat_pump_kind_is_on_no_120_v_laundry_circuit():
    dryer = KINDS["heat-pump-dryer"].appliance("d").model_copy(update={"volts": 240})
    own = house_circuit("own", "main", (9, 11), "heat-pump-dryer", appliances=(dryer,))
    assert all(len(named(s, "heat-pump-dryer")) == 1 for s in sheets(own).values())


def test_a_refrigerator_among_lights_in_a_barn_counts_at_its_nameplate():
    barn = house_circuit(
        "barn", "main", (3,), "barn-lights", "refrigerator", breaker_a=15, place="outbuilding"
    )
    assert all(len(named(s, "refrigerator")) == 1 for s in sheets(barn).values())
