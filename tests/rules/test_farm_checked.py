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
