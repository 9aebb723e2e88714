"""Pages of a house with a load past every standard rating."""

from __future__ import annotations

import pytest

from tests import builders
from tests.rules.check_sites import HOUSE, of_kind


@pytest.mark.parametrize("sheet", ["demand", "wiring", "findings", "findings/tried"])
def test_each_sheet_opens(browser, sites, sheet):
    loads = tuple(
        of_kind(f"kiln-{n}", "backed", (n, n + 2), "heat-strip", load_w=1_000_000)
        for n in (9, 13, 17)
    )
    house = builders.backed_up_site(scenarios=(), zones=HOUSE, circuits=loads)
    stored = sites.create(house)
    answer = browser.get(f"/sites/{stored.id}/{sheet}")
    assert answer.status_code == 200
    if sheet == "demand":
        assert "none so large" in answer.text
    if sheet == "findings":
        assert "no standard rating is so large" in answer.text
