"""The page of ready-made scenarios."""

from __future__ import annotations

import html
from datetime import date

import pytest

from server.simulate.templates import TEMPLATES
from tests.web.conftest import problem_at


def root_of(stored) -> str:
    return f"/sites/{stored.id}/scenarios"


def test_every_kind_of_day_is_offered_with_what_it_proves(browser, stored):
    page = html.unescape(browser.get(f"{root_of(stored)}/new").text)
    for one in TEMPLATES:
        assert one.name in page
        assert one.proves in page
    assert "No saw, collector or compressor is entered here yet." in page
    assert f'href="{root_of(stored)}/new"' in browser.get(root_of(stored)).text


@pytest.mark.parametrize("one", TEMPLATES, ids=lambda t: t.id)
def test_each_is_added_as_it_stands_and_its_run_is_shown(browser, sites, stored, one):
    sent = {"revision": stored.revision, "template": one.id}
    answer = browser.post(f"{root_of(stored)}/new", data=sent)
    assert answer.status_code == 303
    made = sites.get(stored.id).site.scenarios[-1]
    assert (made.name, made.proves) == (one.name, one.proves)
    assert answer.headers["location"] == f"{root_of(stored)}/{made.id}"
    assert browser.get(answer.headers["location"]).status_code == 200


def test_answers_are_used_and_a_second_of_the_kind_gets_a_name_of_its_own(browser, sites, stored):
    url = f"{root_of(stored)}/new"
    for revision in (1, 2):
        sent = {"revision": revision, "template": "holiday-peak", "holiday-peak.people": "17"}
        assert browser.post(url, data=sent).status_code == 303
    made = sites.get(stored.id).site.scenarios[-2:]
    assert [s.name for s in made] == ["Holiday peak", "Holiday peak 2"]
    assert [s.people for s in made] == [17, 17]
    assert "One of this name is in the list." in browser.get(url).text


def test_a_bad_answer_is_told_beside_its_field_and_kept(browser, sites, stored):
    sent = {"revision": 1, "template": "holiday-peak", "holiday-peak.people": "many"}
    answer = browser.post(f"{root_of(stored)}/new", data=sent)
    assert answer.status_code == 422
    assert problem_at(answer.text, "holiday-peak.people") == "Write a number."
    assert 'value="many"' in answer.text
    assert sites.get(stored.id).revision == stored.revision


@pytest.mark.parametrize("one", TEMPLATES, ids=lambda t: t.id)
def test_an_emptied_answer_is_asked_for_and_never_taken_in_silence(browser, sites, stored, one):
    asks = one.asks(stored.site, date(2026, 11, 27))
    for ask in asks:
        sent = {"revision": 1, "template": one.id, f"{one.id}.{ask.key}": " "}
        answer = browser.post(f"{root_of(stored)}/new", data=sent)
        assert answer.status_code == 422
        told = problem_at(answer.text, f"{one.id}.{ask.key}")
        assert told.startswith(("Write a number, such as", "Write a day", "Choose one"))
    assert sites.get(stored.id).revision == stored.revision


def test_a_plain_day_is_added_and_its_form_opens(browser, sites, stored):
    answer = browser.post(f"{root_of(stored)}/new", data={"revision": 1, "template": "plain-day"})
    assert answer.headers["location"].endswith("/edit")
    made = sites.get(stored.id).site.scenarios[-1]
    assert (made.span_h, made.outages) == (24, ())


def test_an_unknown_kind_and_a_stale_page_are_refused(browser, stored):
    url = f"{root_of(stored)}/new"
    assert browser.post(url, data={"revision": 1, "template": "none"}).status_code == 404
    assert browser.post(url, data={"revision": 7, "template": "late-fuel"}).status_code == 409


def test_all_that_is_wrong_with_the_answers_is_said_at_once(browser, stored):
    sent = {
        "revision": 1,
        "template": "announced-shutoff",
        "announced-shutoff.day": " ",
        "announced-shutoff.patrol_h": "x",
    }
    answer = browser.post(f"{root_of(stored)}/new", data=sent)
    assert answer.status_code == 422
    assert problem_at(answer.text, "announced-shutoff.day") == "Write a day."
    assert problem_at(answer.text, "announced-shutoff.patrol_h")
