"""A manager that measures a whole service: its setting may stand for the load.

220.70 (2023): a single value equal to the maximum ampere setpoint of the energy management may be
used for the feeder or service, as a continuous load; 120.7 in 2026; earlier 750.30 alone. Sources:
expertce.com on 220.70, ecmag.com on load control.
"""

from __future__ import annotations

import pytest

from server.domain.supply import Battery, EnergyGroup
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.demand.standing import Standing
from server.rules.demand.watched import demand_report
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import garage, of_kind, plain


def house(setting_a: float | None, *, watch_id: str = "grid", heat_w: float = 0, **changes):
    """100 A; oven 12 kW, tank 4.5 kW, cooling 4 kW, and a car of 48 A.

    By the standard method the car alone is 48 x 1.25 = 60 A.
    """
    held = {"energy_group_id": "m", "outage_role": "managed"} if setting_a else {}
    group = EnergyGroup(id="m", name="Car manager", setting_a=setting_a or 80, watch_id=watch_id)
    loads = (
        of_kind("oven", "main", (1, 3), "range-oven", load_w=12_000, breaker_a=50),
        of_kind("tank", "main", (5, 7), "water-heater", load_w=4_500, breaker_a=30),
        of_kind("cool", "main", (9, 11), "central-air", load_w=4_000, breaker_a=30),
        of_kind("heat", "main", (13, 15), "baseboard", load_w=heat_w, breaker_a=60),
    )
    car = of_kind("car", "main", (17, 19), "car-charger-48", load_w=11_520, breaker_a=60)
    base = plain(
        *loads[: 4 if heat_w else 3],
        car.model_copy(update=held),
        energy_groups=(group,) if setting_a else (),
    )
    (main,) = base.panels
    return with_parts(
        base,
        floor_area_ft2=1700,
        services=(base.services[0].model_copy(update={"main_a": 100}),),
        panels=(main.model_copy(update={"rating_a": 100, "main_a": 100}),),
        **changes,
    )


def told(site, edition: str = "2023"):
    found = check_site(site, edition=edition, recheck=True).findings
    return {f.element_id: f for f in found if f.code == "demand-above-rating"}


@pytest.mark.parametrize("watch_id", ["grid", "main"])
@pytest.mark.parametrize(
    ("edition", "section"),
    [("2017", "750.30"), ("2020", "750.30"), ("2023", "220.70"), ("2026", "120.7")],
)
def test_a_setting_that_fits_with_what_it_cannot_shed_leaves_a_note(edition, section, watch_id):
    """80 A x 1.25 = 100 A on 100 A, wherever on the same conductors it measures."""
    found = told(house(80, watch_id=watch_id), edition)
    assert set(found) == {"grid", "main"}
    for one in found.values():
        assert one.severity == "note"
        assert "at 80 A, as a continuous load 100 A" in one.text
        assert section in one.text
        assert "Manage" not in one.mend
    free = told(house(None), edition)
    assert {f.severity for f in free.values()} == {"warning"}
    assert all("Manage" in f.mend for f in free.values())


def test_what_it_cannot_shed_is_the_load_without_its_circuits():
    (beside,) = [
        s
        for s in demand_of(
            house(80), "grid", rules=rulebook("2023"), without=frozenset({"car"})
        ).sheets
        if s.method == "optional"
    ]
    alone = house(80)
    alone = with_parts(alone, circuits=alone.circuits[:3], energy_groups=())
    same = demand_of(alone, "grid", rules=rulebook("2023")).sheet("optional")
    assert beside.total_va == pytest.approx(same.total_va)
    assert f"carry {beside.needed_a:.0f} A." in told(house(80))["grid"].text


def test_a_setting_too_high_is_set_to_what_fits():
    """90 A x 1.25 = 112.5 A; 100 A / 1.25 = 80 A."""
    one = told(house(90))["grid"]
    assert one.severity == "warning"
    assert one.mend.startswith("Set Car manager to 80 A or less")
    assert "Car manager set to 80 A" in one.recheck.said
    assert "only a note is left" in one.recheck.said


def test_what_it_cannot_shed_past_the_rating_is_asked_under_it():
    """By 220.82: 10,000 + 40 % of 16,100 + 65 % of 15,000 VA = 26,190, past 24,000 VA by 2,190."""
    one = told(house(80, heat_w=15_000))["grid"]
    assert one.severity == "warning"
    assert "Put 2,190 VA more of calculated load under Car manager" in one.mend


def test_a_bus_that_a_battery_feeds_too_is_not_held_by_what_the_service_passes():
    battery = Battery(id="b", name="Battery", panel_id="main", usable_kwh=10, inverter_kw=5)
    found = told(house(80, batteries=(battery,)))
    assert found["grid"].severity == "note"
    assert found["main"].severity == "warning"


def test_sheets_of_the_same_conductors_tell_of_it():
    for element_id in ("grid", "main"):
        site = house(80, watch_id="main")
        (element,) = [
            e for e in demand_report(site, rules=rulebook("2023")) if e.element_id == element_id
        ]
        sheet = element.sheet("optional")
        assert any("may stand for what passes here" in note for note in sheet.notes)


def held_garage(setting_a: float, watch_id: str, **changes):
    group = EnergyGroup(id="m", name="Car manager", setting_a=setting_a, watch_id=watch_id)
    return garage(2, plugs_w=1000, group=group, **changes)


def standing_of(site) -> dict[str, tuple[str, float, float]]:
    return {
        e.element_id: (one.place, one.asked_a, one.beside_a)
        for e in demand_report(site, rules=rulebook("2023"))
        for _, one in e.standing
    }


def test_a_setting_further_on_counts_with_the_rest_beside_it():
    """A tank of 4,500 W, 18.75 A, and 40 A x 1.25 = 50 A of the garage."""
    site = held_garage(40, "gf")
    found = standing_of(site)
    assert found["gf"][:2] == ("here", pytest.approx(50))
    assert found["garage"][:2] == ("here", pytest.approx(50))
    place, asked_a, beside_a = found["main"]
    cars = frozenset({"car0", "car1", "plugs"})
    rest = demand_of(site, "main", rules=rulebook("2023"), held_only=True, without=cars)
    assert place == "part"
    assert asked_a == pytest.approx(50 + min(s.needed_a for s in rest.sheets))
    assert beside_a >= asked_a - 50


def test_a_setting_ahead_holds_what_is_behind_it():
    found = standing_of(held_garage(60, "grid"))
    assert found["gf"][:2] == ("ahead", pytest.approx(75))
    assert found["main"][:2] == ("here", pytest.approx(75))


def test_a_set_that_feeds_a_panel_passes_by_a_setting_at_the_service():
    base = builders.backed_up_site(scenarios=())
    held = {"energy_group_id": "m", "outage_role": "managed"}
    group = EnergyGroup(id="m", name="M", setting_a=40, watch_id="grid")
    circuits = tuple(
        c.model_copy(update=held) if c.panel_id == "backed" else c for c in base.circuits
    )
    found = standing_of(with_parts(base, circuits=circuits, energy_groups=(group,)))
    assert "backed" not in found
    assert "set" not in found


@pytest.mark.parametrize("way", ["interlock", "turns"])
def test_a_manager_that_lets_one_run_at_a_time_holds_no_amperes(way):
    group = EnergyGroup(id="m", name="M", way=way, setting_a=40, watch_id="gf")
    assert not standing_of(garage(2, group=group))


@pytest.mark.parametrize(("panel", "held"), [("main", False), ("garage", False)])
def test_what_a_battery_gives_behind_a_setting_passes_by_it(panel, held):
    battery = Battery(id="b", name="Battery", panel_id=panel, usable_kwh=10, inverter_kw=5)
    site = with_parts(held_garage(60, "main"), batteries=(battery,))
    assert ("gf" in standing_of(site)) == held
    part = standing_of(with_parts(held_garage(60, "garage"), batteries=(battery,)))
    assert ("main" in part) == (panel == "main")
    assert ("gf" in part, "garage" in part) == ((panel == "main",) * 2)
    feeder = standing_of(with_parts(held_garage(60, "gf"), batteries=(battery,)))
    assert feeder["main"][0] == "part"
    assert feeder["gf"][0] == "here"
    assert ("garage" in feeder) == (panel == "main")


def test_the_wire_of_a_feeder_goes_by_the_setting_its_finding_goes_by():
    """Two cars and plugs ask for more than 100 A; 72 A x 1.25 = 90 A. 4 copper carries 85 A."""
    wires = {}
    for size in ("4", "3"):
        report = check_site(held_garage(72, "gf", size=size), edition="2023")
        (wires[size],) = [w for w in report.wiring if w.feeder_id == "gf"]
        (over,) = [
            f for f in report.findings if f.element_id == "gf" and f.code == "demand-above-rating"
        ]
        assert over.severity == "note"
        assert wires[size].held_working.value == pytest.approx(90)
        assert wires[size].load_advice is None
    assert wires["3"].segments[0].carries
    assert "90 A needed by a load brought down to the setting of Car manager" in (
        wires["4"].segments[0].why_not
    )
    free = check_site(held_garage(90, "gf"), edition="2023")
    (wire,) = [w for w in free.wiring if w.feeder_id == "gf"]
    assert wire.standing is None
    assert wire.load_advice.size == "1/0"
    assert wire.held_working.value == pytest.approx(100)


def test_no_setting_helps_where_the_rest_alone_is_past_the_rating():
    """Beside a garage held at 40 A, 50 A, an oven, tank and heat pass 60 A by themselves."""
    site = held_garage(40, "gf", main_a=60)
    oven = of_kind("oven", "main", (5, 7), "range-oven", load_w=12_000, breaker_a=50)
    heat = of_kind("heat", "main", (9, 11), "baseboard", load_w=15_000, breaker_a=80)
    site = with_parts(site, circuits=(*site.circuits, oven, heat))
    one = told(site)["grid"]
    assert one.severity == "warning"
    assert "Car manager" not in one.text + one.mend


def of_place(place="here", *, setting_a=80.0, rest_a=0.0, beside_a=0.0, factor=1.25):
    group = EnergyGroup(id="m", name="M", setting_a=setting_a, watch_id="x")
    return Standing(group, place, "X", factor=factor, rest_a=rest_a, beside_a=beside_a)


@pytest.mark.parametrize(
    ("given", "limit_a", "fits", "beside_fits", "most_a"),
    [
        ({}, 100, True, True, 80),  # 80 x 1.25 = 100 A
        ({"setting_a": 81}, 100, False, True, 80),  # 101.25 A
        ({"setting_a": 80.3}, 100, True, True, 80),  # 100.4 A, to the nearest ampere 100 A
        ({"beside_a": 100.4}, 100, True, True, 80),
        ({"beside_a": 100.5}, 100, False, False, 80),
        ({"rest_a": 20}, 100, False, True, 64),  # 100 + 20 A; 80 / 1.25 = 64
        ({"rest_a": 20}, 120, True, True, 80),
        ({"factor": 1.0, "setting_a": 100}, 100, True, True, 100),
        ({"rest_a": 101}, 100, False, True, -1),
    ],
)
def test_a_setting_and_what_it_cannot_shed_are_held_to_the_same_rating(
    given, limit_a, fits, beside_fits, most_a
):
    one = of_place(**given)
    assert (one.fits(limit_a), one.beside_fits(limit_a)) == (fits, beside_fits)
    assert one.most_a(limit_a) == most_a


def test_behind_a_device_listed_for_all_of_its_rating_a_setting_counts_whole():
    """80 A and not 100 A (215.3 exception 1)."""
    assert standing_of(held_garage(80, "gf", full_rated=True))["gf"][1] == 80
    assert standing_of(held_garage(80, "gf", full_rated=True))["garage"][1] == 100


def test_where_all_can_be_shed_nothing_is_left_beside_it():
    group = EnergyGroup(id="m", name="Car manager", setting_a=40, watch_id="gf")
    assert standing_of(garage(2, group=group))["gf"] == ("here", 50, 0)


def test_a_manager_that_can_shed_nothing_here_is_none():
    """Its cars are in the garage; the tank in the house it does not know."""
    site = held_garage(40, "main")
    no_cars = tuple(
        c.model_copy(update={"energy_group_id": None, "outage_role": "on"}) for c in site.circuits
    )
    tank = no_cars[0].model_copy(update={"energy_group_id": "m", "outage_role": "managed"})
    found = standing_of(with_parts(site, circuits=(tank, *no_cars[1:])))
    assert "main" in found
    assert "gf" not in found


@pytest.mark.parametrize("settings_a", [(72, 80), (80, 72)])
def test_of_two_managers_the_one_that_comes_to_least_is_told(settings_a):
    """72 x 1.25 = 90 A; the car of the other with its plugs is less."""
    groups = tuple(
        EnergyGroup(id=f"m{i}", name=f"Manager {i}", setting_a=a, watch_id="gf")
        for i, a in enumerate(settings_a)
    )
    site = garage(2, plugs_w=1000)
    held = {f"car{i}": {"energy_group_id": f"m{i}", "outage_role": "managed"} for i in (0, 1)}
    circuits = tuple(c.model_copy(update=held.get(c.id, {})) for c in site.circuits)
    found = standing_of(with_parts(site, circuits=circuits, energy_groups=groups))
    place, asked_a, beside_a = found["gf"]
    assert (place, asked_a) == ("here", pytest.approx(90))
    assert beside_a < 90


def test_each_sheet_says_where_it_is_measured_and_what_it_comes_to():
    def note(element_id: str, watch_id: str) -> str:
        report = demand_report(held_garage(60, watch_id), rules=rulebook("2023"))
        (element,) = [e for e in report if e.element_id == element_id]
        (words,) = [
            n for n in element.sheet("standard").notes if n.startswith("Car manager watches")
        ]
        return words

    assert "watches Garage feeder and holds it at 60 A, 75.0 A as" in note("gf", "gf")
    assert ", which carries the same as Garage feeder," in note("gf", "garage")
    ahead, part = note("gf", "grid"), note("main", "gf")
    assert "ahead of Garage feeder" in ahead
    assert "a part of what" in part
    assert "of the rest beside it make" in part
    for words in (ahead, part):
        assert "the conductors that are measured, so ask the authority" in words
