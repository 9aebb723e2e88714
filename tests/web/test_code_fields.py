"""Figures the published rules ask for, typed on their pages."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.rules.check_sites import of_kind, plain
from tests.web.conftest import form_in


@pytest.fixture
def cooled(sites: SiteStore) -> StoredSite:
    return sites.create(plain(of_kind("ac", "main", (1, 3), "central-air", breaker_a=40)))


def test_a_plate_that_is_typed_is_checked(
    browser: TestClient, sites: SiteStore, cooled: StoredSite
):
    action = f"/sites/{cooled.id}/circuits/ac/appliances/ac-load"
    fields = form_in(browser.get(action).text, action)
    assert fields["min_circuit_a"] == fields["max_device_a"] == ""
    fields |= {"min_circuit_a": "21.5", "max_device_a": "35"}
    assert browser.post(action, data=fields).status_code == 303
    unit = sites.get(cooled.id).site.circuit("ac").appliances[0]
    assert (unit.min_circuit_a, unit.max_device_a) == (21.5, 35)
    assert "allows a breaker of 35 A at most" in browser.get(f"/sites/{cooled.id}/findings").text


@pytest.mark.parametrize("typed", ["thirty", "-5", "9999"])
def test_a_plate_that_cannot_be_is_refused_beside_its_field(
    browser: TestClient, cooled: StoredSite, typed: str
):
    action = f"/sites/{cooled.id}/circuits/ac/appliances/ac-load"
    fields = form_in(browser.get(action).text, action) | {"max_device_a": typed}
    answer = browser.post(action, data=fields)
    assert answer.status_code == 422
    assert 'id="p-max_device_a"' in answer.text
    assert f'value="{typed}"' in answer.text


def test_wire_and_the_mark_of_a_new_circuit_are_kept(
    browser: TestClient, sites: SiteStore, cooled: StoredSite
):
    action = f"/sites/{cooled.id}/circuits/ac"
    fields = form_in(browser.get(action).text, action)
    fields |= {"wire_size": "8", "wire_metal": "copper", "is_new": "on"}
    assert browser.post(action, data=fields).status_code == 303
    circuit = sites.get(cooled.id).site.circuit("ac")
    assert (circuit.wire_size, circuit.is_new) == ("8", True)
    assert form_in(browser.get(action).text, action)["wire_size"] == "8"


def test_a_circuit_form_keeps_its_place_and_its_outlets(
    browser: TestClient, sites: SiteStore, cooled: StoredSite
):
    action = f"/sites/{cooled.id}/circuits/ac"
    fields = form_in(browser.get(action).text, action)
    assert (fields["place"], fields["plug_outlets"]) == ("dwelling", "")
    fields |= {"place": "common_area", "plug_outlets": "3"}
    assert browser.post(action, data=fields).status_code == 303
    circuit = sites.get(cooled.id).site.circuit("ac")
    assert (circuit.place, circuit.plug_outlets) == ("common_area", 3)
    refused = browser.post(
        action, data=form_in(browser.get(action).text, action) | {"plug_outlets": "3.5"}
    )
    assert refused.status_code == 422
    assert sites.get(cooled.id).site.circuit("ac").plug_outlets == 3
