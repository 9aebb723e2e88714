"""Energy-management settings: entered with the site, chosen by circuits."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in


def test_energy_management_is_entered_then_chosen_and_let_go(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table = f"/sites/{stored.id}/circuits"
    path = f"/sites/{stored.id}/settings"
    row = {"energy_groups.0.name": "Car and range", "energy_groups.0.setting_a": "60"}
    browser.post(path, data=form_in(browser.get(path).text, path) | row)
    (group,) = sites.get(stored.id).site.energy_groups
    assert (group.name, group.setting_a) == ("Car and range", 60)
    fields = form_in(browser.get(f"{table}/b").text, f"{table}/b")
    browser.post(f"{table}/b", data=fields | {"energy_group_id": group.id})
    assert sites.get(stored.id).site.circuit("b").energy_group_id == group.id
    fields = form_in(browser.get(path).text, path)
    browser.post(path, data=fields | dict.fromkeys(row, ""))
    site = sites.get(stored.id).site
    assert site.energy_groups == ()
    assert site.circuit("b").energy_group_id is None
