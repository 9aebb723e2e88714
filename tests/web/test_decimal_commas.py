"""A comma that groups no thousands is asked again, never dropped."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import problem_at
from tests.web.test_bench import on_bench
from tests.web.test_circuit_rows import PARTS, entry, rows_of


@pytest.mark.parametrize("load", ["1,5", "40,0", "1_0"])
def test_a_decimal_comma_is_no_thousand(browser: TestClient, stored: StoredSite, load: str):
    page = on_bench(browser, stored, noncontinuous_a=load)
    assert "Write a number: 0 to 6,000 A." in problem_at(page, "noncontinuous_a")
    assert load in page
    grouped = on_bench(browser, stored, noncontinuous_a="1,500")
    assert "Write a number" not in problem_at(grouped, "noncontinuous_a")


def test_a_decimal_comma_in_watts_is_asked_again(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    before = len(sites.get(stored.id).site.circuits)
    fields = entry(browser, stored) | {"name": "Kiln", "load_w": "1,5"}
    answer = browser.post(rows_of(stored), data=fields, headers=PARTS)
    assert "Write the watts as a number below 1,000,000" in answer.text
    assert "1,5" in answer.text
    assert len(sites.get(stored.id).site.circuits) == before
