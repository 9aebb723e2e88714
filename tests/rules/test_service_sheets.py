"""What the sheet of a service says of its rule, its dwelling, and what is no part of that."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.demand.units import one_family, serves_no_dwelling
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind, plain
from tests.rules.test_demand_site import house_circuit

RULES = rulebook("2023")
LIGHTS = house_circuit("lights", "main", (1,), "lighting", "plugs")


def with_barn(*, place="outbuilding", dwelling="", main_a=60):
    """A house on one service and a barn on a second of its own."""
    base = plain(LIGHTS)
    return with_parts(
        base,
        services=(builders.service(), builders.service("barn-meter", main_a=main_a)),
        panels=(
            builders.panel("main", main_a=200, neutral_bonded=True, dwelling=dwelling),
            builders.panel("barn", main_a=main_a, neutral_bonded=True),
        ),
        feeders=(builders.feeder("grid", "main"), builders.feeder("barn-meter", "barn")),
        circuits=(LIGHTS, house_circuit("stalls", "barn", (1,), "barn-lights", place=place)),
        zones=HOUSE,
    )


def least(site, service_id):
    return demand_of(site, service_id, rules=RULES).sheet("standard").least_a


@pytest.mark.parametrize(
    ("place", "dwelling"), [("outbuilding", ""), ("dwelling", "House"), ("outbuilding", "House")]
)
def test_a_house_with_a_second_service_for_a_barn_stays_one_family(place, dwelling):
    """230.79(C): 100 A for the house; (D): 60 A for the barn, which is no dwelling."""
    site = with_barn(place=place, dwelling=dwelling)
    assert one_family(site)
    assert (least(site, "grid"), least(site, "barn-meter")) == (100, 60)
    assert "service-under-100" not in {f.code for f in check_site(site).findings}


def test_two_services_that_each_feed_rooms_are_two_dwellings():
    site = with_barn(place="dwelling")
    assert not one_family(site)
    assert not serves_no_dwelling(site, "barn-meter")
    assert (least(site, "grid"), least(site, "barn-meter")) == (60, 60)


def test_one_service_alone_is_never_taken_for_a_barn_of_a_house():
    site = plain(house_circuit("stalls", "main", (1,), "barn-lights", place="outbuilding"))
    assert not serves_no_dwelling(site, "grid")


CAR = of_kind("car", "main", (9, 11), "car-charger-48")


@pytest.mark.parametrize(
    ("element_id", "own", "other"),
    [("grid", "230.42(A)", "215.2"), ("grid-main", "230.42(A)", "215.2"),
     ("main", "215.2(A)(1)", "230.42")],
)  # fmt: skip
def test_the_125_percent_of_a_service_stands_in_its_own_article(element_id, own, other):
    for sheet in demand_of(plain(LIGHTS, CAR), element_id, rules=RULES).sheets:
        (line,) = [x for x in sheet.amp_lines if x.label.startswith("25 % of it")]
        assert own in line.source
        assert other not in line.source


@pytest.mark.parametrize("method", ["optional", "existing"])
@pytest.mark.parametrize(("edition", "section"), [("2023", "220.102"), ("2026", "120.102")])
def test_what_stands_in_a_barn_is_said_to_be_no_part_of_the_dwelling(method, edition, section):
    barn = house_circuit("stalls", "main", (3,), "heat-mats", place="outbuilding")
    rules = rulebook(edition)
    notes = demand_of(plain(LIGHTS, barn), "grid", rules=rules).sheet(method).notes
    (note,) = [n for n in notes if "Farm loads" in n]
    assert barn.name in note
    assert LIGHTS.name not in note
    assert section in note
    without = demand_of(plain(LIGHTS), "grid", rules=rules).sheet(method).notes
    assert not any("Farm loads" in n for n in without)


def test_the_farm_is_told_so_of_its_loads():
    farm = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    sheets = [s for x in farm.services for s in demand_of(farm, x.id, rules=RULES).sheets]
    told = [s for s in sheets if s.method == "optional"]
    assert told
    assert all(any("Farm loads" in n for n in s.notes) for s in told)


def kitchen(*more):
    pair = tuple(
        house_circuit(f"k{n}", "main", (n,), "kitchen-plugs", breaker_a=20) for n in (3, 5)
    )
    sheet = demand_of(plain(LIGHTS, *pair, *more), "grid", rules=RULES).sheet("standard")
    return next(x for x in sheet.lines if x.label == "Small-appliance circuits")


def test_the_circuit_of_a_refrigerator_alone_may_be_left_out_and_the_line_says_so():
    """220.52(A) exception; it still counts until someone leaves it out."""
    cold = house_circuit("cold", "main", (7,), "refrigerator", breaker_a=20)
    line = kitchen(cold)
    assert line.quantity == 3
    assert f"{cold.name} for a refrigerator alone: its 1,500 VA may be left out" in line.note
    assert "220.52(A) exception" in line.note
    assert kitchen().note == ""
    shared = house_circuit("cold", "main", (7,), "refrigerator", "microwave", breaker_a=20)
    assert kitchen(shared).note == ""


def test_a_third_circuit_for_one_thing_in_its_place_is_told_on_the_line():
    """220.52(A): each circuit of 210.11(C)(1) is 1,500 VA, whatever the plate of what is on it."""
    oven = house_circuit("oven", "main", (7,), "microwave", breaker_a=20)
    line = kitchen(oven)
    assert (line.quantity, line.connected_va) == (3, 4_500)
    told = f"{oven.name}, for one thing in its place, counts as such a circuit at 1,500 VA"
    assert told in line.note
    cold = house_circuit("cold", "main", (9,), "refrigerator", breaker_a=20)
    both = kitchen(oven, cold).note
    assert told in both
    assert f"{cold.name} for a refrigerator alone" in both


def test_a_circuit_in_place_that_adds_none_is_not_told():
    """Two are the least; with one for the counters a second adds nothing."""
    counter = house_circuit("k3", "main", (3,), "kitchen-plugs", breaker_a=20)
    oven = house_circuit("oven", "main", (7,), "microwave", breaker_a=20)
    sheet = demand_of(plain(LIGHTS, counter, oven), "grid", rules=RULES).sheet("standard")
    line = next(x for x in sheet.lines if x.label == "Small-appliance circuits")
    assert (line.quantity, line.note) == (2, "")


def about_barn(site, edition="2023"):
    return {
        f.code: f
        for f in check_site(site, edition=edition).findings
        if f.element_id in ("barn-meter", "barn")
    }


def detached_barn(**changes):
    site = with_barn()
    return with_parts(
        site,
        panels=tuple(
            p.model_copy(update={"detached_building": True}) if p.id == "barn" else p
            for p in site.panels
        ),
        feeders=tuple(
            f.model_copy(update=changes) if f.to_id == "barn" else f for f in site.feeders
        ),
    )


@pytest.mark.parametrize("code", ["emergency-disconnect", "surge-protection"])
@pytest.mark.parametrize("edition", ["2020", "2023"])
def test_only_the_service_of_a_dwelling_is_asked_for_what_dwellings_have(code, edition):
    """230.85, 230.67(A): one- and two-family dwellings, dwelling units; from memory."""
    findings = check_site(with_barn(), edition=edition).findings
    assert [f.element_id for f in findings if f.code == code] == ["grid"]
    both = check_site(with_barn(place="dwelling"), edition=edition).findings
    assert [f.element_id for f in both if f.code == code] == ["grid", "barn-meter"]


def test_a_building_on_a_service_of_its_own_bonds_there_and_takes_no_fourth_wire():
    """250.24: neutral and ground joined at the service; 250.32(B) is of feeders. From memory."""
    found = about_barn(detached_barn())
    note = found["detached-building"]
    assert note.section == "250.24, 250.50"
    assert "joined there" in note.text
    assert "four-wire" not in note.text
    assert not {"detached-neutral-bonded", "detached-three-wire"} & set(found)


def test_a_building_behind_the_service_s_own_breaker_is_on_a_feeder():
    found = about_barn(detached_barn(breaker_a=60))
    assert found["detached-building"].section == "250.32, 225.31"
    assert "detached-neutral-bonded" in found
