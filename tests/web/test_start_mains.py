"""A main of the guided start that is no standard one: 240.6(A) asks, 240.6(B) and (C) allow."""

from __future__ import annotations

from html import unescape
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from server.rules.check import check_site
from server.store.sites import SiteStore
from tests.web.conftest import form_in, problem_at
from tests.web.start_walk import on

TWO = "two-meters"
TOLD = {"way": TWO, "name": "Hill house", "generator_kw": "20", "fuel": "propane"}


def asked(browser: TestClient, fields: dict[str, str], to: str = "things") -> tuple[int, str]:
    plain = {name: unescape(text) for name, text in fields.items()}
    answer = browser.get(f"/start?{urlencode(plain | {'step': to})}")
    return answer.status_code, answer.text


@pytest.mark.parametrize(
    ("field", "beside", "typed", "near"),
    [
        ("service_a", "other_main_a", "137", "125 A and 150 A are nearest"),
        ("service_a", "other_main_a", "320", "listed for a service of 400 A"),
        ("second_service_a", "other_second_main_a", "16.5", "15 A and 20 A are nearest"),
    ],
)
def test_an_odd_main_is_asked_beside_its_field_and_loses_nothing(
    browser: TestClient, field: str, beside: str, typed: str, near: str
):
    for said in ({field: "other", beside: typed}, {field: "", beside: typed}, {field: typed}):
        status, page = asked(browser, TOLD | said)
        assert status == 422
        told = problem_at(page, beside)
        assert near in told
        assert "240.6(A)" in told
        kept = form_in(page, "/start")
        assert {n: kept[n] for n in TOLD} == TOLD
        assert kept[beside] == typed


@pytest.mark.parametrize("way", ["nothing", "whole-house", TWO, "portable"])
def test_the_same_figure_again_is_taken_and_stays_a_question(
    browser: TestClient, sites: SiteStore, way: str
):
    _, page = asked(browser, {"way": way, "service_a": "other", "other_main_a": "137"})
    page = on(browser, page, "things")
    page = on(browser, page, "sources")
    assert form_in(page, "/start")["other_main_a"] == "137"
    page = on(browser, on(browser, page, "things"), "forgotten")
    assert browser.post("/start", data=form_in(page, "/start")).status_code == 303
    site = sites.get(sites.list_sites()[0].id).site
    assert site.services[0].main_a == 137
    findings = [f for f in check_site(site).findings if f.code == "main-not-standard"]
    assert any("125 A and 150 A" in f.text for f in findings)


def test_another_figure_is_asked_anew(browser: TestClient):
    _, page = asked(browser, {"way": "nothing", "other_main_a": "137"})
    fields = form_in(page, "/start") | {"other_main_a": "138"}
    status, page = asked(browser, fields)
    assert status == 422
    assert "138 A" in problem_at(page, "other_main_a")


@pytest.mark.parametrize(
    ("picked", "written", "said"),
    [
        ("other", "", "Write the amps on its handle, 15 to 4,000."),
        ("200", "137", "pick “another size” there"),
        ("other", "12", "15"),
        ("other", "9000", "4,000"),
        ("", "large", "number"),
    ],
)
def test_a_main_that_cannot_be_is_told_beside_it_and_never_taken_by_pressing_again(
    browser: TestClient, picked: str, written: str, said: str
):
    fields = {"way": "nothing", "service_a": picked, "other_main_a": written}
    for _ in range(2):
        status, page = asked(browser, fields)
        assert status == 422
        assert said in problem_at(page, "other_main_a")
        fields = form_in(page, "/start")
        assert (fields["service_a"], fields["other_main_a"]) == (picked, written)


def test_a_figure_shown_with_another_problem_was_not_asked_yet(browser: TestClient):
    _, page = asked(browser, {"way": "nothing", "service_a": "200", "other_main_a": "137"})
    status, page = asked(browser, form_in(page, "/start") | {"service_a": "other"})
    assert status == 422
    assert "240.6(A)" in problem_at(page, "other_main_a")


def test_a_standard_main_that_no_list_has_is_taken_at_once(browser: TestClient):
    for written in ("175", "1,200"):
        fields = {"way": "nothing", "service_a": "other", "other_main_a": written}
        assert asked(browser, fields)[0] == 200


def test_a_second_main_of_a_house_with_one_meter_asks_nothing(browser: TestClient):
    fields = {"way": "nothing", "second_service_a": "other", "other_second_main_a": "137"}
    assert asked(browser, fields)[0] == 200
