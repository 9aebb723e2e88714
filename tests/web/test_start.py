from __future__ import annotations

import re
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from server.advise.begin.choices import WAY_IDS, WAYS, offered_kinds
from server.domain.catalogue import KINDS
from server.domain.edits import with_changes
from server.store.sites import SiteStore
from server.web.start_form import STEPS
from server.web.start_view import ANSWERED_BY, rooms, stacks
from tests.builders import double_throw_site
from tests.web.conftest import form_in, problem_at
from tests.web.start_walk import on, walked


def test_every_way_is_drawn_and_can_be_picked(browser: TestClient):
    page = browser.get("/start").text
    for way in WAYS.values():
        assert f'value="{way.id}"' in page
        assert way.name in page
    assert page.count('<svg class="sketch"') == len(WAYS)


@pytest.mark.parametrize("way", WAY_IDS)
def test_taking_every_default_makes_a_house_with_a_verdict(
    browser: TestClient, sites: SiteStore, way: str
):
    page = walked(browser, way)
    answer = browser.post("/start", data=form_in(page, "/start"))
    assert answer.status_code == 303
    (card,) = sites.list_sites()
    site = sites.get(card.id).site
    assert site.name == "My house"
    assert answer.headers["location"] == f"/sites/{card.id}?scenario=three-day-shutoff"
    overview = browser.get(answer.headers["location"]).text
    assert 'aria-label="Verdict"' in overview
    assert bool(site.generators) == WAYS[way].has_set
    assert len(site.services) == 1 + WAYS[way].second_meter


def test_answers_of_every_step_arrive(browser: TestClient, sites: SiteStore):
    page = walked(
        browser,
        "two-meters-and-switchable",
        name="Fern Cottage",
        place_name="Low Moor",
        service_a="400",
        second_service_a="150",
        generator_kw="22",
        fuel="diesel",
        tank_gal="120",
        changeover="manual",
        solar="8",
        people="5",
        bedrooms="4",
        bathrooms="3",
        floor_area_ft2="2,400",
        climate="cold",
        **{"have.dryer": "on", "have.car-charger-32": "on", "many.car-charger-32": "2"},
    )
    fields = form_in(page, "/start") | {"have.radon-fan": "on"}
    assert browser.post("/start", data=fields).status_code == 303
    (card,) = sites.list_sites()
    site = sites.get(card.id).site
    assert (site.name, site.place.name) == ("Fern Cottage", "Low Moor")
    assert [s.main_a for s in site.services] == [400, 150]
    (generator,) = site.generators
    assert (generator.rated_kw, generator.fuel, generator.start) == (22, "diesel", "by_hand")
    assert generator.tank is not None
    assert generator.tank.capacity_gal == 120
    assert site.solar[0].dc_kw == 8
    assert (site.people, site.floor_area_ft2, site.design_low_f) == (5, 2400, -5)
    kinds = [a.kind for c in site.circuits for a in c.appliances]
    assert kinds.count("car-charger-32") == 2
    assert kinds.count("bath-plugs") == 3
    assert {"dryer", "radon-fan"} <= set(kinds)


def test_going_back_and_on_again_loses_nothing(browser: TestClient):
    page = walked(browser, "portable", name="Fern Cottage", people="5")
    back = on(browser, page, "sources")
    assert 'value="Fern Cottage"' in back
    again = on(browser, back, "things", generator_kw="5")
    assert re.search(r'name="people"[^>]*value="5"', again)
    last = on(browser, again, "forgotten")
    fields = form_in(last, "/start")
    assert (fields["name"], fields["generator_kw"]) == ("Fern Cottage", "5")


def test_what_was_unticked_stays_unticked(browser: TestClient, sites: SiteStore):
    page = browser.get("/start?step=things&way=nothing").text
    fields = form_in(page, "/start")
    assert fields["have.toaster"] == "on"
    del fields["have.toaster"]
    last = browser.get(f"/start?{urlencode(fields | {'step': 'forgotten'})}").text
    again = on(browser, last, "things")
    assert "have.toaster" not in form_in(again, "/start")
    browser.post("/start", data=form_in(last, "/start"))
    site = sites.get(sites.list_sites()[0].id).site
    assert "toaster" not in {a.kind for c in site.circuits for a in c.appliances}


def test_only_what_was_not_ticked_is_asked_again(browser: TestClient):
    prompts = {k.id: k.prompt for k in offered_kinds() if k.prompt}
    page = browser.get("/start?step=forgotten&way=nothing&seen=1&have.radon-fan=on").text
    assert prompts.pop("radon-fan") not in page
    for prompt in prompts.values():
        assert prompt in page


def test_a_question_is_not_asked_where_something_like_it_was_ticked(browser: TestClient):
    asked = "Does anyone rely on a medical device?"
    page = "/start?step=forgotten&way=nothing&seen=1"
    assert asked in browser.get(page).text
    assert asked not in browser.get(f"{page}&have.ventilator=on").text


def test_what_may_answer_a_question_is_known():
    for kind_id, others in ANSWERED_BY.items():
        assert KINDS[kind_id].prompt
        assert set(others) <= set(KINDS)


def test_no_drawing_picked_is_said_and_keeps_what_else_was_said(browser: TestClient):
    answer = browser.get("/start?step=sources&people=7")
    assert answer.status_code == 422
    assert "Choose the drawing that comes nearest." in answer.text
    assert '<input type="hidden" name="people" value="7">' in answer.text


@pytest.mark.parametrize(
    ("said", "step", "field"),
    [
        ({"name": " "}, "things", "name"),
        ({"generator_kw": "9,999"}, "things", "generator_kw"),
        ({"people": "many"}, "forgotten", "people"),
        ({"floor_area_ft2": "3"}, "forgotten", "floor_area_ft2"),
        ({"climate": "lunar"}, "forgotten", "climate"),
        ({"have.toaster": "on", "many.toaster": "lots"}, "forgotten", "many.toaster"),
    ],
)
def test_a_wrong_answer_is_shown_at_its_field_with_what_was_typed(
    browser: TestClient, said: dict[str, str], step: str, field: str
):
    query = urlencode({"way": "whole-house", "step": step, "seen": "1"} | said)
    answer = browser.get(f"/start?{query}")
    assert answer.status_code == 422
    assert f'id="p-{field}"' in answer.text
    if said[field].strip():
        assert f'value="{said[field]}"' in answer.text or field in {"climate", "generator_kw"}


def test_a_wrong_answer_that_is_sent_to_be_saved_stores_nothing(
    browser: TestClient, sites: SiteStore
):
    answer = browser.post("/start", data={"way": "whole-house", "people": "many"})
    assert answer.status_code == 422
    assert problem_at(answer.text, "people") == "Write a whole number, such as 3."
    assert sites.list_sites() == ()
    assert browser.post("/start", data={}).status_code == 422


def test_what_needs_mending_is_counted_and_named_once(browser: TestClient):
    kind = next(iter(offered_kinds()))
    wrong = {f"have.{kind.id}": "on", f"many.{kind.id}": "many"}
    query = {"way": "whole-house", "step": "forgotten", "seen": "1"} | wrong
    one = browser.get(f"/start?{urlencode(query)}").text
    assert "One thing needs mending first." in one
    assert "Write how many there are, from 1 to 20." in one
    assert f"{kind.name}: write how many" not in one
    two = browser.get(f"/start?{urlencode(query | {'people': 'many'})}").text
    assert "2 things need mending first." in two


def test_a_count_that_was_emptied_is_told_and_stays_empty(browser: TestClient):
    page = browser.get("/start?step=things&way=nothing&have.dryer=on").text
    fields = form_in(page, "/start") | {"many.dryer": "", "many.kiln": ""}
    answer = browser.get(f"/start?{urlencode(fields | {'step': 'forgotten'})}")
    assert answer.status_code == 422
    assert problem_at(answer.text, "many.dryer") == "Write how many there are, from 1 to 20."
    assert form_in(answer.text, "/start")["many.dryer"] == ""
    assert problem_at(answer.text, "many.kiln") == "", "what is not there needs no count"


def test_a_number_of_rooms_or_people_that_was_emptied_is_asked_for_and_none_is_taken(
    browser: TestClient,
):
    page = browser.get("/start?step=things&way=nothing").text
    fields = form_in(page, "/start") | {"bedrooms": "", "bathrooms": "0", "floor_area_ft2": ""}
    answer = browser.get(f"/start?{urlencode(fields | {'step': 'forgotten'})}")
    assert answer.status_code == 422
    assert problem_at(answer.text, "bedrooms") == "Write how many there are, such as 3."
    assert problem_at(answer.text, "bathrooms") == ""
    assert form_in(answer.text, "/start")["bedrooms"] == ""


def test_what_needs_mending_is_listed_as_it_stands_on_the_page(browser: TestClient):
    wrong = {"have.toaster": "on", "many.toaster": "0", "bedrooms": "no", "people": "no"}
    query = {"way": "nothing", "step": "forgotten", "seen": "1"} | wrong
    page = browser.get(f"/start?{urlencode(query)}").text
    listed = page[page.index('class="problems"') :].partition("</ul>")[0]
    fields = re.findall(r'href="#f-([^"]+)"', listed)
    assert fields == ["people", "bedrooms", "many.toaster"]


def test_the_watts_of_a_range_are_those_of_its_oven_and_its_burners(
    browser: TestClient, sites: SiteStore
):
    page = browser.get("/start?step=things&way=nothing").text
    assert "Electric range <small" in page
    assert "oven 4,000 W, four burners 7,000 W" in page
    browser.post("/start", data={"way": "nothing", "seen": "1", "have.range-oven": "on"})
    site = sites.get(sites.list_sites()[0].id).site
    assert sum(a.load_w for a in site.circuit("electric-range").appliances) == 11_000


def test_rooms_with_sizes_say_how_to_tell_them_and_what_to_take(browser: TestClient):
    page = browser.get("/start?step=things&way=nothing").text
    for room, told in (("water", "tick 1 hp"), ("cooling", "tick 3 ton"), ("garage", "tick 32 A")):
        about = page[page.index(f'id="room-{room}"') :].partition('class="thing')[0]
        assert told in about


def test_a_question_that_means_several_things_lets_each_be_ticked(
    browser: TestClient, sites: SiteStore
):
    page = browser.get("/start?step=forgotten&way=nothing&seen=1").text
    for kind_id in ("gas-furnace", "oil-furnace", "boiler", "sump-pump", "sewage-pump"):
        assert f'name="have.{kind_id}"' in page
    fields = form_in(page, "/start") | {"have.oil-furnace": "on", "have.sewage-pump": "on"}
    browser.post("/start", data=fields)
    site = sites.get(sites.list_sites()[0].id).site
    kinds = {a.kind for c in site.circuits for a in c.appliances}
    assert {"oil-furnace", "sewage-pump"} <= kinds
    assert kinds.isdisjoint({"gas-furnace", "sump-pump"})


def test_the_words_of_the_first_step_can_be_opened(browser: TestClient):
    page = browser.get("/start").text
    for word in ("transfer-switch", "interlock", "inlet", "switchable", "generator"):
        assert f'popovertarget="term-{word}"' in page


def test_what_will_be_drawn_names_the_days_it_is_tried_on(browser: TestClient):
    page = browser.get("/start?step=forgotten&way=portable&seen=1").text
    assert "5 bad days to try it on: holiday peak, " in page
    assert 'popovertarget="term-leg"' in page


def test_too_many_things_are_refused(browser: TestClient):
    many = {f"have.{k.id}": "on" for k in offered_kinds()}
    many |= {f"many.{k.id}": "20" for k in offered_kinds()}
    answer = browser.post("/start", data={"way": "portable", "seen": "1"} | many)
    assert answer.status_code == 422
    assert "At most 200 things" in answer.text


def test_houses_of_one_name_are_numbered(browser: TestClient, sites: SiteStore):
    sites.create(double_throw_site(name="My house"))
    for people in ("2", "4"):
        fields = {"way": "nothing", "name": "My house", "people": people}
        place = browser.post("/start", data=fields).headers["location"]
        assert "There is a My house already." in browser.get(place).text
    assert [s.name for s in sites.list_sites()] == ["My house", "My house 2", "My house 3"]


def test_the_same_house_drawn_again_is_the_one_that_stands(browser: TestClient, sites: SiteStore):
    fields = form_in(walked(browser, "portable", name="Fern Cottage"), "/start")
    first = browser.post("/start", data=fields).headers["location"]
    assert browser.post("/start", data=fields).headers["location"] == first
    assert "Fern Cottage stands already" in browser.get(first).text
    assert [s.name for s in sites.list_sites()] == ["Fern Cottage"]


def test_a_house_that_was_changed_since_is_not_taken_for_the_one_drawn_again(
    browser: TestClient, sites: SiteStore
):
    fields = {"way": "nothing", "name": "Fern Cottage"}
    browser.post("/start", data=fields)
    stored = sites.get(sites.list_sites()[0].id)
    changed = with_changes(stored.site, people=7)
    sites.save(stored.id, changed, base_revision=stored.revision, label="Count people")
    browser.post("/start", data=fields)
    assert [s.name for s in sites.list_sites()] == ["Fern Cottage", "Fern Cottage 2"]
    browser.post("/start", data=fields)
    assert len(sites.list_sites()) == 2


def test_names_typed_are_escaped(browser: TestClient):
    query = urlencode({"way": "nothing", "name": "<script>alert(1)</script>"})
    for step in STEPS:
        assert "<script>alert" not in browser.get(f"/start?{query}&step={step}").text


def test_a_step_that_is_not_there_is_the_first(browser: TestClient):
    assert "How is the house fed?" in browser.get("/start?step=nowhere").text


def test_the_overview_lists_what_to_confirm_first_with_a_way_to_each(
    browser: TestClient, sites: SiteStore
):
    fields = {"way": "whole-house", "solar": "unknown", "have.heat-pump": "on"}
    place = browser.post("/start", data=fields).headers["location"]
    page = browser.get(place).text
    listed = page[page.index('id="confirm"') :].partition("</section>")[0]
    links = re.findall(r'<a href="([^"]+)"', listed)
    assert links[0].endswith("/supply/solar")
    assert 'class="leans"' in listed, "each guess says what hangs on it"
    for link in links:
        assert browser.get(link).status_code == 200


def test_three_stacks_hold_every_room_in_order_and_differ_by_less_than_the_largest_room():
    made = stacks()
    assert [room for stack in made for room in stack] == list(rooms())
    sizes = [sum(len(room.kinds) for room in stack) for stack in made]
    assert len(sizes) == 3
    assert max(sizes) - min(sizes) < max(len(room.kinds) for room in rooms())
