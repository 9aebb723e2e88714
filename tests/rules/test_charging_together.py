"""Chargers that share power: 625.42(A) has the maximum load that their management lets on.

625.40 exception (2023): a branch circuit may feed several as 625.42 permits; charging is a
continuous load. Source: captaincode2023.leviton.com/node/357.
"""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.domain.supply import EnergyGroup
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests.builders import with_parts
from tests.rules.check_sites import of_kind, plain

CODES = ("charging-together", "device-below-load", "vehicle-not-alone", "branch-wire-small")


def pair(group: EnergyGroup | None = None, *, beside: str = "", breaker_a: float = 60):
    """Two chargers of 48 A on one circuit of 60 A, 4 copper; 48 x 1.25 = 60 A."""
    one = of_kind("cars", "main", (1, 3), "car-charger-48", breaker_a=breaker_a)
    other = KINDS["car-charger-48"].appliance("other").model_copy(update={"name": "Second car"})
    more = (KINDS[beside].appliance("beside"),) if beside else ()
    held = {"energy_group_id": group.id, "outage_role": "managed"} if group else {}
    one = one.model_copy(
        update={
            "appliances": (*one.appliances, other, *more),
            "wire_size": "4",
            "is_new": True,
            **held,
        }
    )
    return plain(one, energy_groups=(group,) if group else ())


def manager(setting_a: float | None = 48, **changes) -> EnergyGroup:
    return EnergyGroup(id="m", name="Charging manager", setting_a=setting_a, **changes)


def told(site, edition="2023"):
    found = check_site(site, edition=edition, recheck=False).findings
    return {f.code: f for f in found if f.element_id == "cars" and f.code in CODES}


@pytest.mark.parametrize(
    ("edition", "section"),
    [
        ("2017", "625.42"),
        ("2020", "625.42"),
        ("2023", "625.40 exception, 625.42(A)"),
        ("2026", "625.40 exception, 625.42(A)"),
    ],
)
def test_breaker_and_wire_are_held_to_what_the_manager_lets_on(edition, section):
    found = told(pair(manager()), edition)
    one = found.pop("charging-together")
    assert not found
    assert (one.severity, one.section) == ("note", section)
    assert "ask for 120.0 A. Charging manager lets on 48 A of it, 60.0 A as" in one.text
    assert bool(one.local) == (edition in ("2017", "2020"))


def test_without_one_they_are_summed_and_sharing_is_asked_about():
    found = told(pair())
    assert found["device-below-load"].value == pytest.approx(120)
    assert "share power between them" in found["vehicle-not-alone"].mend
    assert "charging-together" not in found


def test_a_setting_above_the_breaker_is_past_it():
    """60 A x 1.25 = 75 A on 60 A."""
    found = told(pair(manager(60)))
    assert found["device-below-load"].value == pytest.approx(75)


def test_what_the_manager_holds_is_not_said_to_run_together():
    """Two of 24 A held at 20 A on 25 A: 20 x 1.25 = 25 A; 48 A never run."""
    site = pair(manager(20), breaker_a=25)
    small = KINDS["car-charger-24"]
    cars = tuple(
        small.appliance(a.id).model_copy(update={"name": a.name})
        for a in site.circuits[0].appliances
    )
    held = site.circuits[0].model_copy(update={"appliances": cars})
    found = told(with_parts(site, circuits=(held,)))
    assert "charging-together" in found
    assert "device-below-load" not in found


def test_a_setting_of_all_they_draw_holds_nothing():
    found = told(pair(manager(96), breaker_a=125))
    assert "charging-together" not in found


@pytest.mark.parametrize(
    "group",
    [
        manager(watch_id="grid"),
        manager(None, off_on_generator=True),
        manager(way="turns"),
        manager(way="interlock"),
    ],
)
def test_a_manager_that_holds_other_amperes_holds_none_of_these(group):
    found = told(pair(group))
    assert found["device-below-load"].value == pytest.approx(120)
    assert "charging-together" not in found


def test_with_something_else_on_the_circuit_nothing_is_taken_off():
    found = told(pair(manager(), beside="water-heater"))
    assert "charging-together" not in found
    assert found["device-below-load"].value > 120


def sheet_of(site):
    return demand_of(site, "grid", rules=rulebook("2023")).sheet("standard")


def test_a_sheet_says_what_counts_where_chargers_share():
    free = sheet_of(pair())
    assert any("count together" in note and "625.42(A)" in note for note in free.notes)
    held = sheet_of(pair(manager()))
    assert not any("count together" in note for note in held.notes)
    assert free.total_va - held.total_va == pytest.approx(11_520)
    alone = pair()
    (both,) = alone.circuits
    one = both.model_copy(update={"appliances": both.appliances[:1]})
    assert not any(
        "count together" in n for n in sheet_of(with_parts(alone, circuits=(one,))).notes
    )


def test_the_sheet_names_the_chargers_that_no_manager_holds_and_nothing_else():
    def notes(site):
        sheet = demand_of(site, "main", rules=rulebook("2023")).sheet("standard")
        return [n for n in sheet.notes if "count together. Where they share" in n]

    (note,) = notes(pair(beside="water-heater"))
    cars = [a.name for a in pair().circuit("cars").appliances]
    assert note.startswith(f"{cars[0]} and {cars[1]} count together.")
    assert notes(pair(manager())) == []
