"""What the runs say on the findings sheet: each dark circuit once, and where its harms stand."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.sites import SiteStore
from tests.builders import backed_up_site, scenario, with_parts
from tests.rules.check_sites import of_kind


def test_findings_name_each_dark_circuit_once_and_link_the_harm_clock(
    browser: TestClient, sites: SiteStore
):
    base = backed_up_site()
    needed = [c.model_copy(update={"load_class": "must_serve"}) for c in base.circuits]
    food = [of_kind(f"box-{n}", "main", (n,), "refrigerator") for n in (9, 11, 13, 15, 17)]
    food = [c.model_copy(update={"load_class": "must_serve"}) for c in food]
    day = scenario("out", span_h=12, outage_h=(1, 11))
    site = with_parts(base, circuits=(*needed, *food), scenarios=(day,))
    stored = sites.create(site)
    text = browser.get(f"/sites/{stored.id}/findings").text
    section = text[text.index("From the simulation") :].partition('<form class="picker')[0]
    assert "dark longer than they can wait too" not in section
    for one in food:
        assert section.count(f"{one.name} (Refrigerator) is without power") == 1
    assert "the harm clock lists them" in section
    assert f'href="/sites/{stored.id}/scenarios/out#harms"' in section
