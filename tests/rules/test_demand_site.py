"""Demand worksheets made from a site."""

from __future__ import annotations

from itertools import chain

import pytest

from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.errors import NotFoundError
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.rules.demand.circuit_loads import category_of
from server.rules.demand.mapping import Facts, ManagedGroup, dwelling_of
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.demand.report import demand_of
from server.rules.demand.watched import demand_report
from server.rules.editions import EDITIONS, rulebook
from server.rules.tables import read_toml
from tests import builders
from tests.rules.check_sites import plain

RULES = rulebook("2023")


def house_circuit(
    circuit_id: str, panel_id: str, spaces: tuple[int, ...], *kinds: str, **changes
) -> Circuit:
    appliances = tuple(KINDS[k].appliance(f"{circuit_id}-{k}") for k in kinds)
    defaults = {
        "id": circuit_id,
        "name": f"Circuit {circuit_id}",
        "panel_id": panel_id,
        "poles": len(spaces),
        "spaces": spaces,
        "appliances": appliances,
        "breaker_a": max(KINDS[k].breaker_a for k in kinds),
    }
    return Circuit(**defaults | changes)


def house(**changes) -> Site:
    """The switchable site with real kinds: kitchen and well backed up, dryer and car switchable."""
    circuits = (
        house_circuit("lights", "main", (1,), "lighting", "plugs"),
        house_circuit("laundry", "main", (3,), "washer"),
        house_circuit("range", "main", (9, 11), "range-oven", "range-burners"),
        house_circuit("counter", "backed", (1,), "kitchen-plugs"),
        house_circuit("well", "backed", (5, 7), "well-pump"),
        house_circuit("sump", "backed", (9,), "sump-pump"),
        house_circuit("dryer", "swing", (1, 3), "dryer"),
        house_circuit("car", "swing", (5, 7), "car-charger-32"),
    )
    base = builders.double_throw_site()
    parts = {"floor_area_ft2": 1800, "circuits": circuits, "scenarios": ()}
    return builders.with_parts(base, **parts | changes)


def line(sheet, label):
    return next(x for x in sheet.lines if x.label.startswith(label))


def test_every_kind_of_the_catalogue_is_mapped_and_no_other():
    mapped = set(read_toml("appliance_kinds")["kinds"])
    assert mapped == set(KINDS) - {"other"}


def test_service_counts_a_switchable_panel_once():
    sheets = demand_of(house(), "grid", rules=RULES).sheets
    assert {s.position for s in sheets} == {""}
    standard = next(s for s in sheets if s.method == "standard")
    assert sum("ryer" in x.label for x in standard.lines) == 1
    # 1800 x 3 + 2 x 1500 + 1500 = 9900: 3000 + 35 % of 6900 = 5415; range 11 kW in column C 8000;
    # dryer 5400 + 400 of motor is on its plate; well and sump are two appliances, so in full.
    assert line(standard, "First 3,000").demand_va + line(
        standard, "Remainder"
    ).demand_va == pytest.approx(5415)
    assert next(x for x in standard.lines if "oven" in x.label.lower()).demand_va == 8000
    car = next(x for x in standard.lines if "Car" in x.label)
    assert car.demand_va == pytest.approx(7680)
    well = next(x for x in standard.lines if x.label.startswith("Well pump"))
    assert well.demand_va == pytest.approx(1500 / 0.78)
    assert well.factor == 1.0


def test_upstream_elements_are_shown_in_both_positions():
    sheets = demand_of(house(), "ats", rules=RULES).sheets
    by_position = {s.position: s.total_va for s in sheets}
    normal, thrown = (
        by_position["Double-throw on NORMAL"],
        by_position["Double-throw on BACKED-UP"],
    )
    swing = demand_of(house(), "swing", rules=RULES).sheets
    assert len(swing) == 1
    assert thrown > normal
    # Largest motor: the well pump either way, so the difference is the swing panel's own load.
    assert thrown - normal == pytest.approx(swing[0].total_va)


@pytest.mark.parametrize("element_id", ["ats", "backed", "swing", "ats-backed", "throw"])
def test_optional_methods_are_refused_for_a_part_of_the_dwelling(element_id):
    demand = demand_of(house(), element_id, rules=RULES)
    assert {s.method for s in demand.sheets} == {"standard"}
    assert {r.method for r in demand.refusals} == {"optional", "existing"}
    assert all("whole dwelling" in r.reason for r in demand.refusals)


def test_optional_method_is_refused_under_100_a():
    site = builders.with_parts(
        builders.interlock_site(floor_area_ft2=900),
        services=(builders.service(main_a=60),),
        panels=(builders.panel("main", rating_a=100, main_a=60),),
    )
    demand = demand_of(site, "grid", rules=RULES)
    assert {r.method for r in demand.refusals} == {"optional"}
    assert "100 A or more" in demand.refusals[0].reason


def test_missing_floor_area_is_asked_not_guessed():
    sheet = demand_of(house(floor_area_ft2=None), "grid", rules=RULES).sheets[0]
    assert any("Floor area" in q for q in sheet.missing)
    assert not sheet.complete
    assert line(sheet, "Lighting").connected_va == 0


def test_area_of_a_part_is_asked_and_its_upper_bound_says_so():
    lamp = house_circuit("lamp", "backed", (11,), "lighting")
    site = house(circuits=(*house().circuits, lamp))
    sheet = demand_of(site, "backed", rules=RULES).sheets[0]
    assert sheet.missing == ("Floor area served by Panel backed.",)
    assert "at most" in line(sheet, "Lighting").note
    told = Facts(area_ft2_by_panel={"backed": 300})
    known = demand_of(site, "backed", rules=RULES, facts=told).sheets[0]
    assert known.complete
    assert line(known, "Lighting").connected_va == 900


def test_unknown_kinds_are_asked_and_counted_in_full():
    sheet = demand_of(builders.normal_only_site(floor_area_ft2=1000), "grid", rules=RULES).sheets[0]
    assert any("What kind" in q for q in sheet.missing)
    assert line(sheet, "c-load").demand_va == 2400


def test_automatic_generator_carries_all_that_transfers_in_both_positions():
    demand = demand_of(house(), "set", rules=RULES)
    assert {s.method for s in demand.sheets} == {"full"}
    assert len({s.position for s in demand.sheets}) == 2


def test_managed_circuits_are_left_out_of_the_managed_sheet_only():
    managed = {"outage_role": "managed", "energy_group_id": "m"}
    circuits = tuple(c.model_copy(update=managed) if c.id == "car" else c for c in house().circuits)
    manager = EnergyGroup(id="m", name="Manager", setting_a=6, watch_id="set")
    site = house(circuits=circuits, energy_groups=(manager,))
    demand = demand_of(site, "set", rules=RULES)
    thrown = {s.method: s for s in demand.sheets if s.position.endswith("BACKED-UP")}
    assert thrown["full"].total_va - thrown["managed"].total_va == pytest.approx(7680)


def test_setting_replaces_the_group_it_holds():
    facts = Facts(groups=(ManagedGroup("ev", "Car on 16 A", ("car",), 16),))
    plain = demand_of(house(), "swing", rules=RULES).sheets[0]
    held = demand_of(house(), "swing", rules=RULES, facts=facts).sheets[0]
    assert line(held, "Car on 16 A").demand_va == 16 * 240
    assert plain.total_va - held.total_va == pytest.approx(7680 - 3840)
    # The setting is continuous, as the car is.
    assert held.continuous_va == pytest.approx(3840)


def test_manual_generator_carries_what_the_user_selects():
    site = builders.interlock_site(floor_area_ft2=1000)
    demand = demand_of(site, "set", rules=RULES)
    (sheet,) = demand.sheets
    assert sheet.method == "selected"
    assert sheet.total_va == 1800  # a and b; c has the role off
    (feeder,) = demand_of(site, "set-lock-generator", rules=RULES).sheets
    assert (feeder.method, feeder.existing_a) == ("selected", 30)


def test_panel_below_an_interlock_is_compared_with_the_utility_side():
    sheet = demand_of(builders.interlock_site(floor_area_ft2=1000), "main", rules=RULES).sheets[0]
    assert sheet.existing_a == 100


def test_120_volt_set_leaves_240_volt_loads_out():
    circuits = tuple(
        c.model_copy(update={"outage_role": "on"}) for c in builders.interlock_site().circuits
    )
    site = builders.set_120_only_site(circuits=circuits)
    (sheet,) = demand_of(site, "set", rules=RULES).sheets
    assert (sheet.total_va, sheet.volts) == (1800, 120)


def test_crossed_feeder_swaps_the_leg():
    site = builders.backed_up_site()
    crossed = tuple(
        f.model_copy(update={"swap_legs": True}) if f.to_id == "backed" else f for f in site.feeders
    )
    swapped = {
        c.circuit.id: c.swapped
        for c in carried_by(builders.with_parts(site, feeders=crossed), "ats", {})
    }
    assert swapped == {"b": True, "c": True, "d": True}
    legs = {
        d.name: d.leg
        for d in dwelling_of(builders.with_parts(site, feeders=crossed), "ats", rules=RULES).loads
    }
    assert legs == {"b-load": "L2", "c-load": "L1", "d-load": None}


def test_handles_land_on_the_generator_feeder():
    site = builders.handle_set_site()
    assert {c.circuit.id for c in carried_by(site, "set", {})} == {"a", "b"}
    assert {c.circuit.id for c in carried_by(site, "grid", {})} == {"a", "b", "c"}


@pytest.mark.parametrize("name", list(builders.EVERY_SITE))
@pytest.mark.parametrize("edition", EDITIONS)
def test_every_small_site_has_worksheets_that_add_up(name, edition):
    site = builders.EVERY_SITE[name](floor_area_ft2=1500)
    report = demand_report(site, rules=rulebook(edition))
    assert {d.element_id for d in report} >= {s.id for s in site.services}
    for sheet in chain.from_iterable(d.sheets for d in report):
        assert sheet.total_va == pytest.approx(sum(x.demand_va for x in sheet.lines))
        for x in sheet.lines:
            assert x.cite.section
            assert x.cite.provisional == (edition == "2026")
            if x.unit == "VA" and x.factor is not None:
                assert x.demand_va == pytest.approx(x.connected_va * x.factor)
        assert sheet.existing_a is not None


def test_unknown_element_is_not_found():
    with pytest.raises(NotFoundError):
        demand_of(house(), "nowhere", rules=RULES)


def test_position_words_are_empty_where_nothing_changes():
    assert [w for w, _ in distinct_positions(house(), "swing")] == [""]


def test_category_of_an_unmapped_kind_is_unknown():
    assert category_of(KINDS["other"].appliance("x")) == "unknown"


def test_ovens_beside_a_cooktop_are_appliances_of_their_own_for_a_feeder():
    """Note 4 of Table 220.55 is of branch circuits: here 8 kW + 55 % of 15.6 kW (Note 3)."""
    hob = KINDS["cooktop"].appliance("hob", load_w=6_600)
    ovens = [KINDS["wall-oven"].appliance(f"oven-{n}", load_w=4_500) for n in (1, 2)]
    top = KINDS["range-burners"].appliance("top", load_w=8_000)
    oven = KINDS["range-oven"].appliance("oven", load_w=4_000)
    site = plain(
        builders.circuit("built-in", "main", 1, 3, breaker_a=50, appliances=(hob, *ovens)),
        builders.circuit("range", "main", 5, 7, breaker_a=50, appliances=(top, oven)),
    )
    sheet = demand_of(site, "main", rules=RULES).sheet("standard")
    (line,) = (x for x in sheet.lines if hob.name in x.label)
    assert line.quantity == 4
    assert line.demand_va == pytest.approx(8_000 + 0.55 * 15_600)
