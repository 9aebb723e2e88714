"""New circuits without a nameplate beside a measured demand (220.87: "plus the new load")."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests import builders
from tests.rules.check_sites import of_kind
from tests.rules.test_demand_as_entered import line, new, recorded

COUNTER = of_kind("counter", "main", (1,), "kitchen-plugs", breaker_a=20)
WASHER = of_kind("wash", "main", (3,), "washer", breaker_a=20)


def rooms(circuit_id="rooms", panel_id="main", space=5):
    return of_kind(circuit_id, panel_id, (space,), "plugs", breaker_a=15)


MEASURED_VA = 15_000  # 1.25 x 12 kVA
ADDED_FT2 = 400.0


def measured(site, edition="2023"):
    sheet = demand_of(site, "grid", rules=rulebook(edition)).sheet("measured")
    assert sheet is not None
    return sheet


def addition(*more, area_ft2=ADDED_FT2):
    panels = (
        builders.panel("main", main_a=100, neutral_bonded=True),
        builders.panel("added", floor_area_ft2=area_ft2),
    )
    feeders = (builders.feeder("grid", "main"), builders.feeder("main", "added", breaker_a=60))
    return recorded(rooms(), new(rooms("own", "added")), *more, panels=panels,
                    feeders=feeders)  # fmt: skip


@pytest.mark.parametrize(("circuit", "section"), [(COUNTER, "220.52(A)"), (WASHER, "220.52(B)")])
def test_a_new_kitchen_or_laundry_circuit_is_1500_va_of_new_load(circuit, section):
    sheet = measured(recorded(new(circuit)))
    assert sheet.total_va == MEASURED_VA + 1500
    assert sheet.lines[-1].cite.section == section
    assert sheet.complete


def test_new_circuits_of_both_kinds_each_count():
    """1.25 x 12,000 + 2 x 1,500 + 1,500 = 19,500 VA."""
    second = of_kind("second", "main", (7,), "kitchen-plugs", breaker_a=20)
    sheet = measured(recorded(new(COUNTER), new(second), new(WASHER)))
    assert sheet.total_va == 19_500
    assert line(sheet, "New small-appliance circuits").note == "Circuit counter and Circuit second"


def test_what_was_there_before_is_in_the_record():
    assert measured(recorded(COUNTER, WASHER, rooms())).total_va == MEASURED_VA


def test_new_lights_and_plugs_without_an_area_are_said_to_be_left_out():
    sheet = measured(recorded(new(rooms())))
    assert sheet.total_va == MEASURED_VA
    assert not sheet.complete
    assert "not counted" in sheet.missing[0]
    assert "Circuit rooms" in sheet.missing[0]
    assert "3 VA for each square foot" in sheet.missing[0]


@pytest.mark.parametrize(("edition", "per_ft2"), [("2020", 3), ("2023", 3), ("2026", 2)])
def test_a_panel_of_new_rooms_alone_counts_its_area(edition, per_ft2):
    sheet = measured(addition(), edition)
    assert sheet.total_va == MEASURED_VA + per_ft2 * ADDED_FT2
    assert sheet.complete


def test_a_panel_with_old_rooms_too_does_not_tell_what_area_is_new():
    sheet = measured(addition(rooms("there", "added", 7)))
    assert sheet.total_va == MEASURED_VA
    assert not sheet.complete


def test_a_new_circuit_that_feeds_nothing_yet_is_asked_about():
    empty = builders.circuit("spare", "main", 9, is_new=True, appliances=())
    assert "Circuit spare" in " ".join(measured(recorded(empty)).missing)


def test_a_record_with_new_load_untold_does_not_clear_the_warning():
    kiln = of_kind("kiln", "main", (11, 13), "heat-strip", load_w=30_000, breaker_a=125)

    def over(*circuits):
        return next(f for f in check_site(recorded(*circuits)).findings
                    if f.code == "demand-above-rating" and f.element_id == "grid")  # fmt: skip

    assert over(kiln).severity == "note"
    assert over(kiln, new(rooms())).severity == "warning"
    assert "still asks for" in over(kiln, new(rooms())).text
