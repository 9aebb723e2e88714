"""The survey names every breaker that hangs in a panel, and takes in one that no list has."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.survey_list import OtherRow, trace_panels
from tests.builders import double_throw_site
from tests.web.conftest import form_in, problem_at

FOUND = {"panel_id": "main", "poles": "2", "breaker_a": "30", "area": "Shed, behind the house"}


def at(stored: StoredSite, name: str = "found") -> str:
    return f"/sites/{stored.id}/survey/{name}"


def test_the_breakers_of_feeders_stand_in_the_list_by_their_space(
    browser: TestClient, stored: StoredSite
):
    page = browser.get(f"/sites/{stored.id}/survey").text
    listed = [(g.panel, line) for g in trace_panels(stored.site) for line in g.lines]
    others = [(panel, line) for panel, line in listed if isinstance(line, OtherRow)]
    spaced = [f for f in stored.site.feeders if f.spaces and f.from_id in stored.site.panel_by_id]
    assert len(others) == len(spaced) > 0
    for panel, line in others:
        feeder = next(
            f
            for f in spaced
            if (f.from_id, ", ".join(map(str, f.spaces))) == (panel.id, line.spaces)
        )
        assert line.does == f"feeds {stored.site.name_of[feeder.to_id]}"
        assert line.breaker_a == feeder.breaker_a
        assert f"F{line.does[1:]}" in page


def test_a_breaker_that_is_not_listed_becomes_a_traced_circuit(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    fields = form_in(browser.get(at(stored)).text, at(stored))
    free = max(p.spaces for p in stored.site.panels if p.id == "main") - 3
    answer = browser.post(at(stored), data=fields | FOUND | {"space": str(free)})
    assert answer.status_code == 303
    circuit = sites.get(stored.id).site.circuits[-1]
    assert (circuit.name, circuit.area) == (FOUND["area"], FOUND["area"])
    assert (circuit.spaces, circuit.breaker_a) == ((free, free + 2), 30)
    assert circuit.traced == "traced"
    said = browser.get(answer.headers["location"]).text
    assert f"Added {circuit.name} in space {free}, {free + 2} of" in said
    assert "counts as no load" in said


def test_without_what_went_dark_it_is_not_sure(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    fields = form_in(browser.get(at(stored)).text, at(stored)) | FOUND
    assert browser.post(at(stored), data=fields | {"area": "", "space": "15", "poles": "1"})
    circuit = sites.get(stored.id).site.circuits[-1]
    assert (circuit.name, circuit.traced) == ("Breaker 15", "unsure")


def test_a_rating_that_breakers_do_not_come_in_is_asked_again_and_loses_nothing(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    fields = form_in(browser.get(at(stored)).text, at(stored)) | FOUND | {"space": "15"}
    for odd, said in (("23", "20 A and 25 A are nearest"), ("5", "10 A is nearest")):
        answer = browser.post(at(stored), data=fields | {"breaker_a": odd, "poles": "1"})
        assert answer.status_code == 422
        told = problem_at(answer.text, "breaker_a")
        assert said in told
        assert "240.6(A)" in told
        kept = form_in(answer.text, at(stored))
        assert (kept["breaker_a"], kept["area"], kept["space"]) == (odd, FOUND["area"], "15")
    both = browser.post(at(stored), data=fields | {"breaker_a": "23", "space": "x"})
    assert problem_at(both.text, "space")
    assert "nearest" in problem_at(both.text, "breaker_a")
    answer = browser.post(at(stored), data=fields | {"breaker_a": "10", "poles": "1"})
    assert answer.status_code == 303
    assert sites.get(stored.id).site.circuits[-1].breaker_a == 10


def test_what_is_missing_or_taken_is_told_beside_its_field_and_loses_nothing(
    browser: TestClient, stored: StoredSite
):
    fields = form_in(browser.get(at(stored)).text, at(stored)) | FOUND
    answer = browser.post(at(stored), data=fields | {"space": "", "breaker_a": ""})
    assert answer.status_code == 422
    assert "Read it off the panel" in problem_at(answer.text, "space")
    assert "Read it off the handle" in problem_at(answer.text, "breaker_a")
    assert FOUND["area"] in answer.text
    taken = next(c for c in double_throw_site().circuits if c.panel_id == "main")
    answer = browser.post(at(stored), data=fields | {"space": str(taken.spaces[0])})
    assert answer.status_code == 422
    assert taken.name in problem_at(answer.text, "space")
    answer = browser.post(at(stored), data=fields | {"space": "x", "breaker_a": "many"})
    assert problem_at(answer.text, "space")
    assert problem_at(answer.text, "breaker_a")
