"""The days of the week on which a car leaves, on the form of its charger."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.domain.behaviour import Charger
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in


def test_days_a_car_leaves_are_ticked_and_unticked(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    """A box that is not ticked is not sent; the hidden field before it says no."""
    path = f"/sites/{stored.id}/circuits/f/appliances/f-load"
    fields = form_in(browser.get(path).text, path) | {"behaviour.model": "charger"}
    fields = form_in(browser.post(path, data=fields | {"act": "model"}).text, path)
    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    assert all(fields[f"behaviour.leaves.{day}"] == "on" for day in days)
    weekend = {"behaviour.leaves.sat": "off", "behaviour.leaves.sun": "off"}
    assert browser.post(path, data=fields | weekend).status_code == 303
    car = sites.get(stored.id).site.circuit("f").appliances[0].behaviour
    assert isinstance(car, Charger)
    assert car.leaves.days == (0, 1, 2, 3, 4)
    again = form_in(browser.get(path).text, path)
    assert [day for day in days if again[f"behaviour.leaves.{day}"] == "on"] == list(days[:5])
    assert browser.post(path, data=again | {"behaviour.leaves.sun": "on"}).status_code == 303
    car = sites.get(stored.id).site.circuit("f").appliances[0].behaviour
    assert isinstance(car, Charger)
    assert car.leaves.days == (0, 1, 2, 3, 4, 6)
