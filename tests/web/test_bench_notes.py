"""What the bench says beside whether the wire carries."""

from __future__ import annotations

import re

from fastapi.testclient import TestClient

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.store.sites import SiteStore


def test_what_is_asked_beside_the_wire_is_said(browser: TestClient, sites: SiteStore):
    farm = sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))

    def page(**typed: str) -> str:
        told = {"noncontinuous_a": "22", "pieces.0.run_ft": "50", **typed}
        answer = browser.get(f"/sites/{farm.id}/wiring/bench", params=told)
        assert answer.status_code == 200
        return re.sub(r"\s+", " ", answer.text)

    wrong = page(use="receptacles", device_a="25")
    assert '<p class="problem"><svg' in wrong
    assert "25 A is none of them." in wrong
    assert "; read the warning" in wrong
    seen_to = page(device_a="85")
    assert '<p class="note">85 A is no standard rating (240.6(A))' in seen_to
    assert "read the warning" not in seen_to
    refused = page(volts="480", neutral_a="10")
    assert 'data-field="neutral_a"' in refused
    assert "480 V was given" in refused


def test_a_ground_short_by_a_hair_is_said_as_the_findings_say_it(
    browser: TestClient, sites: SiteStore
):
    """66,360 / 41,740 × 16,510 = 26,248 circular mils, where 6 AWG has 26,240."""
    farm = sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))

    def page(size: str) -> str:
        told = {
            "noncontinuous_a": "60",
            "device_a": "70",
            "pieces.0.run_ft": "50",
            "pieces.0.size": size,
        }
        return browser.get(f"/sites/{farm.id}/wiring/bench", params=told).text

    words = "6 copper falls short of that by 0.03"
    assert words in page("2")
    assert words not in page("3")


def test_a_raceway_past_its_share_by_rounding_says_so(browser: TestClient, sites: SiteStore):
    """Six 8 AWG THHN are 41.2 % of a 3/4 in EMT of 40 % (Chapter 9 Tables 4 and 5, note 7)."""
    farm = sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))
    fields = {"noncontinuous_a": "30", "use": "service", "also.0.count": "4", "also.0.size": "8"}
    fields |= {"also.0.letters": "THHN", "pieces.0.letters": "THHN", "pieces.0.size": "8"}
    fields |= {"pieces.0.run_ft": "20", "pieces.0.kind": "emt", "pieces.0.trade_size": "3/4"}
    page = browser.get(f"/sites/{farm.id}/wiring/bench", params=fields).text
    assert "of 40 %, permitted by rounding (Chapter 9 Table 1 note 7)" in page
