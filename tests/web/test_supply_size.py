"""A set larger than homes have, typed on Supply."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.sites import SiteStore, StoredSite
from tests.web.conftest import form_in


def test_a_slip_of_the_point_is_asked_about_as_it_is_saved(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path)
    page = browser.post(path, data=fields | {"rated_kw": "220"}, follow_redirects=True).text
    assert "Is it 22 kW, or watts for kilowatts?" in page
    assert sites.get(stored.id).site.generators[0].rated_kw == 220
