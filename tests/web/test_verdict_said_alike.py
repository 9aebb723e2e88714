"""The answer of a scenario on the lists: what stands against the house is said there too."""

from __future__ import annotations

import html

from fastapi.testclient import TestClient

from server.simulate.run import cached_run
from server.store.sites import SiteStore
from server.web.overview import verdict_of_run
from tests.rules.test_managers_planned import held


def test_the_lists_of_findings_and_scenarios_say_what_the_overview_says(
    browser: TestClient, sites: SiteStore
):
    stored = sites.create(held(planned=True))
    said = verdict_of_run(cached_run(stored.site, stored.site.scenario("out"))).answer
    assert said.startswith("Holds in this run, but it counts on a load manager")
    root = f"/sites/{stored.id}"
    for page in (root, f"{root}/findings", f"{root}/scenarios"):
        assert said.rstrip(".") in html.unescape(browser.get(page).text), page
