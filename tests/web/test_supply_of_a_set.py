"""A source added on Supply: what only its owner knows is asked, never taken as usual."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.rules.hazards import hazards
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import interlock_site, with_parts
from tests.web.conftest import form_in, problem_at
from tests.web.test_supply import add, house

__all__ = ["house"]


def test_how_a_set_stands_and_starts_must_be_chosen(
    browser: TestClient, sites: SiteStore, house: StoredSite
):
    answer = add(browser, house, "generator", rated_kw="7.5", fuel="gasoline")
    assert answer.status_code == 422
    assert problem_at(answer.text, "portable") == "Choose whether it is fixed or wheeled out."
    assert problem_at(answer.text, "start").startswith("Choose whether it starts by itself.")
    assert sites.get(house.id).site.generators == ()


def test_a_wheeled_set_is_kept_as_told_with_its_tank(
    browser: TestClient, sites: SiteStore, house: StoredSite
):
    told = {"portable": "on", "start": "by_hand", "tank.capacity_gal": "12"}
    assert add(browser, house, "generator", fuel="gasoline", **told).status_code == 303
    (made,) = sites.get(house.id).site.generators
    assert (made.portable, made.start, made.tank.capacity_gal) == (True, "by_hand", 12.0)


@pytest.mark.parametrize(("kind", "start"), [("automatic", "automatic"), ("interlock", "by_hand")])
def test_a_set_that_comes_with_its_switch_starts_as_the_switch_is_worked(
    browser: TestClient, sites: SiteStore, house: StoredSite, kind: str, start: str
):
    typed = {"kind": kind, "ahead": "main-panel", "generator_from": "new", "rating_a": "200"}
    assert add(browser, house, "transfer-switch", **typed).status_code == 303
    assert sites.get(house.id).site.generators[0].start == start


def test_a_switch_by_hand_for_a_set_that_starts_by_itself_says_who_changes_over(
    browser: TestClient, house: StoredSite
):
    told = {"portable": "off", "start": "automatic", "name": "Set"}
    add(browser, house, "generator", **told)
    typed = {"kind": "interlock", "ahead": "main-panel", "generator_from": "set"}
    answer = add(browser, house, "transfer-switch", name="Inlet interlock", **typed)
    page = browser.get(answer.headers["location"]).text
    assert "Set is entered as starting by itself, but Inlet interlock is worked by hand" in page


def test_a_saved_set_is_not_asked_to_choose_again(browser: TestClient, sites: SiteStore):
    made = sites.create(interlock_site())
    path = f"/sites/{made.id}/supply/set"
    page = browser.get(path).text
    assert "choose one" not in page
    assert form_in(page, path)["portable"] == "on"


def test_amps_of_the_inlet_typed_for_an_interlock_become_its_back_fed_breaker(
    browser: TestClient, sites: SiteStore, house: StoredSite
):
    main_a = house.site.services[0].main_a
    typed = {"kind": "interlock", "ahead": "main-panel", "generator_from": "new", "rating_a": "30"}
    answer = add(browser, house, "transfer-switch", **typed)
    site = sites.get(house.id).site
    (switch,) = site.transfer_switches
    assert switch.rating_a == main_a > 30
    assert site.feeder_into(switch.id, "generator").breaker_a == 30
    assert "breaker-above-switch" not in {f.code for f in hazards(site)}
    page = browser.get(answer.headers["location"]).text
    assert "30 A is entered as its back-fed breaker: an interlock is a plate" in page


def test_an_interlock_rated_as_the_main_or_a_switch_of_its_own_stays_as_typed(
    browser: TestClient, sites: SiteStore, house: StoredSite
):
    main_a = f"{house.site.services[0].main_a:g}"
    typed = {"ahead": "main-panel", "generator_from": "new"}
    add(browser, house, "transfer-switch", kind="interlock", rating_a=main_a, **typed)
    (lock,) = sites.get(house.id).site.transfer_switches
    assert lock.rating_a == float(main_a)
    assert sites.get(house.id).site.feeder_into(lock.id, "generator").breaker_a is None


def test_the_finding_on_a_saved_interlock_says_which_amps_to_write_where():
    site = interlock_site()
    switch = site.transfer_switches[0].model_copy(update={"rating_a": 30})
    found = hazards(with_parts(site, transfer_switches=(switch,)))
    (one,) = (f for f in found if f.code == "breaker-above-switch")
    assert "enter 100 A for it, what the main of Panel main lets through" in one.mend
