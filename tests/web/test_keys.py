from __future__ import annotations

from fastapi.testclient import TestClient

from server.web.keys import PLACES


def test_every_key_stands_on_its_page_and_in_its_dialog(browser: TestClient):
    page = browser.get("/help/keys").text
    part = browser.get(
        "/help/keys", headers={"HX-Request": "true", "HX-Request-Type": "partial"}
    ).text
    assert "<html" in page
    assert "<html" not in part
    for place in PLACES:
        assert place.name in page
        for key in place.keys:
            assert key.does in page
            assert key.does in part


def test_help_leads_to_the_keys(browser: TestClient):
    assert 'href="/help/keys"' in browser.get("/help").text
