"""The cautions of a form stand where the danger is entered, before the site has such a part."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.domain.cautions import CAUTIONS
from server.simulate.run import cached_run
from server.simulate.summary import cautions_of
from server.store.sites import SiteStore
from tests.builders import backed_up_site, normal_only_site, scenario, with_parts


def shown(page: str) -> set[str]:
    return {key for key, caution in CAUTIONS.items() if str(caution.text) in page}


@pytest.mark.parametrize(
    ("kind", "keys"),
    [
        ("generator", {"backfeed", "exhaust", "co-alarms", "fuel", "propane", "gas", "siting"}),
        ("solar", {"solar"}),
        ("double-throw", {"throwing"}),
        ("transfer-switch", {"backfeed"}),
    ],
)
def test_a_new_part_carries_what_entering_it_asks_for(
    browser: TestClient, sites: SiteStore, kind: str, keys: set[str]
):
    root = f"/sites/{sites.create(normal_only_site()).id}"
    assert not keys & shown(browser.get(f"{root}/new-part/panel").text)
    assert keys <= shown(browser.get(f"{root}/new-part/{kind}").text)


def test_the_sources_of_a_new_house_carry_those_of_every_fuel(browser: TestClient):
    page = browser.get("/start", params={"way": "whole-house", "step": "sources"})
    assert {"backfeed", "exhaust", "fuel", "propane", "gas", "siting"} <= shown(page.text)


def test_a_scenario_form_carries_those_of_its_empty_rows(browser: TestClient, sites: SiteStore):
    """No outage and no stop is entered yet; the form has rows for both."""
    site = with_parts(backed_up_site(), scenarios=(scenario("calm"),))
    root = f"/sites/{sites.create(site).id}"
    for page in ("scenarios/calm/edit", "scenarios/new"):
        keys = shown(browser.get(f"{root}/{page}").text)
        assert {"refuel", "oil", "restoration", "food", "flood", "co-alarms", "result"} <= keys


@pytest.mark.parametrize(
    ("fuel", "keys"),
    [
        ("propane", {"propane", "oil"}),
        ("natural_gas", {"gas", "oil"}),
        ("gasoline", {"fuel", "oil"}),
    ],
)
def test_a_run_carries_the_same_cautions_on_the_page_and_elsewhere(
    browser: TestClient, sites: SiteStore, fuel: str, keys: set[str]
):
    base = backed_up_site()
    sets = (base.generators[0].model_copy(update={"fuel": fuel, "tank": None}),)
    stored = sites.create(with_parts(base, generators=sets))
    run = cached_run(stored.site, stored.site.scenario("out"))
    told = {c.key for c in cautions_of(run)}
    assert keys <= told
    assert told <= shown(browser.get(f"/sites/{stored.id}/scenarios/out").text)
