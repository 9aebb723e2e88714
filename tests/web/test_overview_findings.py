"""The last section of the overview does not say that nothing is wrong under what blocks a house."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.domain.site import Site
from server.store.sites import SiteStore
from tests.builders import circuit, normal_only_site, scenario, with_parts


def last_section(browser: TestClient, sites: SiteStore, site: Site) -> str:
    page = browser.get(f"/sites/{sites.create(site).id}").text
    return page[page.index('id="findings-h"') :]


def house(loads: int) -> Site:
    """So many kilns of 18 kW on a service of 200 A."""
    kilns = tuple(
        circuit(f"kiln-{n}", "main", 4 * n + 1, 4 * n + 3, load_w=18000, breaker_a=100)
        for n in range(loads)
    )
    site = normal_only_site()
    return with_parts(site, circuits=kilns, scenarios=(scenario("out", outage_h=(0, 8)),))


def test_parts_over_their_rating_by_the_code_are_named_there(browser: TestClient, sites: SiteStore):
    shown = last_section(browser, sites, house(5))
    assert "more than the rating: they are not in this list" in shown
    assert "Nothing found" not in shown


def test_a_house_within_its_ratings_has_no_such_words(browser: TestClient, sites: SiteStore):
    shown = last_section(browser, sites, house(1))
    assert "not in this list" not in shown
