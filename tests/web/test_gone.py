"""A form whose part somebody else deleted meanwhile comes back as typed, to be saved as new."""

from __future__ import annotations

import re

import pytest

from server.domain.edits import put_scenario, remove_circuit, remove_scenario, with_changes
from tests.builders import scenario
from tests.web.conftest import form_in

NEW = "deleted meanwhile. What you typed stands here"


def saved(sites, stored, site):
    now = sites.get(stored.id)
    return sites.save(stored.id, site, base_revision=now.revision, label="Somebody")


def without_appliances(site, circuit_id):
    bare = site.circuit(circuit_id).model_copy(update={"appliances": ()})
    circuits = tuple(bare if c.id == circuit_id else c for c in site.circuits)
    return with_changes(site, circuits=circuits)


@pytest.fixture
def loaded(stored):
    """A circuit that has an appliance."""
    return next(c for c in stored.site.circuits if c.appliances)


def test_a_deleted_scenario_is_saved_again_with_what_was_typed(browser, sites, stored):
    stored = saved(sites, stored, put_scenario(stored.site, scenario("eve")))
    here = f"/sites/{stored.id}/scenarios/eve/edit"
    typed = form_in(browser.get(here).text, here) | {"name": "New Year’s Eve", "span_h": "7.5"}
    saved(sites, stored, remove_scenario(stored.site, "eve"))
    answer = browser.post(here, data=typed)
    assert answer.status_code == 409
    assert f"New Year’s Eve was {NEW}" in answer.text
    assert "Save as a new scenario" in answer.text
    again = form_in(answer.text, here)
    assert (again["name"], again["span_h"]) == ("New Year’s Eve", "7.5")
    wrong = browser.post(here, data=again | {"span_h": "long"})
    assert wrong.status_code == 422
    assert form_in(wrong.text, here)["name"] == "New Year’s Eve"
    more = browser.post(here, data=again | {"act": "rows"})
    assert form_in(more.text, here)["name"] == "New Year’s Eve"
    done = browser.post(here, data=again)
    assert (done.status_code, done.headers["location"]) == (303, here.removesuffix("/edit"))
    kept = sites.get(stored.id).site.scenario("eve")
    assert (kept.name, kept.span_h) == ("New Year’s Eve", 7.5)


def test_a_scenario_that_never_was_cannot_be_named_by_an_odd_address(browser, stored):
    for odd in ("A%20b", "%3Cscript%3E", "x" * 60):
        here = f"/sites/{stored.id}/scenarios/{odd}/edit"
        assert browser.post(here, data={"name": "x", "again": "on"}).status_code in {404, 422}


def test_a_deleted_appliance_comes_back_as_a_new_one(browser, sites, stored, loaded):
    root = f"/sites/{stored.id}/circuits/{loaded.id}"
    here = f"{root}/appliances/{loaded.appliances[0].id}"
    typed = form_in(browser.get(here).text, here) | {"name": "Big kettle"}
    saved(sites, stored, without_appliances(stored.site, loaded.id))
    answer = browser.post(here, data=typed)
    assert answer.status_code == 409
    assert f"Big kettle was {NEW}" in answer.text
    again = form_in(answer.text, f"{root}/new-appliance")
    assert again["name"] == "Big kettle"
    assert browser.post(f"{root}/new-appliance", data=again).status_code == 303
    assert [a.name for a in sites.get(stored.id).site.circuit(loaded.id).appliances] == [
        "Big kettle"
    ]


@pytest.mark.parametrize("new", [True, False])
def test_an_appliance_whose_circuit_is_deleted_goes_onto_another(
    browser, sites, stored, loaded, new
):
    root = f"/sites/{stored.id}/circuits/{loaded.id}"
    here = f"{root}/new-appliance" if new else f"{root}/appliances/{loaded.appliances[0].id}"
    typed = form_in(browser.get(here).text, here) | {"name": "Big kettle", "volts": "120"}
    site = remove_circuit(stored.site, loaded.id)
    saved(sites, stored, site)
    answer = browser.post(here, data=typed)
    assert answer.status_code == 409
    assert f"The circuit of Big kettle was {NEW}" in answer.text
    first = site.circuits[0]
    there = f"/sites/{stored.id}/circuits/{first.id}/new-appliance"
    other = next(c for c in site.circuits if c.id != first.id)
    again = form_in(answer.text, there) | {"onto": other.id}
    assert again["name"] == "Big kettle"
    assert browser.post(there, data=again).status_code == 303
    assert "Big kettle" in [a.name for a in sites.get(stored.id).site.circuit(other.id).appliances]


def test_an_appliance_with_no_circuit_left_is_refused_in_words(browser, sites, stored, loaded):
    here = f"/sites/{stored.id}/circuits/{loaded.id}/new-appliance"
    typed = form_in(browser.get(here).text, here) | {"name": "Big kettle"}
    site = stored.site
    for circuit in site.circuits:
        site = remove_circuit(site, circuit.id)
    saved(sites, stored, site)
    answer = browser.post(here, data=typed)
    assert answer.status_code == 404
    assert "no other is left" in answer.text


def test_a_traced_breaker_that_is_deleted_comes_back_as_a_new_circuit(
    browser, sites, stored, loaded
):
    here = f"/sites/{stored.id}/survey/breakers/{loaded.id}"
    typed = form_in(browser.get(here).text, here) | {"name": "Attic plugs", "note": "by the stair"}
    saved(sites, stored, remove_circuit(stored.site, loaded.id))
    answer = browser.post(here, data=typed)
    assert answer.status_code == 409
    assert f"Attic plugs was {NEW}" in answer.text
    there = f"/sites/{stored.id}/new-circuit"
    again = form_in(answer.text, there)
    assert (again["name"], again["note"]) == ("Attic plugs", "by the stair")
    assert browser.post(there, data=again).status_code == 303
    names = [c.name for c in sites.get(stored.id).site.circuits]
    assert names.count("Attic plugs") == 1
    assert not re.search("Traceback", answer.text)
