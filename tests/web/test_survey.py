"""The survey: breakers traced one by one, and clamp readings beside the run."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.survey import trace_panels
from tests.web.conftest import form_in, problem_at


def test_tracing_a_breaker_keeps_what_was_found_and_goes_to_the_next(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    order = [row.circuit.id for group in trace_panels(stored.site) for row in group.rows]
    here = f"/sites/{stored.id}/survey/breakers/{order[0]}"
    fields = form_in(browser.get(here).text, here)
    answer = browser.post(here, data=fields | {"traced": "unsure", "area": "Hall", "note": "hot"})
    assert answer.status_code == 303
    assert answer.headers["location"].endswith(f"/breakers/{order[1]}")
    found = sites.get(stored.id).site.circuit(order[0])
    assert (found.traced, found.area, found.note) == ("unsure", "Hall", "hot")
    page = browser.get(f"/sites/{stored.id}/survey").text
    assert f"0 of {len(order)} traced, 1 unsure" in page
    assert "Next to trace" in page


def test_a_wrong_name_is_told_beside_it_and_keeps_the_note(browser: TestClient, stored: StoredSite):
    here = f"/sites/{stored.id}/survey/breakers/{stored.site.circuits[0].id}"
    fields = form_in(browser.get(here).text, here)
    answer = browser.post(here, data=fields | {"name": "", "note": "doubled wire", "traced": "x"})
    assert answer.status_code == 422
    assert problem_at(answer.text, "name")
    assert "doubled wire" in answer.text
    assert "Traced" in answer.text


def test_saving_a_circuits_figures_keeps_its_trace(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    circuit_id = stored.site.circuits[0].id
    here = f"/sites/{stored.id}/survey/breakers/{circuit_id}"
    browser.post(here, data=form_in(browser.get(here).text, here) | {"traced": "traced"})
    form = f"/sites/{stored.id}/circuits/{circuit_id}"
    assert browser.post(form, data=form_in(browser.get(form).text, form)).status_code == 303
    assert sites.get(stored.id).site.circuit(circuit_id).traced == "traced"


def test_a_reading_is_kept_compared_and_deleted(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here = f"/sites/{stored.id}/survey/clamp"
    start = stored.site.scenarios[0].start.strftime("%Y-%m-%dT%H:%M")
    typed = {"element_id": "grid", "at": start, "l1_a": "999", "l2_a": "0", "note": "cold"}
    fields = form_in(browser.get(here).text, f"{here}/readings")
    assert browser.post(f"{here}/readings", data=fields | typed).status_code == 303
    page = browser.get(here).text
    assert "L1 read 999.0 A; the model has at most" in page
    gone = f"{here}/readings/{sites.get(stored.id).site.clamp_readings[0].id}/delete"
    assert browser.post(gone, data=form_in(page, gone)).status_code == 303
    assert not sites.get(stored.id).site.clamp_readings


def test_a_wrong_reading_is_told_beside_its_field_and_loses_nothing(
    browser: TestClient, stored: StoredSite
):
    here = f"/sites/{stored.id}/survey/clamp"
    fields = form_in(browser.get(here).text, f"{here}/readings")
    for wrong in ({"l1_a": "-4"}, {"l1_a": "many"}, {"at": "noon"}, {"element_id": "attic"}):
        typed = {"l1_a": "5", "l2_a": "6", "note": "kept"} | wrong
        answer = browser.post(f"{here}/readings", data=fields | typed)
        assert answer.status_code == 422
        assert problem_at(answer.text, next(iter(wrong)))
        assert 'value="kept"' in answer.text
