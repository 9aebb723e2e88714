"""The day that one works on stays in the links of sheets that have none of their own."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.store.sites import SiteStore


def test_a_sheet_without_a_day_leads_back_to_the_one_last_looked_at(
    browser: TestClient, sites: SiteStore
):
    farm = sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))
    other = sites.create(read_site_file((DEMOS / "bungalow.json").read_bytes()))
    day = farm.site.scenarios[2].id
    assert f'href="/sites/{farm.id}"' in browser.get(f"/sites/{farm.id}/circuits").text
    browser.get(f"/sites/{farm.id}/buses?scenario={day}")
    page = browser.get(f"/sites/{farm.id}/circuits").text
    assert f'href="/sites/{farm.id}?scenario={day}"' in page
    assert f'href="/sites/{farm.id}/buses?scenario={day}"' in page
    assert f'href="/sites/{other.id}"' in browser.get(f"/sites/{other.id}/circuits").text
