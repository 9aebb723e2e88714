"""A farm on one service, by Part V of the article of load calculations.

220.102(A), 220.103 and Table 220.103 (100, 75, 65 and 50 %, the dwelling added by Part III or IV):
2014 text, scribd.com document 687690966. Table 220.102 (60 A in full, 60 A at 50 %, 25 % above;
no less than what runs at one time or 125 % of the largest motor): from memory, with
electrical-knowhow.com 2013-03 on farms.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.errors import InputError
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.demand.farm import building_va, farm
from server.rules.demand.inputs import Dwelling, FarmBuilding, Load, Setting
from server.rules.demand.mapping import Facts
from server.rules.demand.optional import optional
from server.rules.demand.report import demand_of
from server.rules.demand.standard import standard
from server.rules.editions import rulebook
from server.rules.wiring.feeder import governing
from tests.builders import with_parts

RULES = rulebook("2023")
HOUSE = (
    Load("Range", "cooking", 12_000),
    Load("Dryer", "dryer", 5_000),
    Load("Water heater", "fastened", 4_500),
)
TANSY = read_site_file((DEMOS / "flower-farm.json").read_bytes())


def building(name, *va, circuits=1, together_va=None, motor_va=0.0):
    loads = tuple(
        Load(f"{name} {n}", "individual", one, motor_va=min(motor_va, one))
        for n, one in enumerate(va)
    )
    return FarmBuilding(name, loads, circuits, together_va)


def on_a_farm(*buildings, existing_a=200.0, **changes):
    loads = (*HOUSE, *(d for b in buildings for d in b.loads))
    return Dwelling(
        "Farm", 1500, loads=loads, farm_buildings=buildings, existing_a=existing_a, **changes
    )


def test_farm_loads_count_by_their_size_and_the_dwelling_is_added():
    """20,000 + 75 % of 15,000 + 65 % of 10,000 + 50 % of 8,000 + 50 % of 4,000 = 43,750 VA.

    The dwelling, optional: 4,500 + 3,000 + 1,500 + 21,500 = 30,500; 10,000 + 8,200 = 18,200 VA.
    """
    sizes = {"Hens": 4_000, "Barn": 20_000, "Shop": 10_000, "Dairy": 15_000, "Store": 8_000}
    sheet = farm(on_a_farm(*(building(n, va) for n, va in sizes.items())), RULES)
    placed = {x.label: x.demand_va for x in sheet.lines if "farm load" in x.label}
    assert placed == {
        "Largest farm load, Barn, at 100 %": 20_000,
        "Second largest farm load, Dairy, at 75 %": 11_250,
        "Third largest farm load, Shop, at 65 %": 6_500,
        "Another farm load, Store, at 50 %": 4_000,
        "Another farm load, Hens, at 50 %": 2_000,
    }
    assert sheet.total_va == pytest.approx(43_750 + 18_200)
    assert {x.cite.section for x in sheet.lines if "farm load" in x.label} == {
        "220.103, Table 220.103"
    }
    assert sheet.amps == pytest.approx(61_950 / 240)


@pytest.mark.parametrize(
    ("together_va", "motor_va", "expected"),
    [
        (None, 0, 48_000),
        (10_000, 0, 14_400 + 7_200 + 4_800),
        (30_000, 0, 30_000 + 7_200 + 900),
        (0, 20_000, 25_000 + 7_200 + 2_150),
        (60_000, 0, 48_000),
    ],
)
def test_a_building_above_60_a_counts_by_steps(together_va, motor_va, expected):
    """48,000 VA are 200 A at 240 V: 60 A are 14,400 VA."""
    barn = building("Barn", 24_000, 24_000, circuits=3, together_va=together_va, motor_va=motor_va)
    assert building_va(barn, RULES)[0] == pytest.approx(expected)


def test_a_lone_motor_counts_at_125_percent_and_one_circuit_in_full():
    motor = building("Barn", 10_000, circuits=2, motor_va=10_000)
    assert building_va(motor, RULES) == (12_500, "125 % of its largest motor")
    assert building_va(building("Barn", 30_000, together_va=10_000), RULES)[0] == 30_000


@given(
    st.lists(st.floats(1, 50_000), min_size=1, max_size=6),
    st.floats(0, 300_000),
    st.floats(0, 50_000),
    st.integers(1, 6),
)
def test_a_building_never_counts_less_than_its_floor_nor_more_than_all_of_it(
    va, together, motor, n
):
    one = building("Barn", *va, circuits=n, together_va=together, motor_va=motor)
    found = building_va(one, RULES)[0]
    total, turning = sum(va), 1.25 * max(d.motor_va for d in one.loads)
    assert found >= max(min(total, 14_400), min(together, total)) - 1e-6
    assert found <= max(total, turning) + 1e-6


def test_the_dwelling_is_by_the_standard_method_where_the_optional_may_not_be_used():
    """220.82(A): conductors under 100 A bar it; 5,100 + 8,000 + 5,000 + 4,500 = 22,600 VA."""
    hens = building("Hens", 500)
    small = farm(on_a_farm(hens, existing_a=60.0), RULES)
    assert small.total_va == pytest.approx(22_600 + 500)
    assert any("The dwelling by the standard method, 22,600 VA" in n for n in small.notes)
    large = farm(on_a_farm(hens), RULES)
    assert any("The dwelling by the optional method, 18,200 VA" in n for n in large.notes)


def test_the_loads_of_the_buildings_are_no_part_of_the_dwelling():
    plain = Dwelling("Farm", 1500, loads=HOUSE, existing_a=200.0)
    hens = building("Hens", 500)
    for method in (standard, optional):
        assert method(plain, RULES).total_va <= method(on_a_farm(hens), RULES).total_va
    assert farm(on_a_farm(hens), RULES).total_va == optional(plain, RULES).total_va + 500


def test_what_management_holds_in_a_building_counts_once_at_its_setting():
    held = Load("Heat", "individual", 9_000, group="g")
    barn = FarmBuilding("Barn", (held, Load("Fan", "individual", 600)), 2)
    site = on_a_farm(barn, settings=(Setting("g", "Manager", 3_000),))
    assert farm(site, RULES).total_va == pytest.approx(18_200 + 3_000 + 600)


@pytest.mark.parametrize(
    "dwelling",
    [
        Dwelling("House", 1500, loads=HOUSE),
        on_a_farm(building("Hens", 500), whole=False),
        on_a_farm(building("Hens", 500), dwellings=(Dwelling("A", 500), Dwelling("B", 500))),
    ],
)
def test_it_is_refused_without_a_farm_or_a_whole_dwelling(dwelling):
    with pytest.raises(InputError):
        farm(dwelling, RULES)


@pytest.mark.parametrize(
    ("edition", "section"),
    [("2017", "220.103, Table 220.103"), ("2026", "120.103, Table 120.103")],
)
def test_the_flower_farm_s_service_is_worked_out_as_a_farm(edition, section):
    """The shed in full, hens 500 at 50 %.

    The shed: bench mats, lights, four outlets, and a fan of 1/6 hp at 4.4 A × 120 V = 528 VA.
    """
    found = demand_of(TANSY, TANSY.services[0].id, rules=rulebook(edition))
    sheet = governing(found)
    assert sheet.method == "farm"
    (shed,) = (x for x in sheet.lines if x.label.startswith("Largest farm load, Potting-shed"))
    (hens,) = (x for x in sheet.lines if x.label.startswith("Another farm load, Hen house"))
    assert shed.demand_va == pytest.approx(2_658.5, abs=0.1)
    assert (hens.demand_va, hens.cite.section) == (250, section)
    shed_feeder = next(f for f in TANSY.feeders if f.to_id == "shed")
    assert demand_of(TANSY, shed_feeder.id, rules=RULES).sheet("farm") is None


def test_what_runs_at_one_time_may_be_told_of_a_building_by_its_name():
    name = TANSY.panel("shed").name
    facts = Facts(together_va_by_building={name: 1_000.0})
    sheet = demand_of(TANSY, TANSY.services[0].id, rules=RULES, facts=facts).sheet("farm")
    (shed,) = (x for x in sheet.lines if x.label.startswith("Largest farm load"))
    assert shed.demand_va == pytest.approx(2_658.5, abs=0.1)  # under 60 A, whatever runs


def test_the_sheet_says_what_it_takes_for_granted():
    """220.102(A): no Part IV for a dwelling with electric heat on a farm that dries grain so."""
    barn = building("Barn", 900, 900, circuits=2)
    heat = Load("Strip heat", "central_heat", 7_500)
    warm = on_a_farm(barn)
    warm = replace(warm, loads=(*warm.loads, heat))
    said = {n for n in farm(warm, RULES).notes if "not told" in n or "grain" in n}
    assert len(said) == 2
    assert any(n.endswith("Table 220.102 lets the rest count less above 60 A.") for n in said)
    alone = on_a_farm(building("Hens", 900))
    assert not any("not told" in n for n in farm(alone, RULES).notes)
    told = replace(barn, together_va=900.0)
    assert not any("not told" in n or "grain" in n for n in farm(on_a_farm(told), RULES).notes)


def entered(kind, place, area=""):
    """The farm with the circuits of a kind in another place and area."""
    return with_parts(
        TANSY,
        circuits=tuple(
            c.model_copy(update={"place": place, "area": area})
            if any(a.kind == kind for a in c.appliances)
            else c
            for c in TANSY.circuits
        ),
    )


def placed_loads(site, **changes):
    sheet = demand_of(site, site.services[0].id, rules=RULES, **changes).sheet("farm")
    return {x.label.split(", ")[1]: x.connected_va for x in sheet.lines if "farm load" in x.label}


def test_circuits_of_one_area_stand_in_one_building():
    """The cooler's 1,550 W at 0.8, its fans' 260 at 0.8 and lights: 1,937.5 + 325 + 168.4 VA."""
    loads = placed_loads(TANSY)
    assert loads["Packing room"] == pytest.approx(1_937.5 + 325 + 160 / 0.95)
    assert set(loads) == {"Potting-shed panel", "Packing room", "Pond", "Barn", "Hen house"}
    again = placed_loads(entered("walk-in-cooler", "outbuilding", "packing room "))
    assert again.get("packing room", again.get("Packing room")) == loads["Packing room"]
    assert len(again) == len(loads)
    alone = placed_loads(entered("walk-in-cooler", "outbuilding"))
    assert alone["Walk-in cooler"] == pytest.approx(1_937.5)


def test_a_barn_is_a_farm_building_where_other_things_of_a_farm_are():
    assert placed_loads(TANSY)["Barn"] == pytest.approx(4 * 180)
    assert "Shop" not in placed_loads(entered("workshop-plugs", "outbuilding", "Shop"))


def test_what_is_usual_on_farms_and_counts_with_the_dwelling_is_told():
    inside = entered("irrigation-pump", "dwelling")
    for method in ("standard", "optional", "farm"):
        sheet = demand_of(inside, inside.services[0].id, rules=RULES).sheet(method)
        (note,) = [n for n in sheet.notes if n.startswith("Counted with the dwelling")]
        assert "Drip pump, 1 hp" in note
        assert "(220.102(A), 220.103)" in note
        as_is = demand_of(TANSY, TANSY.services[0].id, rules=RULES).sheet(method)
        assert not any(n.startswith("Counted with the dwelling") for n in as_is.notes)
