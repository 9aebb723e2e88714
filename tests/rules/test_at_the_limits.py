"""What comes out exactly at a limit, and just past it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.domain.errors import InputError
from server.domain.finding import Finding
from server.domain.supply import DemandRecord, Segment
from server.rules.check import check_site
from server.rules.checks.asked import short_of
from server.rules.demand.by_plate import with_plate
from server.rules.demand.circuit_loads import wired_motor
from server.rules.demand.inputs import MOST_VA, Dwelling, FarmBuilding, Load
from server.rules.demand.report import demand_of
from server.rules.demand.standard import standard
from server.rules.demand.worksheet import round_half_up
from server.rules.mends.recheck import compared
from server.rules.ocpd import next_standard_a, small_conductor_limit_a, standard_at_most_a
from server.rules.tables import insulation
from server.rules.wiring.raceway import allowed_share
from tests.builders import (
    circuit,
    double_throw_site,
    feeder,
    generator,
    normal_only_site,
    panel,
    whole_house_site,
    with_parts,
)
from tests.rules.check_sites import RULES, found, of_kind, plain
from tests.rules.houses import cottage, row, thing
from tests.rules.houses.farmstead import site as farmstead

FIELDS = {
    "va": ((0.0, MOST_VA), (-1.0, MOST_VA * 1.01), "VA"),
    "quantity": ((1, 1000), (0, 1001), ""),
    "volts": ((100.0, 480.0), (99.9, 480.1), "V"),
    "neutral_va": ((0.0, 500.0), (-1.0, 501.0), "VA"),
    "motor_va": ((0.0, 500.0), (-1.0, 501.0), "VA"),
}


def load(**changes) -> Load:
    return Load(**{"name": "Load", "category": "fastened", "va": 500.0} | changes)


@pytest.mark.parametrize("name", FIELDS)
def test_a_load_takes_each_end_of_a_range_and_nothing_past_it(name):
    ends, past, unit = FIELDS[name]
    for value in ends:
        assert getattr(load(**{name: value}), name) == value
    for value in past:
        with pytest.raises(InputError) as refused:
            load(**{name: value})
        assert refused.value.field == name
        assert f"{value:g} was given" in str(refused.value)
        if unit:
            assert f" {unit};" in str(refused.value)


def test_a_load_is_on_one_of_two_legs_or_on_none():
    assert [load(leg=leg).leg for leg in ("L1", "L2", None)] == ["L1", "L2", None]
    with pytest.raises(InputError, match="'L3'") as refused:
        load(leg="L3")
    assert refused.value.field == "leg"


@pytest.mark.parametrize(
    ("letters", "section"), [("NM-B", "334.104"), ("UF-B", "340.104"), ("THWN-2", "")]
)
def test_a_cable_that_is_made_in_some_sizes_says_where(letters, section):
    assert insulation(letters).sizes_section == section


def test_wire_behind_too_large_a_breaker_is_held_in_amps():
    site = plain(
        of_kind("x", "main", (1,), "plugs", breaker_a=20).model_copy(update={"wire_size": "14"})
    )
    finding = found(site, "breaker-above-wire")
    assert (finding.value, finding.limit, finding.unit) == (20, 15, "A")
    assert finding.advised is not None
    assert finding.advised.amps == 15


def fed_below(neutral_a):
    wire = Segment(run_ft=20, size="1")
    below = feeder("main", "sub", breaker_a=100, spaces=(2, 4), segments=(wire,))
    return with_parts(
        normal_only_site(),
        panels=(panel("main", main_a=200, neutral_bonded=True), panel("sub")),
        feeders=(
            feeder("grid", "main"),
            below.model_copy(update={"neutral_ampacity_a": neutral_a}),
        ),
        circuits=(row("a", "sub", 1, thing("water-treatment", 4500), breaker_a=50),),
    )


def test_a_neutral_of_exactly_its_load_is_enough_and_one_ampere_less_is_not():
    (wired,) = [w for w in check_site(fed_below(None)).wiring if w.feeder_id == "main-sub"]
    assert wired.neutral_a is not None
    load_a = round_half_up(wired.neutral_a)
    codes = {f.code for f in check_site(fed_below(load_a)).findings}
    assert "neutral-too-small" not in codes
    finding = found(fed_below(load_a - 1), "neutral-too-small")
    assert (finding.value, finding.limit, finding.unit) == (wired.neutral_a, load_a - 1, "A")
    assert finding.advised is not None
    assert finding.advised.amps == load_a


@pytest.mark.parametrize(
    ("kind", "changes", "by_table"),
    [
        ("ventilation-fan", {}, True),
        ("walk-in-cooler", {}, False),
        ("heat-pump", {}, False),
        ("ventilation-fan", {"min_circuit_a": 15}, False),
    ],
)
def test_a_compressor_or_a_plate_of_a_whole_unit_is_no_bare_motor(kind, changes, by_table):
    assert wired_motor(thing(kind, 900, load_type="motor", **changes)) is by_table


def test_what_a_mend_brings_is_told_after_what_is_left():
    was = Finding("demand-above-rating", "warning", "main", "Too much.", "Less.")
    left = replace(was, severity="note", mend="Look.")
    worse = Finding("wire-too-small", "warning", "main", "Thin.", "Thicker.")
    one = compared("a change", was, (was,), (left,))
    two = compared("a change", was, (was,), (left, worse))
    assert one.brings == ()
    assert "worse" in one.said
    assert two.brings == ("Thin.",)
    assert two.said.endswith("Look. But: Thin.")
    gone = compared("a change", was, (was, worse), ())
    assert (gone.clears, gone.others) == (True, 1)


def test_small_vehicles_count_by_their_plates_wherever_they_stand():
    car = Load("Car", "vehicle", 3000, continuous=True)
    large = Load("Van", "vehicle", 9600, continuous=True)
    part = Dwelling("Part", 0, loads=(car, large))
    whole = replace(
        part,
        name="All",
        dwellings=(part, part),
        shared=part,
        farm_buildings=(FarmBuilding("Barn", (car, large), 2),),
    )
    asked: list[Dwelling] = []

    def calculate(dwelling, rules):
        asked.append(dwelling)
        return standard(dwelling, rules)

    with_plate(standard(whole, RULES), whole, calculate, RULES)
    by_plate, by_floor = asked
    assert by_plate == whole
    changed = [by_floor, *by_floor.dwellings, by_floor.shared, *by_floor.farm_buildings]
    assert len(changed) == 5
    for held in changed:
        assert [(d.va, d.continuous) for d in held.loads] == [(7200, False), (9600, True)]


@pytest.mark.parametrize("resting", ["normal", "backed_up"])
def test_a_record_takes_what_is_new_in_the_position_that_has_most_of_it(resting):
    base = double_throw_site(resting=resting)
    own = {f.id: f for f in base.feeders}
    site = with_parts(
        base,
        generators=(*base.generators, generator("other")),
        panels=(*base.panels, panel("spare")),
        # The other side of the throw hangs on a set of its own.
        feeders=(
            *(f for f in own.values() if f.to_input != "backed_up"),
            feeder("other", "spare", breaker_a=60),
            feeder("spare", "throw", "backed_up", breaker_a=60, spaces=(2, 4)),
        ),
        circuits=(
            *(c for c in base.circuits if c.id != "f"),
            circuit("f", "swing", 5, 7, load_w=4800, breaker_a=30, is_new=True),
            circuit("g", "main", 9, 11, load_w=2400, breaker_a=30, is_new=True),
        ),
        demand_records=(
            DemandRecord(service_id="grid", peak_kva=4.8, days=40, seasonal_included=True),
        ),
    )
    sheet = demand_of(site, "grid", rules=RULES).sheet("measured")
    # 220.87: 1.25 × 4800 + 4800 + 2400 = 13 200 VA, 55 A.
    assert sheet is not None, demand_of(site, "grid", rules=RULES).refusals
    assert sheet.total_va == pytest.approx(13_200)
    assert sheet.amps == pytest.approx(55)


@pytest.mark.parametrize(("more_w", "told"), [(2400, True), (9000, False)])
def test_a_house_past_its_main_is_told_of_the_method_for_what_stands_where_that_fits(more_w, told):
    made = cottage.site()
    more = row("more", "box", (2, 4), thing("hot-tub", more_w, 240), breaker_a=50)
    site = with_parts(made, circuits=(*made.circuits, more))
    finding = next(
        f
        for f in check_site(site).findings
        if (f.code, f.element_id) == ("demand-above-rating", "grid")
    )
    # By 220.82 the cottage asks for 99.7 A of its main of 100, by 220.83 for 88.2 over both legs;
    # what is added counts at 40 % in both: 4 A, or 15.
    assert finding.value == pytest.approx(99.7 + more_w * 0.4 / 240, abs=0.2)
    assert ("(220.83" in finding.text) is told
    assert ("comes to 92 A" in finding.text) is told


@pytest.mark.parametrize(("wire_a", "words"), [(100, "optional method"), (90, "standard method")])
def test_a_set_past_its_limit_says_by_which_method(wire_a, words):
    many = tuple(
        circuit(f"w{i}", "main", 4 * i + 1, 4 * i + 3, load_w=9000, breaker_a=50) for i in range(4)
    )
    wide = generator(rated_kw=20, breaker_a=wire_a)
    site = whole_house_site(floor_area_ft2=4000, circuits=many, generators=(wide,))
    to_set = [
        f.model_copy(update={"breaker_a": wire_a}) for f in site.feeders if f.from_id == "set"
    ]
    rest = [f for f in site.feeders if f.from_id != "set"]
    site = with_parts(site, feeders=(*rest, *to_set))
    finding = next(
        f
        for f in check_site(site).findings
        if (f.code, f.element_id) == ("demand-above-rating", "set")
    )
    assert words in finding.text


def test_a_set_of_a_farm_says_that_it_is_by_the_farm_s_method():
    base = farmstead()
    (lever,) = base.transfer_switches
    (pto,) = base.generators
    site = with_parts(
        base,
        transfer_switches=(lever.model_copy(update={"kind": "automatic"}),),
        generators=(pto.model_copy(update={"start": "automatic"}),),
    )
    finding = next(
        f
        for f in check_site(site).findings
        if (f.code, f.element_id) == ("demand-above-rating", "pto")
    )
    assert "farm" in finding.text
    assert "standard method" not in finding.text


@pytest.mark.parametrize(
    ("amps", "next_a", "at_most_a"),
    [(15, 15, 15), (15.1, 20, 15), (99.9, 100, 90), (100, 100, 100), (100.1, 110, 100)],
)
def test_a_standard_rating_is_its_own_next_and_its_own_largest(amps, next_a, at_most_a):
    assert next_standard_a(amps) == next_a
    assert standard_at_most_a(amps) == at_most_a


def test_what_is_asked_exactly_is_not_short():
    assert not short_of(20.0, 20.0)
    assert short_of(20.6, 20.0)


@pytest.mark.parametrize(
    ("size", "metal", "most_a"),
    [
        ("14", "copper", 15),
        ("12", "copper", 20),
        ("10", "copper", 30),
        ("12", "aluminum", 15),
        ("10", "aluminum", 25),
        ("8", "copper", None),
    ],
)
def test_small_wire_has_a_largest_device_of_its_own(size, metal, most_a):
    assert small_conductor_limit_a(size, metal) == most_a


@pytest.mark.parametrize(
    ("count", "nipple_in", "share"),
    [(1, None, 0.53), (2, None, 0.31), (3, None, 0.4), (3, 24.0, 0.6)],
)
def test_a_raceway_is_filled_by_how_many_lie_in_it_and_how_short_it_is(count, nipple_in, share):
    assert allowed_share(count=count, nipple_in=nipple_in, rules=RULES) == share
    with pytest.raises(InputError):
        allowed_share(count=count, nipple_in=24.1, rules=RULES)
