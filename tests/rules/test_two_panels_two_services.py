"""Large houses: two panels with mains of their own on one service, or one house on two services."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment, TransferSwitch
from server.rules.check import check_site
from server.rules.demand.mapping import WHOSE
from server.rules.demand.ratings import feeder_device_a, rating_a
from server.rules.demand.report import demand_of
from server.rules.demand.worksheet import round_half_up
from server.rules.editions import rulebook
from tests.builders import (
    circuit,
    feeder,
    normal_only_site,
    panel,
    service,
    with_parts,
)

RULES = rulebook("2023")
WIRE = Segment(run_ft=12, size="3/0", metal="copper", neutral_size="2", terminal_c=75)


def house_of_400_a(*, mains=(200, 200)):
    panels = tuple(
        panel(i, rating_a=200, main_a=a, neutral_bonded=True)
        for i, a in zip(("a", "b"), mains, strict=True)
    )
    return normal_only_site(
        services=(service(main_a=400, meter_socket_a=400),),
        panels=panels,
        feeders=tuple(feeder("grid", p.id, segments=(WIRE,)) for p in panels),
        circuits=tuple(circuit(f"c-{p.id}", p.id, 1, load_w=1_000) for p in panels),
        scenarios=(),
        floor_area_ft2=1_500,
    )


def test_service_conductors_of_several_panels_go_by_the_main_they_end_in():
    """230.90(A), 230.40 exception 2: 3/0 copper carries 200 A (Table 310.16)."""
    site = house_of_400_a()
    assert [feeder_device_a(site, f) for f in site.feeders] == [200, 200]
    assert [rating_a(site, f.id) for f in site.feeders] == [200, 200]
    assert not [f for f in check_site(site).findings if f.severity == "blocking"]


def test_without_a_main_there_the_service_s_own_stands():
    site = house_of_400_a(mains=(200, None))
    assert [feeder_device_a(site, f) for f in site.feeders] == [200, 400]


@pytest.mark.parametrize(("rated", "device_a"), [(True, 200), (False, 400)])
def test_a_switch_that_is_service_equipment_is_such_a_main(rated, device_a):
    site = house_of_400_a()
    switch = TransferSwitch(id="ats", name="Switch", rating_a=200, service_rated=rated)
    run = feeder("grid", "ats", to_input="utility")
    site = site.model_copy(update={"transfer_switches": (switch,), "feeders": (*site.feeders, run)})
    assert feeder_device_a(site, run) == device_a


def test_one_set_of_service_conductors_keeps_the_main_of_the_service():
    site = house_of_400_a()
    site = site.model_copy(update={"feeders": site.feeders[:1], "panels": site.panels[:1]})
    assert feeder_device_a(site, site.feeders[0]) == 400


def on_two_services(*dwellings):
    panels = tuple(
        panel(i, rating_a=200, main_a=200, neutral_bonded=True, dwelling=d)
        for i, d in zip(("a", "b"), dwellings, strict=True)
    )
    return normal_only_site(
        services=(service(main_a=200), service("grid2", main_a=200)),
        panels=panels,
        feeders=(feeder("grid", "a"), feeder("grid2", "b")),
        circuits=tuple(circuit(f"c-{p.id}", p.id, 1, load_w=1_000) for p in panels),
        scenarios=(),
        floor_area_ft2=1_500,
    )


def methods(site, element_id):
    found = demand_of(site, element_id, rules=RULES)
    return {s.method for s in found.sheets}


@pytest.mark.parametrize(
    ("dwellings", "permitted"), [(("House", "House"), False), (("Up", "Down"), True)]
)
def test_one_house_on_two_services_may_not_use_the_optional_methods(dwellings, permitted):
    """220.82(A): the total connected load served by a single set of conductors."""
    site = on_two_services(*dwellings)
    for element_id in ("grid", "grid2", "a", "b"):
        found = methods(site, element_id)
        assert "standard" in found
        assert bool(found & {"optional", "existing"}) is permitted


def test_where_no_dwelling_is_named_on_two_services_it_is_asked():
    assert (
        WHOSE in demand_of(on_two_services("", ""), "grid", rules=RULES).sheet("standard").missing
    )
    named = demand_of(on_two_services("Up", "Down"), "grid", rules=RULES)
    assert WHOSE not in named.sheet("standard").missing


def told_of_dwellings(site):
    return [f for f in check_site(site).findings if f.code == "dwellings-not-told"]


def test_two_services_with_no_dwelling_named_are_a_finding_with_both_figures():
    """220.82(A): what of the two counts hangs on an answer that nobody gave."""
    site = on_two_services("", "")
    (finding,) = told_of_dwellings(site)
    assert (finding.severity, finding.section) == ("note", "220.82(A)")
    for service_id in ("grid", "grid2"):
        demand = demand_of(site, service_id, rules=RULES)
        by = {m: round_half_up(demand.sheet(m).needed_a) for m in ("standard", "optional")}
        assert (
            f"Service {service_id}: {by['standard']} A by the standard, {by['optional']} A by the "
            "optional method"
        ) in finding.text
    assert finding.why
    assert finding.who


@pytest.mark.parametrize("dwellings", [("House", "House"), ("Up", "Down")])
def test_with_a_dwelling_named_nothing_is_left_to_tell(dwellings):
    assert not told_of_dwellings(on_two_services(*dwellings))


def test_several_panels_on_one_service_are_not_asked():
    assert not told_of_dwellings(house_of_400_a())


def with_kilns(site):
    """45 kW of five equal loads: all of it, or 40 % of what is past 10 kVA (220.82(B))."""
    kilns = tuple(
        circuit(f"k{n}", "a", 4 * n + 2, 4 * n + 4, load_w=9_000, breaker_a=50) for n in range(5)
    )
    return with_parts(site, circuits=(*site.circuits, *kilns))


def test_until_it_is_told_ratings_are_held_to_the_standard_method():
    """By hand: 4,500 + 4,500 VA by steps and 1,000 + 45,000 VA is more than 200 A x 240 V."""
    site = with_kilns(on_two_services("", ""))
    report = check_site(site)
    demand = demand_of(site, "grid", rules=RULES)
    assert demand.sheet("optional").needed_a < 200 < demand.sheet("standard").needed_a
    past = {f.element_id: f.text for f in report.findings if f.code == "demand-above-rating"}
    assert set(past) == {"grid", "a"}
    assert all("by the standard method" in text for text in past.values())
    (finding,) = told_of_dwellings(site)
    assert "As that of a dwelling of its own Service grid would fit" in finding.text


def test_once_several_are_told_the_optional_method_counts():
    found = check_site(with_kilns(on_two_services("Up", "Down"))).findings
    assert not [f for f in found if f.code == "demand-above-rating"]


@pytest.mark.parametrize(("dwellings", "counts"), [(("", ""), False), (("Up", "Down"), True)])
def test_the_wire_of_a_dwelling_waits_for_the_answer_too(dwellings, counts):
    """310.12: 83 % is for conductors that carry all of one dwelling."""
    report = check_site(on_two_services(*dwellings))
    assert {w.whole_dwelling for w in report.wiring} == {counts}


def second_services(site):
    return [f for f in check_site(site).findings if f.code == "second-service"]


def test_a_second_service_of_one_house_names_the_grounds_once():
    """230.2: one service for a building, but on its grounds."""
    (finding,) = second_services(on_two_services("House", "House"))
    assert (finding.severity, finding.element_id, finding.section) == ("note", "grid2", "230.2")


@pytest.mark.parametrize("dwellings", [("Up", "Down"), ("", "")])
def test_a_service_for_each_dwelling_is_no_second_one(dwellings):
    assert not second_services(on_two_services(*dwellings))


def test_a_barn_may_have_a_service_of_its_own():
    site = on_two_services("House", "House")
    (house, barn) = site.circuits
    barn = barn.model_copy(update={"place": "outbuilding"})
    assert not second_services(with_parts(site, circuits=(house, barn)))
