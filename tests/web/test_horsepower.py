"""A motor's horsepower as its plate has it."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in, problem_at


@pytest.mark.parametrize(
    ("typed", "horsepower"),
    [
        ("1/2", 0.5),
        ("½ hp", 0.5),
        ("1-1/2", 1.5),
        ("1 1/2 HP", 1.5),
        ("1/3", 0.3333),
        ("0.75", 0.75),
    ],
)
def test_horsepower_is_taken_as_a_plate_has_it(
    browser: TestClient, sites: SiteStore, stored: StoredSite, typed: str, horsepower: float
):
    path = f"/sites/{stored.id}/circuits/f/appliances/f-load"
    fields = form_in(browser.get(path).text, path) | {"horsepower": typed}
    assert browser.post(path, data=fields).status_code == 303
    assert sites.get(stored.id).site.circuit("f").appliances[0].horsepower == horsepower


def test_what_is_no_horsepower_is_told_at_its_field_and_kept(
    browser: TestClient, stored: StoredSite
):
    path = f"/sites/{stored.id}/circuits/f/appliances/f-load"
    fields = form_in(browser.get(path).text, path) | {"horsepower": "1/0"}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert "Write a number" in problem_at(answer.text, "horsepower")
    assert form_in(answer.text, path)["horsepower"] == "1/0"
