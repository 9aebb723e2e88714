"""A small charger behind a feeder: 220.57 (2023) counts 7,200 VA at least, its plate 2020 and 2026.

5,760 VA, 24 A, continuous: 24 x 1.25 = 30 A = 7,200 VA (625.41, 215.3). With 25 % on the 7,200 VA
again it would be 37.5 A.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind


def told(edition: str, *, load_w: float = 5760, feeder_a: float = 30, **changes):
    base = builders.normal_only_site(scenarios=())
    car = of_kind("car", "sub", (1, 3), "car-charger-24", load_w=load_w, breaker_a=30)
    site = with_parts(
        base,
        panels=(*base.panels, builders.panel("sub", rating_a=60)),
        feeders=(*base.feeders, builders.feeder("main", "sub", breaker_a=feeder_a)),
        circuits=(*base.circuits, car.model_copy(update=changes)),
    )
    found = check_site(site, edition=edition, recheck=False).findings
    return [f for f in found if f.code == "demand-above-rating" and f.value is not None]


def test_its_plate_with_25_percent_that_fits_leaves_a_note():
    (one,) = told("2023")
    assert one.value == pytest.approx(37.5)
    assert one.severity == "note"
    assert "7,200 VA (220.57)" in one.text
    assert "it is 30 A, which fits" in one.text


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
