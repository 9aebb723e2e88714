"""Circuits taken off a set that transfers by itself, in ways that the code counts."""

from __future__ import annotations

import pytest

from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.check import check_site
from server.rules.checks.loads import most_held_a
from server.rules.demand.report import demand_of
from server.rules.mends.taken_off import by_hand_instead, taken_off
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    generator,
    scenario,
    whole_house_site,
    with_parts,
)
from tests.rules.check_sites import HOUSE, RULES, of_kind


def heavy(panel_id: str, first: int, circuit_id: str = "kiln", load_w: float = 11_000, **changes):
    defaults = {"outage_role": "off", "breaker_a": 60, "load_class": "comfort"}
    things = (appliance(f"{circuit_id}-load", load_w, volts=240),)
    return circuit(circuit_id, panel_id, first, first + 2, appliances=things, **defaults | changes)


def backed(*more) -> Site:
    """600 + 1,800 + 2,400 VA transfer to 10 kW, 40.9 A a leg, beside what is given."""
    base = backed_up_site(scenarios=(), generators=(generator(rated_kw=10),))
    return with_parts(base, circuits=(*base.circuits, *more))


def whole(*more) -> Site:
    """1,200 VA on L1 and 600 VA on L2 transfer to 10 kW beside what is given."""
    base = whole_house_site(scenarios=(), generators=(generator(rated_kw=10),))
    return with_parts(base, circuits=(*base.circuits[:2], *more))


def carried_a(site: Site) -> float:
    return most_held_a(site, demand_of(site, "set", rules=RULES))


def over(site: Site) -> dict[str, Finding]:
    found = check_site(site, recheck=True).findings
    return {f.element_id: f for f in found if f.code == "demand-above-rating"}


def test_a_set_that_holds_has_nothing_taken_off() -> None:
    assert taken_off(backed(), "set") is None


def test_what_is_only_set_to_stay_off_counts_and_goes_where_no_set_feeds_it() -> None:
    """11,000 VA are 46 A of a leg that has 40.9; what is left is what it was without them."""
    site = backed(heavy("backed", 9))
    assert carried_a(site) - carried_a(backed()) == 46
    found = taken_off(site, "set")
    assert found is not None
    assert [c.id for c in found.moved] == ["kiln"]
    assert (found.kept_off, found.managed) == ((), ())
    assert found.words == "Circuit kiln moved to Panel main"
    assert found.site.circuit("kiln").panel_id == "main"
    assert carried_a(found.site) == carried_a(backed())
    assert "set" not in over(found.site)


def test_where_no_other_panel_is_a_manager_keeps_it_off_as_the_run_has_it() -> None:
    """1,800 VA over 240 V and half of the 600 VA by which the legs differ over 120 V: 10 A."""
    site = whole(heavy("main", 9))
    found = taken_off(site, "set")
    assert found is not None
    assert [c.id for c in found.kept_off] == ["kiln"]
    assert (found.moved, found.managed) == ((), ())
    (group,) = found.site.energy_groups
    assert group.off_on_generator
    assert found.site.circuit("kiln").outage_role == "off"
    assert carried_a(found.site) == 10


def test_what_runs_goes_under_a_manager_at_what_the_set_leaves_over_1_25() -> None:
    """40.9 A over 1.25 for what runs for hours are 32 A."""
    site = backed(heavy("backed", 9, outage_role="on"))
    found = taken_off(site, "set")
    assert found is not None
    assert [c.id for c in found.managed] == ["kiln"]
    (group,) = found.site.energy_groups
    assert (group.setting_a, group.watch_id) == (32, "set")
    assert found.words == "Circuit kiln under listed load management set to 32 A"


def test_what_is_off_goes_before_what_runs_and_what_can_wait_before_what_matters() -> None:
    """1,800 + 3 x 6,000 VA; a leg with one of them has 10 + 25 A of 40.9, with two 60."""
    three = [
        heavy("main", 9, "idle", 6000),
        heavy("main", 13, "waits", 6000, outage_role="on", load_class="deferrable"),
        heavy("main", 17, "matters", 6000, outage_role="on", load_class="important"),
    ]
    found = taken_off(whole(*three), "set")
    assert found is not None
    assert "idle" in {c.id for c in found.kept_off}
    assert {c.id for c in found.managed} == {"waits"}
    assert found.site.circuit("matters").outage_role == "on"


@pytest.mark.parametrize("kind", ["well-pump", "sump-pump", "refrigerator", "heat-pump"])
def test_water_food_and_the_last_heat_go_after_what_is_wanted_and_matters(kind: str) -> None:
    """Either of the two taken off is enough: it is the one that matters, not the one needed."""
    spaces = (9, 11) if kind in {"well-pump", "heat-pump"} else (9,)
    needed = of_kind("needed", "main", spaces, kind).model_copy(
        update={"load_class": "deferrable", "outage_role": "off"}
    )
    matters = heavy("main", 13, "matters", 7200, load_class="important")
    site = with_parts(whole(), circuits=(*whole().circuits, needed, matters), zones=HOUSE)
    found = taken_off(site, "set")
    assert found is not None
    assert {c.id for c in found.kept_off} == {"matters"}


@pytest.mark.parametrize("role", ["on", "off"])
def test_what_must_be_served_is_never_taken_off(role: str) -> None:
    site = whole(heavy("main", 9, outage_role=role, load_class="must_serve"))
    assert taken_off(site, "set") is None


def test_what_a_scenario_keeps_off_goes_first_too() -> None:
    day = scenario(outage_h=(2, 5), kept_off=({"circuit_id": "kiln"},))
    site = with_parts(whole(heavy("main", 9, outage_role="on")), scenarios=(day,))
    found = taken_off(site, "set")
    assert found is not None
    assert [c.id for c in found.kept_off] == ["kiln"]


def test_by_hand_what_is_left_off_does_not_count() -> None:
    site = whole(heavy("main", 9))
    offer = by_hand_instead(site, "set")
    assert offer is not None
    assert offer.words == "the transfer of Transfer switch made by hand"
    assert "set" not in over(offer.site)
    on = whole(heavy("main", 9, outage_role="on"))
    offer = by_hand_instead(on, "set")
    assert offer is not None
    assert offer.words.endswith("and Circuit kiln kept off until switched on by hand")


def test_the_finding_says_that_off_is_a_habit_and_its_mend_is_tried() -> None:
    found = over(whole(heavy("main", 9)))["set"]
    assert "Circuit kiln counts in it though a person is to keep it off" in found.text
    assert "that is a habit" in found.text
    assert found.recheck is not None
    assert found.recheck.clears
    assert found.recheck.change == (
        "Circuit kiln kept off by a listed load manager while the generator runs"
    )
    runs = over(whole(heavy("main", 9, outage_role="on")))["set"]
    assert "habit" not in runs.text
