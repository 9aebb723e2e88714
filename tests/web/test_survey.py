"""The survey: breakers traced one by one, and clamp readings beside the run."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from fastapi.testclient import TestClient

from server.domain.behaviour import Hourly
from server.domain.catalogue import KINDS
from server.domain.edits import put_circuit
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.store.tables import PHOTOS
from server.web.survey_list import trace_panels
from tests.builders import appliance, circuit, normal_only_site, scenario, with_parts
from tests.grown import grown
from tests.photos import jpeg, png
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


def test_who_says_what_went_dark_has_traced_it_and_is_told(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    first = stored.site.circuits[0].id
    here = f"/sites/{stored.id}/survey/breakers/{first}"
    fields = form_in(browser.get(here).text, here) | {"traced": "not_yet"}
    on = browser.post(here, data=fields | {"note": "warm"}).headers["location"]
    assert "it still counts as not traced" in browser.get(on).text
    assert sites.get(stored.id).site.circuit(first).traced == "not_yet"
    on = browser.post(here, data=fields | {"area": "Hall", "revision": "2"}).headers["location"]
    assert "traced since you said what went dark" in browser.get(on).text
    assert sites.get(stored.id).site.circuit(first).traced == "traced"
    browser.post(here, data=fields | {"area": "Hall", "revision": "3"})
    assert sites.get(stored.id).site.circuit(first).traced == "not_yet"


def test_a_medical_device_is_named_in_the_list_and_at_its_breaker(
    browser: TestClient, sites: SiteStore
):
    lungs = appliance("o2", 350, kind="oxygen-concentrator", name="Oxygen at the bed")
    bedroom = circuit("bed", "main", 1, appliances=(lungs,))
    stored = sites.create(normal_only_site(circuits=(bedroom,)))
    page = browser.get(f"/sites/{stored.id}/survey").text
    assert "Oxygen at the bed: ask before you switch it off" in page
    assert (
        "<b>Oxygen at the bed.</b>" in browser.get(f"/sites/{stored.id}/survey/breakers/bed").text
    )


def test_what_keeps_cold_is_to_run_again_and_has_no_battery_to_carry_it(
    browser: TestClient, sites: SiteStore
):
    box = KINDS["freezer"].appliance("ice")
    garage = circuit("garage", "main", 1, appliances=(box,), load_class="must_serve")
    stored = sites.create(normal_only_site(circuits=(garage,)))
    listed = browser.get(f"/sites/{stored.id}/survey").text
    assert "Chest freezer: see that it runs again" in listed
    page = browser.get(f"/sites/{stored.id}/survey/breakers/garage").text
    assert "<b>Chest freezer.</b> Minutes without power do no harm, doors shut." in page
    assert "battery or supply carries over" not in page


def test_a_guess_of_what_goes_dark_stands_beside_the_field_and_is_not_saved_as_found(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    first = stored.site.circuits[0].model_copy(update={"area": "Kitchen, by the plan"})
    sites.save(stored.id, put_circuit(stored.site, first), base_revision=1, label="Guessed")
    here = f"/sites/{stored.id}/survey/breakers/{first.id}"
    page = browser.get(here).text
    fields = form_in(page, here)
    assert fields["area"] == ""
    assert "The plan guesses: Kitchen, by the plan." in page
    browser.post(here, data=fields | {"traced": "not_yet", "note": "behind the shelf"})
    assert sites.get(stored.id).site.circuit(first.id).area == "Kitchen, by the plan"
    browser.post(here, data=fields | {"traced": "traced", "revision": "3"})
    assert sites.get(stored.id).site.circuit(first.id).area == ""
    browser.post(here, data=fields | {"traced": "traced", "area": "Hall", "revision": "4"})
    page = browser.get(here).text
    assert form_in(page, here)["area"] == "Hall"
    assert "The plan guesses" not in page


def test_a_wrong_name_is_told_beside_it_and_keeps_the_note(browser: TestClient, stored: StoredSite):
    here = f"/sites/{stored.id}/survey/breakers/{stored.site.circuits[0].id}"
    fields = form_in(browser.get(here).text, here)
    answer = browser.post(here, data=fields | {"name": "", "note": "doubled wire", "traced": "x"})
    assert answer.status_code == 422
    assert problem_at(answer.text, "name")
    assert "doubled wire" in answer.text
    assert answer.text.count('href="#f-') == 2


def test_saving_a_circuits_figures_keeps_its_trace_and_its_photo(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    circuit_id = stored.site.circuits[0].id
    here = f"/sites/{stored.id}/survey/breakers/{circuit_id}"
    send(browser, here, jpeg(640, 480), traced="traced")
    form = f"/sites/{stored.id}/circuits/{circuit_id}"
    assert browser.post(form, data=form_in(browser.get(form).text, form)).status_code == 303
    kept = sites.get(stored.id).site.circuit(circuit_id)
    assert kept.traced == "traced"
    assert kept.photo


def breaker_path(stored: StoredSite) -> tuple[str, str]:
    """Address and id of the first breaker there is."""
    circuit_id = stored.site.circuits[0].id
    return f"/sites/{stored.id}/survey/breakers/{circuit_id}", circuit_id


def send(browser: TestClient, here: str, picture: bytes, **typed: str):
    fields = form_in(browser.get(here).text, here) | typed
    return browser.post(here, data=fields, files={"picture": ("../IMG_1.jpg", picture)})


def test_a_photo_is_kept_shown_taken_away_and_brought_back(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here, circuit_id = breaker_path(stored)
    assert send(browser, here, jpeg(640, 480), area="Hall").status_code == 303
    photo = sites.get(stored.id).site.circuit(circuit_id).photo
    assert photo
    address = f"/sites/{stored.id}/survey/photos/{photo}"
    page = browser.get(here).text
    assert f'<img src="{address}" width="640" height="480"' in page
    assert browser.get(address).content == jpeg(640, 480)
    assert "with a photo" in browser.get(f"/sites/{stored.id}/survey").text

    browser.post(here, data=form_in(page, here))
    assert sites.get(stored.id).site.circuit(circuit_id).photo == photo
    browser.post(here, data=form_in(page, here) | {"no_photo": "on", "revision": "2"})
    assert sites.get(stored.id).site.circuit(circuit_id).photo is None
    assert browser.get(address).status_code == 404
    sites.undo(stored.id)
    assert browser.get(address).content == jpeg(640, 480)


def test_a_photo_is_served_as_a_picture_and_can_run_nothing(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here, circuit_id = breaker_path(stored)
    send(browser, here, jpeg(640, 480) + b"<script>alert(1)</script>")
    photo = sites.get(stored.id).site.circuit(circuit_id).photo
    answer = browser.get(f"/sites/{stored.id}/survey/photos/{photo}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["content-security-policy"].startswith("default-src 'none'; sandbox")


def test_a_file_that_is_no_photo_is_told_beside_it_and_loses_nothing(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here, circuit_id = breaker_path(stored)
    for file in (b"<html><script>1</script>", b"", jpeg(640, 480)[:60], png(60_000, 60_000)):
        answer = send(browser, here, file, note="doubled wire")
        assert answer.status_code == 422
        assert problem_at(answer.text, "photo")
        assert "doubled wire" in answer.text
    assert sites.get(stored.id).site.circuit(circuit_id).photo is None
    assert sites.get(stored.id).revision == stored.revision


def test_a_photo_sent_with_a_wrong_name_need_not_be_sent_again(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here, circuit_id = breaker_path(stored)
    answer = send(browser, here, png(640, 480), name="")
    assert answer.status_code == 422
    assert "640 by 480 pixels" in answer.text
    again = form_in(answer.text, here) | {"name": "Hall"}
    assert browser.post(here, data=again).status_code == 303
    assert sites.get(stored.id).site.circuit(circuit_id).photo


def test_a_photo_that_is_gone_is_asked_for_again(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here, circuit_id = breaker_path(stored)
    held = form_in(send(browser, here, png(640, 480), name="").text, here) | {"name": "Hall"}
    with browser.app.state.engine.begin() as connection:
        connection.execute(PHOTOS.delete())
    answer = browser.post(here, data=held | {"note": "doubled wire"})
    assert answer.status_code == 422
    assert "no longer in this planner" in problem_at(answer.text, "photo")
    assert "doubled wire" in answer.text
    assert sites.get(stored.id).site.circuit(circuit_id).photo is None
    assert browser.post(here, data=form_in(answer.text, here)).status_code == 303


def test_only_a_photo_of_this_site_is_shown_in_it(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    here, circuit_id = breaker_path(stored)
    send(browser, here, jpeg(640, 480))
    photo = sites.get(stored.id).site.circuit(circuit_id).photo
    other = sites.create(stored.site)
    assert browser.get(f"/sites/{other.id}/survey/photos/{photo}").status_code == 404
    copy = sites.duplicate(stored.id)
    assert browser.get(f"/sites/{copy.id}/survey/photos/{photo}").status_code == 200


def test_a_photo_named_by_a_site_file_but_not_here_is_said_to_be_elsewhere(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    circuit = stored.site.circuits[0].model_copy(update={"photo": "ab" * 32})
    sites.save(stored.id, put_circuit(stored.site, circuit), base_revision=1, label="Named")
    page = browser.get(f"/sites/{stored.id}/survey/breakers/{circuit.id}")
    assert page.status_code == 200
    assert "not in this planner" in page.text
    gone = browser.get(f"/sites/{stored.id}/survey/photos/{'ab' * 32}")
    assert gone.status_code == 404


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


def test_a_reading_that_agrees_with_an_appliance_the_run_has_off_is_not_called_wrong(
    browser: TestClient, sites: SiteStore
):
    pump = appliance("pump", 1200, behaviour=Hourly(shares=(0.0,) * 24))
    site = with_parts(
        normal_only_site(),
        circuits=(circuit("well", "main", 1, appliances=(pump,)),),
        scenarios=(scenario(),),
    )
    stored = sites.create(site)
    here = f"/sites/{stored.id}/survey/clamp"
    fields = form_in(browser.get(here).text, f"{here}/readings")
    at = site.scenarios[0].start.strftime("%Y-%m-%dT%H:%M")
    typed = {"element_id": "well", "at": at, "l1_a": "10.3", "l2_a": "0"}
    browser.post(f"{here}/readings", data=fields | typed)
    page = browser.get(here).text
    assert "Not on in this run at that time. The reading agrees with pump" in page
    assert "10.0 A on L1 while it runs." in page
    assert "Look for a load that is missing" not in page


def test_a_reading_is_asked_for_by_the_clock_of_what_is_saved_to_the_minute(
    browser: TestClient, stored: StoredSite
):
    here = f"/sites/{stored.id}/survey/clamp"
    at = form_in(browser.get(here).text, f"{here}/readings")["at"]
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d", at)
    saved = stored.saved_at.astimezone().replace(tzinfo=None)
    assert abs(datetime.fromisoformat(at) - saved) < timedelta(minutes=10)


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


def test_only_the_panel_at_work_is_open_in_a_house_of_many_breakers(stored: StoredSite):
    assert all(group.open for group in trace_panels(stored.site))
    many = grown(stored.site, circuits=80)
    groups = trace_panels(many)
    assert [group.open for group in groups] == [True] + [False] * (len(groups) - 1)
    first = {row.circuit.id for row in groups[0].rows}
    done = tuple(
        c.model_copy(update={"traced": "traced"}) if c.id in first else c for c in many.circuits
    )
    assert [g.open for g in trace_panels(with_parts(many, circuits=done))][:2] == [False, True]
