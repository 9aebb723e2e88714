"""From an empty database to a verdict on an own house, with every decision counted."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from server.domain.site import Site
from tests.browser.conftest import Planner, serving

Contexts = Callable[..., BrowserContext]
DECISIONS_MOST = 40


@pytest.fixture
def planner(chromium_path: str, migrated_file: Path, tmp_path: Path) -> Iterator[Planner]:
    """A planner whose database is empty."""
    database = tmp_path / "threebus.db"
    shutil.copyfile(migrated_file, database)
    with serving(database, load_demos=False) as opened:
        yield opened


class Person:
    """Somebody at the page: each click, choice and typed field is a decision."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.decisions = 0

    def _decide(self, on: Locator) -> Locator:
        expect(on).to_be_visible()
        self.decisions += 1
        return on

    def press(self, role: str, name: str) -> None:
        self._decide(self.page.get_by_role(role, name=name, exact=True)).click()

    def tick(self, name: str) -> None:
        self._decide(thing(self.page, name)).check()

    def pick(self, name: str) -> None:
        self._decide(self.page.get_by_role("radio", name=name, exact=True)).check()

    def choose(self, label: str, words: str) -> None:
        self._decide(self.page.get_by_label(label, exact=True)).select_option(label=words)

    def type(self, label: str, text: str) -> None:
        self._decide(self.page.get_by_label(label, exact=True)).fill(text)


def thing(page: Page, name: str) -> Locator:
    """The tick of a thing, whose watts follow its name."""
    return page.get_by_role("checkbox", name=re.compile(f"^{re.escape(name)}"))


def made(planner: Planner, name: str) -> Site:
    found = [card for card in planner.store.list_sites() if card.name == name]
    assert len(found) == 1
    return planner.store.get(found[0].id).site


def verdict(page: Page) -> Locator:
    return page.get_by_role("region", name="Verdict").get_by_role("heading", level=1)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_an_own_house_is_judged_after_forty_decisions_at_most(
    open_context: Contexts, planner: Planner, script: bool
):
    page = open_context(java_script_enabled=script).new_page()
    person = Person(page)
    name = "Fern Cottage"
    assert planner.store.list_sites() == ()
    page.goto("/")
    expect(page.get_by_text("No site yet.")).to_be_visible()
    person.press("link", "Plan your house")
    person.pick("The same with a switchable panel")
    person.press("button", "Continue")
    person.type("What you call it", name)
    person.type("Place, if you like", "Low Moor")
    person.choose("Main breaker", "150 A")
    person.choose("Size", "18 kW")
    person.choose("Fuel", "propane")
    person.choose("Tank or cans", "250 gal")
    person.choose("It takes over", "by itself, within seconds")
    person.choose("Solar", "6 kW")
    person.press("button", "Continue")
    person.type("People", "4")
    person.type("Floor area", "1,800")
    person.choose("How cold and hot it gets", "Hard winters: −5 to 90 °F")
    for ticked in (
        "Chest freezer",
        "Electric range",
        "Clothes dryer",
        "Home office computer",
        "Heat pump, 3 ton, heating and cooling",
        "Air handler fan",
        "Well pump, 1 hp",
        "Water heater, 50 gal",
        "Garage door opener",
        "Car charger, 32 A",
        "Hot tub",
    ):
        person.tick(ticked)
    person.press("button", "Continue")
    for answer in ("Sump pump", "Is there a radon fan?"):
        person.tick(answer)
    person.tick("Sleep apnea machine")
    person.type("Hours its own battery lasts: Sleep apnea machine", "8")
    person.tick("Chest freezer")
    person.press("button", "Draw my house")
    expect(verdict(page)).to_contain_text("limit")
    assert person.decisions <= DECISIONS_MOST

    site = made(planner, name)
    assert site.services[0].main_a == 150
    assert (site.generators[0].rated_kw, site.solar[0].dc_kw) == (18, 6)
    kinds = {a.kind for c in site.circuits for a in c.appliances}
    urgent = {a.kind for c in site.circuits if c.load_class == "must_serve" for a in c.appliances}
    assert {"sump-pump", "freezer", "sleep-apnea-machine"} <= urgent
    assert "well-pump" not in urgent
    assert {"sump-pump", "radon-fan", "hot-tub", "heat-pump-cooling", "refrigerator"} <= kinds
    expect(page.get_by_text(f"{name} stands")).to_be_visible()


def test_who_knows_nothing_decides_six_times(page: Page, planner: Planner):
    person = Person(page)
    page.goto("/")
    person.press("link", "Plan your house")
    person.pick("Nothing yet, or I don’t know which")
    for _ in range(3):
        person.press("button", "Continue")
    person.press("button", "Draw my house")
    expect(verdict(page)).to_contain_text("Does not hold")
    assert person.decisions == 6
    assert made(planner, "My house").services[0].figure_source == "guess"


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_the_browsers_back_and_forward_lose_nothing(open_context: Contexts, script: bool):
    page = open_context(java_script_enabled=script).new_page()
    person = Person(page)
    page.goto("/start")
    person.pick("A portable through an inlet")
    person.press("button", "Continue")
    person.type("What you call it", "Fern Cottage")
    person.choose("Size", "5 kW")
    person.press("button", "Continue")
    person.type("Floor area", "1,800")
    person.tick("Clothes dryer")
    person.type("How many: Clothes dryer", "2")
    person.press("button", "Continue")
    expect(page.get_by_role("heading", name="What people forget")).to_be_visible()
    page.go_back()
    expect(thing(page, "Clothes dryer")).to_be_checked()
    expect(page.get_by_label("How many: Clothes dryer", exact=True)).to_have_value("2")
    expect(page.get_by_label("Floor area", exact=True)).to_have_value("1,800")
    page.go_back()
    expect(page.get_by_label("What you call it", exact=True)).to_have_value("Fern Cottage")
    expect(page.get_by_label("Size", exact=True)).to_have_value("5")
    page.go_back()
    portable = page.get_by_role("radio", name="A portable through an inlet", exact=True)
    expect(portable).to_be_checked()
    page.go_forward()
    expect(page.get_by_label("Size", exact=True)).to_have_value("5")
    page.go_forward()
    expect(thing(page, "Clothes dryer")).to_be_checked()


def test_the_back_button_of_a_step_takes_along_what_is_ticked(page: Page):
    person = Person(page)
    page.goto("/start?step=things&way=portable&name=Fern+Cottage")
    person.tick("Clothes dryer")
    person.press("button", "Back")
    expect(page.get_by_label("What you call it", exact=True)).to_have_value("Fern Cottage")
    person.press("button", "Continue")
    expect(thing(page, "Clothes dryer")).to_be_checked()


def test_a_step_before_is_one_press_away_and_enter_still_goes_on(page: Page):
    person = Person(page)
    page.goto("/start?step=things&way=portable&name=Fern+Cottage")
    person.tick("Clothes dryer")
    page.get_by_label("Floor area", exact=True).press("Enter")
    expect(page.get_by_role("heading", name="What people forget")).to_be_visible()
    steps = page.get_by_role("list", name="Steps")
    steps.get_by_role("button", name="How it is fed").click()
    expect(page.get_by_role("heading", name="How is the house fed?")).to_be_visible()
    portable = page.get_by_role("radio", name="A portable through an inlet", exact=True)
    expect(portable).to_be_checked()
    for _ in range(2):
        person.press("button", "Continue")
    expect(thing(page, "Clothes dryer")).to_be_checked()


def test_a_word_of_the_first_step_opens_its_meaning(page: Page):
    page.goto("/start")
    page.get_by_role("button", name="interlock").click()
    expect(page.locator("#term-interlock")).to_be_visible()
    expect(page.locator("#term-interlock")).to_contain_text("never both")


def test_the_way_is_picked_by_keyboard(page: Page):
    page.goto("/start")
    page.get_by_role("radio").first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What feeds it?")).to_be_visible()
    expect(page.locator("main .lead")).to_contain_text("One meter, the whole house")


def test_a_thing_is_found_by_a_few_letters_and_what_is_ticked_stays_so(page: Page):
    page.goto("/start?step=things&way=portable")
    find = page.get_by_label("Find a thing", exact=True)
    toaster = page.locator("input[name='have.toaster']")
    expect(toaster).to_be_checked()
    find.press_sequentially("fri")
    expect(thing(page, "Refrigerator")).to_be_visible()
    expect(toaster).to_be_hidden()
    expect(page.get_by_role("group", name="Bath", exact=True)).to_be_hidden()
    expect(page.locator("#things-found")).to_contain_text("shown;")
    rooms = page.get_by_role("navigation", name="Rooms")
    expect(rooms.get_by_role("link", name="Bath", exact=True)).to_be_hidden()
    find.fill("window unit")
    expect(thing(page, "Room air conditioner, 240 V")).to_be_visible()
    find.fill("inlet")
    expect(page.locator("#things-found")).to_contain_text("Sources and how they are joined")
    find.fill("zzzz")
    expect(page.locator("#things-found")).to_contain_text("Nothing of that name")
    expect(rooms).to_be_hidden()
    find.fill("sump")
    find.press("Enter")
    expect(thing(page, "Sump pump")).to_be_focused()
    page.keyboard.press("Space")
    find.press("Escape")
    expect(find).to_have_value("")
    expect(toaster).to_be_visible()
    find.fill("nothing of the kind")
    expect(page.locator("#things-found")).to_contain_text("0 of")
    page.get_by_role("button", name="Continue").click()
    expect(page.get_by_role("heading", name="What people forget")).to_be_visible()
    page.go_back()
    expect(thing(page, "Sump pump")).to_be_checked()
    expect(toaster).to_be_checked()


def test_without_script_there_is_no_search_and_every_room_is_one_jump_away(
    open_context: Contexts,
):
    page = open_context(java_script_enabled=False).new_page()
    page.goto("/start?step=things&way=portable")
    expect(page.get_by_label("Find a thing", exact=True)).to_be_hidden()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Health").click()
    expect(thing(page, "Oxygen concentrator")).to_be_in_viewport()


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_an_odd_main_is_asked_once_and_taken_when_it_is_told_again(
    open_context: Contexts, planner: Planner, script: bool
):
    page = open_context(
        java_script_enabled=script, viewport={"width": 390, "height": 844}
    ).new_page()
    page.goto("/start?step=sources&way=nothing")
    page.get_by_label("What you call it").fill("Hill house")
    page.get_by_label("Main breaker").select_option("other")
    page.get_by_label("Another main").fill("137")
    page.get_by_role("button", name="Continue").click()
    told = page.locator("#p-other_main_a")
    expect(told).to_contain_text("125 A and 150 A are nearest")
    expect(page.get_by_label("What you call it")).to_have_value("Hill house")
    expect(page.get_by_label("Another main")).to_have_value("137")
    box = told.bounding_box()
    assert box is not None
    assert box["x"] + box["width"] <= 390
    page.get_by_role("button", name="Continue").click()
    expect(page.get_by_label("People")).to_be_visible()
