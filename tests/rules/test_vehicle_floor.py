"""A small charger behind a feeder: 220.57 (2023) counts 7,200 VA at least, its plate 2020 and 2026.

5,760 VA, 24 A, continuous: 24 x 1.25 = 30 A = 7,200 VA (625.41, 215.3). With 25 % on the 7,200 VA
again it would be 37.5 A.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind


def told(edition: str, **built):
    found = check_site(garage(**built), edition=edition, recheck=False).findings
    return [f for f in found if f.code == "demand-above-rating" and f.value is not None]


def garage(*, load_w: float = 5760, feeder_a: float = 30, cars: int = 1, **changes):
    base = builders.normal_only_site(scenarios=())
    car = [
        of_kind(f"car{i}", "sub", (4 * i + 1, 4 * i + 3), "car-charger-24", load_w=load_w,
                breaker_a=30)
        for i in range(cars)
    ]  # fmt: skip
    return with_parts(
        base,
        panels=(*base.panels, builders.panel("sub", rating_a=100)),
        feeders=(*base.feeders, builders.feeder("main", "sub", breaker_a=feeder_a)),
        circuits=(*base.circuits, *(c.model_copy(update=changes) for c in car)),
    )


def test_its_plate_with_25_percent_that_fits_leaves_a_note():
    (one,) = told("2023")
    assert one.value == pytest.approx(37.5)
    assert one.severity == "note"
    assert "7,200 VA (220.57)" in one.text
    assert "it is 30 A, which fits" in one.text
    assert "25 %" in one.text


@pytest.mark.parametrize("edition", ["2020", "2026"])
def test_by_the_plate_alone_nothing_is_said(edition):
    assert told(edition) == []


def test_a_plate_that_does_not_fit_stays_a_warning():
    """7,000 VA: 7,000 x 1.25 = 8,750 VA, 36.5 A, past 30 A."""
    (one,) = told("2023", load_w=7000)
    assert one.severity == "warning"
    assert "safe reading" not in one.text


def test_past_the_rating_by_the_plate_too_it_stays_a_warning():
    """30 A by the plate on 25 A."""
    assert [f.severity for f in told("2023", feeder_a=25)] == ["warning"]


def noted(edition: str, **built) -> list[str]:
    element = demand_of(garage(**built), "main-sub", rules=rulebook(edition))
    return [n for n in element.sheet("standard").notes if "put on that again" in n]


@pytest.mark.parametrize(
    ("built", "words"),
    [
        ({}, "it is 30.0 A, which fits the 30 A here."),
        ({"feeder_a": 25}, "it is 30.0 A, which is above the 25 A here."),
        ({"feeder_a": 40}, "it is 30.0 A."),
        # 1.25 x 7,000 = 8,750 VA.
        ({"load_w": 7000}, "it is 36.5 A, which is above the 30 A here."),
        # 1.25 x 2,400 = 3,000 VA, under the least of 7,200 VA.
        ({"load_w": 2400}, "it is 30.0 A, which fits the 30 A here."),
        (
            {"cars": 2, "feeder_a": 60},
            "on each plate alone, and no less than with the 7,200 VA, it is 60.0 A, which",
        ),
    ],
)
def test_the_sheet_says_that_the_least_load_is_raised_again(built, words):
    (note,) = noted("2023", **built)
    assert "7,200 VA" in note
    assert "and 25 % for three hours or longer is put on that again" in note
    assert words in note


def test_a_plate_of_the_least_load_is_raised_once():
    """7,200 VA x 1.25 = 9,000 VA, 37.5 A, is what 625.41 asks."""
    assert noted("2023", load_w=7200) == []
    assert noted("2020") == noted("2026") == []
    (one,) = told("2023", load_w=7200)
    assert one.severity == "warning"


def test_two_chargers_that_fit_by_their_plates_leave_a_note_of_both():
    (one,) = told("2023", cars=2, feeder_a=60)
    assert one.severity == "note"
    assert "count here at 7,200 VA each (220.57)" in one.text
    assert "it is 60 A, which fits" in one.text


def test_a_power_factor_below_one_raises_the_plate():
    """5,760 W at 0.9 are 6,400 VA, x 1.25 = 8,000 VA, 33.3 A: past 30 A, within 35 A."""
    site = garage(feeder_a=30)
    car = site.circuits[-1]
    low = car.appliances[0].model_copy(update={"power_factor": 0.9})
    site = with_parts(
        site, circuits=(*site.circuits[:-1], car.model_copy(update={"appliances": (low,)}))
    )
    found = [f for f in check_site(site, edition="2023").findings if f.element_id == "main-sub"]
    (over,) = [f for f in found if f.code == "demand-above-rating"]
    assert over.severity == "warning"


def test_behind_a_device_listed_for_all_of_its_rating_no_25_percent_is_told():
    """7,200 VA are 30 A, which fit 30 A in full."""
    site = garage(feeder_a=25)
    full = tuple(f.model_copy(update={"full_rated": True}) for f in site.feeders)
    found = check_site(with_parts(site, feeders=full), edition="2023").findings
    (over,) = [f for f in found if f.code == "demand-above-rating" and f.value is not None]
    assert over.value == pytest.approx(30)
    assert "safe reading" not in over.text


def two_cars_at_home(main_a: float, **changes):
    """1,500 ft2, two plug circuits of a kitchen, laundry, range, water heater, dryer, two cars."""
    kinds = (
        ("counter-1", (1,), "kitchen-plugs", {}),
        ("counter-2", (3,), "kitchen-plugs", {}),
        ("wash", (5,), "washer", {}),
        ("range", (2, 4), "range-oven", {"load_w": 11_500}),
        ("tank", (6, 8), "water-heater", {"load_w": 4500}),
        ("dryer", (10, 12), "dryer", {"load_w": 5000}),
        ("car-1", (14, 16), "car-charger-24", {"load_w": 5760}),
        ("car-2", (18, 20), "car-charger-24", {"load_w": 5760}),
    )
    circuits = tuple(of_kind(i, "main", spaces, kind, **own) for i, spaces, kind, own in kinds)
    service = builders.service(main_a=main_a)
    panel = builders.panel("main", main_a=main_a, neutral_bonded=True)
    return builders.normal_only_site(
        scenarios=(), floor_area_ft2=1500, circuits=circuits, zones=HOUSE,
        services=(service,), panels=(panel,), **changes,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("method", "plain_va", "with_25_va"),
    [
        # 4,500 + 4,500 + 21,000 + 14,400 = 44,400 VA: 10,000 + 0.4 x 34,400.
        ("optional", 23_760, 23_760 - 0.4 * 2_880 + 0.25 * 11_520),
        # 8,000 + 0.4 x 36,400.
        ("existing", 22_560, 22_560 - 0.4 * 2_880 + 0.25 * 11_520),
    ],
)
def test_steps_take_the_plate_and_25_percent_is_of_the_whole_of_it(method, plain_va, with_25_va):
    sheet = demand_of(two_cars_at_home(100), "grid", rules=rulebook("2023")).sheet(method)
    assert sheet.total_va == pytest.approx(plain_va)
    uneven = sheet.leg_a / (plain_va / 240)
    least, most = with_25_va / 240, with_25_va / 240 * uneven
    assert least - 0.01 <= sheet.plate_needed_a <= most + 0.01
    assert sheet.plate_needed_a > sheet.leg_a + 5


def test_a_warning_stays_where_the_plates_with_their_25_percent_do_not_fit():
    """25,488 VA are 106.2 A by the optional method, past 100 A; 110 A hold it."""
    found = check_site(two_cars_at_home(100), edition="2023", recheck=False).findings
    (over,) = [f for f in found if f.code == "demand-above-rating" and f.element_id == "grid"]
    assert over.severity == "warning"
    assert "safe reading" not in over.text
    found = check_site(two_cars_at_home(110), edition="2023", recheck=False).findings
    (over,) = [f for f in found if f.code == "demand-above-rating" and f.element_id == "grid"]
    assert over.severity == "note"


def test_a_large_and_a_small_charger_are_each_taken_by_their_own():
    """7,200 VA, and 1.25 x 7,000 = 8,750 VA: 66.5 A."""
    site = garage(cars=2, feeder_a=60)
    first = site.circuits[-2].appliances[0].model_copy(update={"load_w": 2400})
    second = site.circuits[-1].appliances[0].model_copy(update={"load_w": 7000})
    cars = (
        site.circuits[-2].model_copy(update={"appliances": (first,)}),
        site.circuits[-1].model_copy(update={"appliances": (second,)}),
    )
    site = with_parts(site, circuits=(*site.circuits[:-2], *cars))
    sheet = demand_of(site, "main-sub", rules=rulebook("2023")).sheet("standard")
    assert sheet.plate_needed_a == pytest.approx((7200 + 8750) / 240)
