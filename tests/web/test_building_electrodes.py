"""The feeder schedule tells what joins the electrodes of a detached building."""

from __future__ import annotations

from starlette.testclient import TestClient

from server.store.sites import SiteStore
from tests.rules.test_building_electrodes import barn


def test_the_schedule_tells_it_of_each_building(browser: TestClient, sites: SiteStore):
    kept = sites.create(barn("4/0 aluminum"))
    page = browser.get(f"/sites/{kept.id}/wiring").text
    words = "of the building it comes to: 4 copper, 6 to rods alone or larger (250.32(E), 250.66)"
    assert words in page
