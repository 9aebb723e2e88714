"""A farm's service is held against its rating by the sheet of Part V (220.100), not by another."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.wiring.feeder import governing
from tests.builders import with_parts

TANSY = read_site_file((DEMOS / "flower-farm.json").read_bytes())


@pytest.mark.parametrize("edition", ["2017", "2020", "2023", "2026"])
def test_a_service_too_small_for_the_farm_is_found_by_the_farm_s_own_sheet(edition):
    (service,) = TANSY.services
    site = with_parts(TANSY, services=(service.model_copy(update={"main_a": 150}),))
    report = check_site(site, edition=edition)
    sheets = next(d for d in report.demand if d.element_id == service.id)
    optional = next(s for s in sheets.sheets if s.method == "optional")
    chosen = governing(sheets)
    assert chosen.method == "farm"
    assert chosen.needed_a > optional.needed_a + 1.0
    (found,) = [
        f for f in report.findings if f.code == "demand-above-rating" and f.element_id == service.id
    ]
    assert found.value == pytest.approx(chosen.needed_a, abs=0.5)
    assert f"{chosen.needed_a:.0f} A" in found.text
    # By 220.83 the loads of the farm would count at 40 %, as those of no dwelling may (220.102).
    existing = next(s for s in sheets.sheets if s.method == "existing")
    assert existing.needed_a < found.value
    assert "its own method" not in found.text


@pytest.mark.parametrize("edition", ["2017", "2020", "2023", "2026"])
def test_a_farm_that_fits_by_the_dwelling_s_steps_alone_is_not_told_that_it_may(edition):
    (service,) = TANSY.services
    existing = next(
        s
        for d in check_site(TANSY, edition=edition, recheck=False).demand
        if d.element_id == service.id
        for s in d.sheets
        if s.method == "existing"
    )
    main_a = round(existing.needed_a) + 1
    site = with_parts(TANSY, services=(service.model_copy(update={"main_a": main_a}),))
    (found,) = [
        f
        for f in check_site(site, edition=edition, recheck=False).findings
        if f.code == "demand-above-rating" and f.element_id == service.id
    ]
    assert "its own method" not in found.text
