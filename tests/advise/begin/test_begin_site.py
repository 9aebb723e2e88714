"""Every combination of choices makes a house that is valid, runs, and is checked."""

from __future__ import annotations

from datetime import date
from itertools import product

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from server.advise.begin.choices import (
    MOST_OF_A_KIND,
    MOST_THINGS,
    WAY_IDS,
    WAYS,
    Choices,
    Thing,
    offered_kinds,
)
from server.advise.begin.circuits import circuits_of
from server.advise.begin.site import begin_site
from server.advise.begin.typical import CLIMATES
from server.domain.backfed import backfed_in
from server.domain.behaviour import Backed
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.edits import with_changes
from server.domain.panel import leg_of_space
from server.domain.site import Site
from server.domain.topology import bus_of_circuit
from server.rules.check import check_site
from server.simulate.room_rows import room_plan
from server.simulate.run import simulate

TODAY = date(2026, 1, 1)
USUAL = tuple(Thing(kind_id=k.id) for k in offered_kinds() if k.usual)
LARGE = tuple(
    Thing(kind_id=i) for i in ("heat-pump", "water-heater", "range-oven", "dryer", "well-pump")
)
each_way = pytest.mark.parametrize("way", WAY_IDS)
FUELS = (None, "propane", "natural_gas", "gasoline", "diesel")
CHANGEOVERS = (None, "automatic", "manual")


def begun(way: str = "backed-up-panel", **choices: object) -> Site:
    made = Choices.model_validate(
        {"way": way, "name": "My house", "things": USUAL + LARGE} | choices
    )
    return begin_site(made, today=TODAY)


def runs_and_is_checked(site: Site) -> None:
    assert check_site(site).findings
    for scenario in site.scenarios:
        assert simulate(site, scenario).verdict.sentence


@st.composite
def some_choices(draw: st.DrawFn) -> Choices:
    def known(values: st.SearchStrategy[object]) -> object:
        return draw(st.none() | values)

    kinds = draw(st.lists(st.sampled_from([k.id for k in offered_kinds()]), unique=True))
    left = MOST_THINGS
    things = []
    for kind_id in kinds:
        count = draw(st.integers(1, 3) | st.integers(1, MOST_OF_A_KIND))
        count = min(count, left)
        left -= count
        if count:
            must, hours = known(st.booleans()), known(st.floats(0, 336))
            things.append({"kind_id": kind_id, "count": count, "must": must, "battery_h": hours})
    return Choices.model_validate(
        {
            "way": draw(st.sampled_from(WAY_IDS)),
            "name": "Some house",
            "climate": known(st.sampled_from(sorted(CLIMATES))),
            "service_a": known(st.sampled_from([30, 60, 100, 125, 150, 200, 320, 400])),
            "second_service_a": known(st.sampled_from([30, 60, 100, 200])),
            "generator_kw": known(st.floats(1, 150)),
            "fuel": known(st.sampled_from(FUELS[1:])),
            "tank_gal": known(st.floats(1, 2000)),
            "changeover": known(st.sampled_from(CHANGEOVERS[1:])),
            "solar": draw(st.booleans()),
            "solar_kw": known(st.floats(0.5, 100)),
            "floor_area_ft2": known(st.floats(100, 20_000)),
            "people": draw(st.integers(1, 20)),
            "bedrooms": draw(st.integers(0, 12)),
            "bathrooms": draw(st.integers(0, 10)),
            "things": things,
        }
    )


@given(choices=some_choices())
@settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow])
def test_any_choices_make_a_house_that_runs_and_is_checked(choices: Choices):
    runs_and_is_checked(begin_site(choices, today=TODAY))


@each_way
def test_every_combination_of_the_listed_choices_is_valid_and_checked(way: str):
    for fuel, changeover, solar in product(FUELS, CHANGEOVERS, (False, True)):
        site = begun(way, fuel=fuel, changeover=changeover, solar=solar)
        found = check_site(site).findings
        assert [f.text for f in found if f.severity == "blocking"] == []


@each_way
@pytest.mark.parametrize("solar", [False, True], ids=["dark-roof", "solar"])
def test_every_way_runs_every_built_in_day(way: str, solar: bool):
    runs_and_is_checked(begun(way, solar=solar))


@each_way
def test_a_house_with_all_there_is_finds_room(way: str):
    all_of_them = tuple(Thing(kind_id=k.id) for k in offered_kinds())
    site = begun(way, things=all_of_them, bedrooms=12, bathrooms=10, floor_area_ft2=9_000)
    made = {a.kind for c in site.circuits for a in c.appliances}
    assert made == {k.id for k in KINDS.values() if k.group != "Other"}
    runs_and_is_checked(site)


@each_way
def test_legs_differ_by_no_more_than_the_largest_circuit(way: str):
    site = begun(way)
    for panel in site.panels:
        singles = [c for c in site.circuits if c.panel_id == panel.id and c.poles == 1]
        watts = {"L1": 0.0, "L2": 0.0}
        largest = 0.0
        for circuit in singles:
            load_w = sum(a.load_w for a in circuit.appliances)
            watts[leg_of_space(circuit.spaces[0])] += load_w
            largest = max(largest, load_w)
        assert abs(watts["L1"] - watts["L2"]) <= largest


@each_way
def test_every_panel_keeps_two_spaces_free(way: str):
    site = begun(way)
    for panel in site.panels:
        used = [s for c in site.circuits if c.panel_id == panel.id for s in c.spaces]
        used += [s for f in site.feeders if f.from_id == panel.id for s in f.spaces]
        used += [s for a in site.solar if a.panel_id == panel.id for s in a.spaces]
        used += [s for t in backfed_in(site, panel.id) for s in t.spaces]
        assert len(set(used)) == len(used)
        assert panel.spaces - len(used) >= 2


@pytest.mark.parametrize("solar", [False, True], ids=["dark-roof", "solar"])
def test_the_breaker_from_the_inlet_stands_by_the_main_of_a_portable(solar: bool):
    site = begun("portable", solar=solar)
    (interlock,) = site.transfer_switches
    assert interlock.spaces == (1, 3)
    assert "interlock-place-taken" not in {f.code for f in check_site(site).findings}
    read = interlock.model_copy(update={"spaces": ()})
    unread = with_changes(site, transfer_switches=(read,))
    assert "interlock-place-taken" not in {f.code for f in check_site(unread).findings}


def test_the_buses_are_those_of_the_way():
    expected = {
        "backed-up-panel": {"normal", "backed_up"},
        "backed-up-and-switchable": {"normal", "backed_up", "switchable"},
        "whole-house": {"backed_up"},
        "two-meters": {"normal", "backed_up"},
        "two-meters-and-switchable": {"normal", "backed_up", "switchable"},
        "portable": {"backed_up"},
        "nothing": {"normal"},
    }
    for way in WAYS:
        assert {b.kind for b in bus_of_circuit(begun(way)).values()} == expected[way]


@pytest.mark.parametrize("way", ["two-meters", "two-meters-and-switchable"])
def test_a_house_on_two_meters_is_one_dwelling_and_has_no_optional_sheet(way):
    """220.82(A): all of it on one set of service conductors, or not by this method."""
    site = begun(way)
    report = check_site(site)
    sheets = [s.method for d in report.demand if d.kind == "service" for s in d.sheets]
    assert sheets
    assert "optional" not in sheets
    assert not any("Which dwelling each panel is of" in m for m in report.missing)


def test_what_must_be_served_is_backed_up_and_what_can_wait_is_switchable():
    site = begun("backed-up-and-switchable")
    bus = bus_of_circuit(site)
    assert bus["well-pump"].kind == bus["refrigerator"].kind == "backed_up"
    assert bus["water-heater"].kind == bus["clothes-dryer"].kind == "switchable"
    assert bus["electric-range"].kind == "normal"


@each_way
def test_the_generator_can_never_reach_the_solar(way: str):
    codes = {f.code for f in check_site(begun(way, solar=True)).findings}
    assert "solar-on-generator" not in codes


def test_not_knowing_is_a_guess_and_knowing_is_not():
    site = begun(service_a=150, solar=True)
    assert site.services[0].figure_source == "nameplate"
    assert site.generators[0].figure_source == "guess"
    assert site.solar[0].figure_source == "guess"
    assert {p.figure_source for p in site.panels} == {"guess"}
    assert {a.figure_source for c in site.circuits for a in c.appliances} == {"guess"}
    told = begun(generator_kw=20, fuel="propane", tank_gal=250, solar=True, solar_kw=8)
    assert told.generators[0].figure_source == "nameplate"
    assert (told.solar[0].figure_source, told.solar[0].told) == ("guess", ("dc_kw",))
    part = begun(generator_kw=20)
    assert (part.generators[0].figure_source, part.generators[0].told) == ("guess", ("rated_kw",))
    assert told.services[0].figure_source == "guess"


def test_a_set_started_by_hand_leaves_off_what_it_cannot_carry():
    site = begun("portable", generator_kw=5)
    roles = {c.id: c.outage_role for c in site.circuits}
    assert roles["electric-range"] == roles["clothes-dryer"] == "off"
    assert roles["well-pump"] == roles["refrigerator"] == "on"
    automatic = begun("whole-house")
    assert {c.outage_role for c in automatic.circuits} == {"on"}


def holding(site: Site, kind_id: str) -> Circuit:
    """The circuit that a kind of appliance rides on."""
    return next(c for c in site.circuits if any(a.kind == kind_id for a in c.appliances))


def test_what_must_not_go_dark_is_backed_up_and_stays_on():
    plain = begun(things=(Thing(kind_id="range-oven"),), changeover="manual")
    asked = begun(things=(Thing(kind_id="range-oven", must=True),), changeover="manual")
    bus = bus_of_circuit(asked)
    assert bus_of_circuit(plain)[holding(plain, "range-oven").id].kind == "normal"
    oven = holding(asked, "range-oven")
    assert bus[oven.id].kind == "backed_up"
    assert (oven.load_class, oven.outage_role, oven.gap_min) == ("must_serve", "on", 60)
    portable = begun("portable", things=(Thing(kind_id="range-oven", must=True),), generator_kw=5)
    assert holding(portable, "range-oven").outage_role == "on"


def test_what_may_go_dark_after_all_is_no_longer_must_serve():
    site = begun(things=(Thing(kind_id="sump-pump", must=False),))
    assert holding(site, "sump-pump").load_class == "important"
    assert holding(site, "sump-pump").gap_min is None


def test_an_own_battery_bears_its_hours_less_a_third():
    told = Thing(kind_id="oxygen-concentrator", battery_h=3)
    circuit = holding(begun(things=(told,)), "oxygen-concentrator")
    assert (circuit.own_battery_min, circuit.allowed_gap_min) == (180, None)
    assert circuit.gap_min == 120
    silent = holding(begun(things=(Thing(kind_id="oxygen-concentrator"),)), "oxygen-concentrator")
    assert (silent.own_battery_min, silent.gap_min) == (None, 2)
    none = Thing(kind_id="oxygen-concentrator", battery_h=0)
    assert holding(begun(things=(none,)), "oxygen-concentrator").gap_min == 2


@pytest.mark.parametrize("bedrooms", [0, 3])
@pytest.mark.parametrize("hours", [None, 0, 1.5])
def test_devices_whose_batteries_differ_share_no_breaker(bedrooms: int, hours: float | None):
    oxygen = Thing(kind_id="oxygen-concentrator", battery_h=2)
    beside = Thing(kind_id="sleep-apnea-machine", battery_h=hours)
    for things in ((oxygen, beside), (beside, oxygen)):
        site = begun(things=things, bedrooms=bedrooms)
        told, other = holding(site, "oxygen-concentrator"), holding(site, "sleep-apnea-machine")
        assert told.id != other.id
        assert (told.own_battery_min, told.gap_min) == (120, 80)
        assert (other.own_battery_min, other.gap_min) == ((90, 60) if hours else (None, 2))


@pytest.mark.parametrize("hours", [None, 2])
def test_devices_alike_in_their_batteries_share_a_breaker(hours: float | None):
    kinds = ("oxygen-concentrator", "sleep-apnea-machine")
    things = tuple(Thing(kind_id=kind_id, battery_h=hours) for kind_id in kinds)
    circuit = holding(begun(things=things, bedrooms=0), kinds[0])
    assert {a.kind for a in circuit.appliances} == set(kinds)
    assert circuit.gap_min == (80 if hours else 2)


def test_what_must_be_served_beside_a_device_leaves_its_battery_alone():
    oxygen = Thing(kind_id="oxygen-concentrator", battery_h=3)
    beside = Thing(kind_id="hospital-bed", must=True)
    site = begun(things=(oxygen, beside), bedrooms=2)
    assert holding(site, "oxygen-concentrator").own_battery_min == 180
    assert holding(site, "oxygen-concentrator").id != holding(site, "hospital-bed").id


def test_a_device_that_may_go_dark_after_all_keeps_its_battery():
    spared = Thing(kind_id="oxygen-concentrator", battery_h=3, must=False)
    circuit = holding(begun(things=(spared,)), "oxygen-concentrator")
    assert (circuit.load_class, circuit.own_battery_min) == ("important", 180)
    assert circuit.least_gap_min == 120


def test_a_device_with_a_battery_in_it_has_the_hours_that_were_told():
    site = begun(things=(Thing(kind_id="ventilator", battery_h=6),))
    (device,) = (a for a in holding(site, "ventilator").appliances if a.kind == "ventilator")
    assert isinstance(device.behaviour, Backed)
    assert device.behaviour.battery_min == 360


def test_a_device_without_power_for_longer_than_its_battery_fails_the_verdict():
    def sentence(hours: float) -> str:
        things = (Thing(kind_id="oxygen-concentrator", battery_h=hours),)
        site = begun("nothing", things=things)
        shutoff = next(s for s in site.scenarios if s.id == "three-day-shutoff")
        return simulate(site, shutoff).verdict.sentence

    assert "Oxygen concentrator is without power" in sentence(5)
    assert "it can wait 3 h 20 min" in sentence(5)
    assert "Oxygen concentrator" not in sentence(336)


def test_both_halves_of_a_heat_pump_ride_on_one_breaker():
    circuit = begun().circuit("heat-pump")
    assert {a.kind for a in circuit.appliances} == {"heat-pump", "heat-pump-cooling"}


def test_small_things_share_a_breaker_only_while_it_carries_them_all():
    things = tuple(Thing(kind_id=k.id, count=2) for k in offered_kinds() if k.shares)
    drafts = circuits_of(Choices(way="nothing", name="x", things=things))
    for draft in drafts:
        if draft.poles == 1:
            volt_amps = sum(r.appliance.load_w / r.appliance.power_factor for r in draft.riders)
            allowed = draft.breaker_a * 120 * (0.8 if draft.continuous else 1.0)
            assert volt_amps <= allowed + 1e-6
    assert sum(len(d.riders) for d in drafts) >= 2 * len(things)


def test_several_of_a_kind_are_numbered():
    site = begun(things=(Thing(kind_id="car-charger-32", count=2),))
    assert [c.name for c in site.circuits if c.name.startswith("Car")] == [
        "Car charger",
        "Car charger 2",
    ]


@pytest.mark.parametrize("count", [10, 11, 13, 20])
def test_rooms_of_many_baseboards_make_the_house_and_no_more(count: int):
    site = begun(things=(Thing(kind_id="baseboard", count=count),))
    shares = [
        a.behaviour.own_room_share
        for c in site.circuits
        for a in c.appliances
        if a.kind == "baseboard"
    ]
    assert len(shares) == count
    assert sum(shares) <= 1
    assert len(room_plan(site).own_rooms) == count - 1  # The first stands in for the zone.


@pytest.mark.parametrize(
    "wrong",
    [
        {"things": [{"kind_id": "no-such-kind"}]},
        {"things": [{"kind_id": "heat-pump-cooling"}]},
        {"things": [{"kind_id": "toaster"}, {"kind_id": "toaster"}]},
        {"things": [{"kind_id": "ventilator", "battery_h": -1}]},
        {"things": [{"kind_id": "ventilator", "battery_h": 400}]},
        {"things": [{"kind_id": k.id, "count": 20} for k in offered_kinds()]},
        {"climate": "lunar"},
        {"way": "magic"},
        {"generator_kw": 0},
        {"name": " "},
    ],
)
def test_choices_that_cannot_be_are_refused(wrong: dict[str, object]):
    with pytest.raises(ValidationError):
        Choices.model_validate({"way": "portable", "name": "x"} | wrong)
