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
from server.rules.editions import rulebook
from tests.builders import with_parts
from tests.rules.check_sites import of_kind, plain


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
        sheet = demand_of(house(80, watch_id="main"), element_id, rules=rulebook("2023")).sheet(
            "optional"
        )
        assert any("may stand for what passes here" in note for note in sheet.notes)
