"""Demand by what a site itself says: energy-managed groups and measured records."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from server.domain.catalogue import KINDS
from server.domain.supply import DemandRecord, EnergyGroup
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.wiring.feeder import governing
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES, of_kind, plain, solar_site

RECORD = DemandRecord(
    service_id="grid", kind="recording", peak_kva=12, days=30, interval_min=15,
    seasonal_included=True,
)  # fmt: skip


def held(setting_a, *, kind="car-charger-48"):
    car = of_kind("car", "main", (1, 3), kind, breaker_a=60)
    group = EnergyGroup(id="pcs", name="Car setting", setting_a=setting_a)
    return plain(car.model_copy(update={"energy_group_id": "pcs"}), energy_groups=(group,))


def line(sheet, label):
    return next(one for one in sheet.lines if one.label == label)


@pytest.mark.parametrize("method", ["standard", "optional", "existing"])
def test_a_group_counts_at_its_setting_in_every_method(method):
    """20 A x 240 V = 4,800 VA, in place of the 48 A x 240 V = 11,520 VA it holds."""
    sheet = demand_of(held(20), "grid", rules=RULES).sheet(method)
    assert sheet is not None
    assert line(sheet, "Car setting").demand_va == 4800
    assert line(sheet, "Car setting").note == (
        f"holds {KINDS['car-charger-48'].name}; counts as continuous (220.70, verified)"
    )
    assert not any(one.label == KINDS["car-charger-48"].name for one in sheet.lines)


def two_cars(setting_a):
    """Two cars of 48 A, two dryers of 5 kW and a tank of 4.5 kW in a house of 1,500 ft²."""
    tank = of_kind("tank", "main", (5, 7), "water-heater", load_w=4500)
    dryers = [
        of_kind(f"dryer{n}", "main", (9 + 4 * n, 11 + 4 * n), "dryer", load_w=5000)
        for n in range(2)
    ]
    cars = [
        of_kind(f"car{n}", "main", (2 + 4 * n, 4 + 4 * n), "car-charger-48", breaker_a=60)
        for n in range(2)
    ]
    if setting_a is None:
        return plain(tank, *dryers, *cars)
    group = EnergyGroup(id="pcs", name="Car setting", setting_a=setting_a)
    held_cars = [c.model_copy(update={"energy_group_id": "pcs"}) for c in cars]
    return plain(tank, *dryers, *held_cars, energy_groups=(group,))


@pytest.mark.parametrize(
    ("method", "setting_a", "total_va", "by_setting_va", "more_a"),
    [
        # 9,000 + 4,500 + 10,000 VA and the cars, 23,040: 10,000 + 40 % of 36,540, and 25 % of 96 A.
        # Held at 60 A: 10,000 + 40 % of 13,500 + 14,400 = 29,800, and 25 % of 60 A.
        ("optional", None, 24_616, None, 24.0),
        ("optional", 60, 24_616, 29_800, 24.0),
        # Held at 40 A: 15,400 + 9,600 = 25,000, more volt-amperes; with 25 % of 40 A less amps.
        ("optional", 40, 25_000, None, 10.0),
        # 8,000 + 40 % of 38,540, or 8,000 + 40 % of 15,500 + 14,400.
        ("existing", 60, 23_416, 28_600, 24.0),
    ],
)
def test_a_manager_raises_no_load(method, setting_a, total_va, by_setting_va, more_a):
    """A setting may be counted and need not be (220.70): the lesser of the two is held."""
    site = two_cars(setting_a)
    whole = demand_of(site, "grid", rules=RULES).sheet(method)
    alone = demand_of(site, "grid", rules=RULES, held_only=True).sheet(method)
    for sheet in (whole, whole if method == "existing" else alone):
        assert sheet is not None
        assert sheet.total_va == pytest.approx(total_va)
        assert sheet.needed_a - sheet.leg_a == pytest.approx(more_a)
        said = [note for note in sheet.notes if "counts for less as any other load" in note]
        assert len(said) == (by_setting_va is not None)
        if by_setting_va is not None:
            assert any("our safe reading" in note for note in sheet.notes)
            assert f"{total_va:,.0f} VA in all, and {by_setting_va:,.0f} VA by its" in said[0]


def test_what_a_setting_holds_is_counted_in_full_and_no_reading_is_told():
    sheet = demand_of(two_cars(40), "grid", rules=RULES).sheet("optional")
    assert sheet is not None
    assert not any("our safe reading" in note for note in sheet.notes)


def test_by_the_standard_method_a_setting_is_the_lesser():
    sheet = demand_of(two_cars(60), "grid", rules=RULES).sheet("standard")
    assert sheet is not None
    assert line(sheet, "Car setting").demand_va == 14_400
    assert not any("counts for less" in note for note in sheet.notes)


def test_a_setting_above_what_it_holds_counts_what_it_holds():
    sheet = demand_of(held(80), "grid", rules=RULES).sheet("standard")
    assert sheet is not None
    assert line(sheet, "Car setting").demand_va == pytest.approx(48 * 240, rel=0.01)
    assert "together below its setting of 19,200 VA" in line(sheet, "Car setting").note


def test_a_car_under_a_setting_stays_continuous():
    """4,800 VA is held for three hours or more, so 25 % of 20 A is added for the device."""
    sheet = demand_of(held(20), "grid", rules=RULES).sheet("standard")
    assert sheet is not None
    assert sheet.needed_a - sheet.leg_a == pytest.approx(0.25 * 20)


def test_a_circuit_held_by_no_group_that_is_here_is_refused():
    car = of_kind("car", "main", (1, 3), "car-charger-48")
    with pytest.raises(ValidationError, match="no load manager here"):
        plain(car.model_copy(update={"energy_group_id": "pcs"}))


def recorded(*circuits, record=RECORD, main_a=100, **changes):
    services = (builders.service(main_a=main_a),)
    return plain(*circuits, services=services, demand_records=(record,), **changes)


def new(circuit):
    return circuit.model_copy(update={"is_new": True})


def test_what_is_new_is_added_to_125_percent_of_the_record():
    """1.25 x 12,000 = 15,000 VA and a new 48 A car, 11,520 VA: 26,520 VA / 240 V = 110.5 A.

    Its device: 110.5 + 0.25 x 48 = 122.5 A. What stood there before is in the record.
    """
    site = recorded(
        new(of_kind("car", "main", (1, 3), "car-charger-48")),
        of_kind("dryer", "main", (5, 7), "dryer"),
    )
    sheet = demand_of(site, "grid", rules=RULES).sheet("measured")
    assert sheet is not None
    assert [one.demand_va for one in sheet.lines] == [15_000, pytest.approx(11_520)]
    assert sheet.amps == pytest.approx(110.5)
    assert sheet.needed_a == pytest.approx(122.5)
    assert not sheet.fits


def test_of_new_heating_and_new_cooling_only_the_larger_is_added():
    site = recorded(
        new(of_kind("heat", "main", (1, 3), "heat-strip", load_w=5000)),
        new(of_kind("air", "main", (5, 7), "central-air", load_w=3000)),
    )
    sheet = demand_of(site, "grid", rules=RULES).sheet("measured")
    assert sheet is not None
    assert [one.demand_va for one in sheet.lines] == [15_000, 5_000]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"net_metered": True}, "Net-metered"),
        ({"peak_shaving": True}, "peak shaving"),
        ({"days": 29}, "30 days or more"),
        ({"interval_min": 60}, "15 minutes or less"),
        ({"kind": "year", "days": 365, "interval_min": 1440}, "no maximum demand"),
        ({"seasonal_included": False}, "larger of heating and cooling"),
        ({"kind": "year", "days": 300}, "365 days or more"),
    ],
)
def test_a_barred_record_is_refused_with_its_reason(change, words):
    site = recorded(record=RECORD.model_copy(update=change))
    demand = demand_of(site, "grid", rules=RULES)
    assert demand.sheet("measured") is None
    assert any(words in r.reason for r in demand.refusals if r.method == "measured")


def test_solar_behind_the_meter_bars_the_recording_and_not_a_year_of_load_data():
    site = with_parts(solar_site(), demand_records=(RECORD,))
    demand = demand_of(site, "grid", rules=RULES)
    assert any("barred where there is solar" in r.reason for r in demand.refusals)
    year = RECORD.model_copy(update={"kind": "year", "days": 365, "interval_min": 60})
    sheet = demand_of(with_parts(site, demand_records=(year,)), "grid", rules=RULES).sheet(
        "measured"
    )
    assert sheet is not None
    assert [n for n in sheet.notes if "net of it" in n and "net-metered" in n]
    plain = demand_of(recorded(record=year), "grid", rules=RULES).sheet("measured")
    assert plain is not None
    assert not [n for n in plain.notes if "net of it" in n]
    assert [n for n in plain.notes if "Means over 60 minutes read lower" in n]


def test_a_record_is_heard_where_all_of_the_service_passes_and_nowhere_else():
    """220.87: of a feeder or a service. One load has one verdict."""
    panels = (
        builders.panel("main", rating_a=100, main_a=100, neutral_bonded=True),
        builders.panel("sub", rating_a=100),
    )
    feeders = (
        builders.feeder("grid", "main"),
        builders.feeder("main", "sub", breaker_a=60, spaces=(18, 20)),
    )
    tank = of_kind("tank", "sub", (1, 3), "water-heater")
    kiln = of_kind("kiln", "main", (1, 3), "heat-strip", load_w=30_000, breaker_a=125)
    site = recorded(kiln, tank, panels=panels, feeders=feeders)
    heard = {i: demand_of(site, i, rules=RULES) for i in ("grid", "grid-main", "main")}
    for element_id, demand in heard.items():
        sheet = demand.sheet("measured")
        assert sheet is not None
        assert sheet.element_id == element_id
        assert sheet.needed_a == pytest.approx(62.5)  # 1.25 x 12,000 VA / 240 V
    for element_id in ("sub", "main-sub"):
        assert demand_of(site, element_id, rules=RULES).sheet("measured") is None
    over = {f.element_id: f.severity for f in check_site(site).findings
            if f.code == "demand-above-rating"}  # fmt: skip
    assert over == {"grid": "note", "main": "note"}
    barred = demand_of(
        recorded(kiln, record=RECORD.model_copy(update={"days": 29})), "main", rules=RULES
    )
    assert not barred.refusals or all(r.method != "measured" for r in barred.refusals)


def test_a_record_of_one_service_is_none_of_another():
    services = (builders.service(main_a=100), builders.service("grid2", main_a=100))
    panels = (
        builders.panel("main", rating_a=100, main_a=100, neutral_bonded=True),
        builders.panel("barn", rating_a=100, main_a=100, neutral_bonded=True),
    )
    feeders = (builders.feeder("grid", "main"), builders.feeder("grid2", "barn"))
    kiln = of_kind("kiln", "main", (1, 3), "heat-strip", load_w=8_000, breaker_a=125)
    site = plain(kiln, services=services, panels=panels, feeders=feeders, demand_records=(RECORD,))
    assert demand_of(site, "main", rules=RULES).sheet("measured") is not None
    assert demand_of(site, "barn", rules=RULES).sheet("measured") is None
    assert demand_of(site, "grid2", rules=RULES).sheet("measured") is None


def test_a_record_that_fits_turns_the_warning_into_a_note_and_never_governs():
    kiln = of_kind("kiln", "main", (1, 3), "heat-strip", load_w=30_000, breaker_a=125)
    without = recorded(kiln, record=RECORD.model_copy(update={"days": 10}))
    site = recorded(kiln)

    def over(of):
        return [f.severity for f in check_site(of).findings if f.code == "demand-above-rating"
                and f.element_id == "grid"]  # fmt: skip

    assert over(without) == ["warning"]
    assert over(site) == ["note"]
    assert governing(demand_of(site, "grid", rules=RULES)).method != "measured"


@pytest.mark.parametrize("service_id", ["main", "grid-2"])
def test_a_record_of_no_service_is_refused(service_id):
    with pytest.raises(ValidationError, match="not here"):
        recorded(record=RECORD.model_copy(update={"service_id": service_id}))


def test_two_records_of_one_service_are_refused():
    with pytest.raises(ValidationError, match="One record for each service"):
        with_parts(recorded(), demand_records=(RECORD, RECORD))


def test_a_floor_area_of_0_is_asked_about():
    site = builders.normal_only_site(floor_area_ft2=0)
    sheet = demand_of(site, "grid", rules=RULES).sheet("standard")
    assert not sheet.complete
    assert any("0 ft² is entered" in q for q in sheet.missing)
    told = builders.normal_only_site(floor_area_ft2=1)
    whole = demand_of(told, "grid", rules=RULES).sheet("standard")
    assert not any("0 ft²" in q for q in whole.missing)
