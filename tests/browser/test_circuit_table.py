"""The table of circuits by keyboard alone: a house entered, rows changed, nothing lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from server.domain.site import Site
from server.domain.supply import Feeder
from server.web.new_site import empty_house
from tests.browser.accessible import faults
from tests.browser.conftest import Planner
from tests.grown import grown

Contexts = Callable[..., BrowserContext]
MOST_KEYSTROKES = 25

# name, letters of what it feeds, what else is typed by (column, text)
HOUSE: tuple[tuple[str, str, dict[str, str]], ...] = (
    ("Range", "range", {}),
    ("Wall oven", "wall o", {}),
    ("Dishwasher", "dishw", {}),
    ("Disposer", "disp", {}),
    ("Refrigerator", "fridge", {}),
    ("Microwave", "micro", {}),
    ("Kitchen counter, sink side", "kitch", {}),
    ("Kitchen counter, stove side", "kitch", {}),
    ("Kitchen lights", "lights", {"breaker_a": "20", "wire_size": "12"}),
    ("Dining plugs", "room pl", {}),
    ("Living room plugs", "room pl", {}),
    ("Living room lights", "lights", {"breaker_a": "20"}),
    ("Television and sound", "tv", {}),
    ("Hall and stair lights", "lights", {"breaker_a": "20"}),
    ("Front bath", "bath", {}),
    ("Back bath", "bath", {}),
    ("Bedroom 1 plugs", "bedroom", {}),
    ("Bedroom 2 plugs", "bedroom", {}),
    ("Bedroom 3 plugs", "bedroom", {}),
    ("Bedroom lights", "lights", {"breaker_a": "20"}),
    ("Office", "office", {}),
    ("Router", "router", {}),
    ("Clothes washer", "laundry", {}),
    ("Dryer", "dry", {}),
    ("Water heater", "wat hea", {}),
    ("Heat pump", "heat pump", {}),
    ("Air handler", "air h", {}),
    ("Strip heat", "strip", {}),
    ("Well pump", "well", {}),
    ("Sump pump", "sump", {}),
    ("Softener", "soft", {}),
    ("Smoke alarms", "smoke", {}),
    ("Garage door", "garage", {}),
    ("Chest freezer", "freez", {"note": "garage wall"}),
    ("Car charger", "ev", {}),
    ("Workshop plugs", "worksh", {}),
    ("Table saw", "table", {}),
    ("Compressor", "compr", {}),
    ("Hot tub", "spa", {}),
    ("Yard lights", "outd", {}),
    ("Greenhouse fan", "greenh fan", {}),
    ("Kiln", "", {"load_w": "3600", "breaker_a": "30", "poles": "2"}),
)
COLUMNS = (
    "name",
    "feeds",
    "load_w",
    "breaker_a",
    "poles",
    "wire_size",
    "load_class",
    "outage_role",
    "note",
)


@dataclass
class Keys:
    """A keyboard that counts; nothing else touches the page."""

    page: Page
    count: int = 0

    def press(self, key: str, times: int = 1) -> None:
        for _ in range(times):
            self.page.keyboard.press(key)
        self.count += times

    def write(self, text: str) -> None:
        for letter in text:
            self.page.keyboard.press(letter if letter != " " else "Space")
        self.count += len(text)


@pytest.fixture
def house_id(planner: Planner) -> Iterator[str]:
    """An empty house with a main panel of 42 spaces and one of 30 fed from it."""
    house = empty_house("Forty-two circuits")
    main = house.panels[0].model_copy(update={"spaces": 42})
    barn = main.model_copy(update={"id": "barn", "name": "Barn panel", "spaces": 30})
    feeder = Feeder(id="to-barn", name="Main to barn", from_id=main.id, to_id="barn")
    data = {name: getattr(house, name) for name in Site.model_fields}
    data |= {"panels": (main, barn), "feeders": (*house.feeders, feeder)}
    made = planner.store.create(Site.model_validate(data)).id
    yield made
    planner.store.delete(made)


def enter(keys: Keys, name: str, feeds: str, rest: dict[str, str]) -> None:
    at = 0
    for column, text in {"name": name, "feeds": feeds, **rest}.items():
        if not text:
            continue
        steps = COLUMNS.index(column) - at
        keys.press("Tab", steps)
        at += steps
        keys.write(text)
    keys.press("Enter")


def test_electrician_enters_42_circuits_by_keyboard(page: Page, planner: Planner, house_id: str):
    page.goto(f"/sites/{house_id}/circuits")
    page.evaluate(
        """() => {
            window.pointed = 0;
            const seen = (e) => { if (e.detail || e.pointerType) pointed += 1; };
            for (const kind of ["pointermove", "pointerdown", "mousedown", "click"])
                addEventListener(kind, seen, true);
        }"""
    )
    sent: list[str] = []
    page.on("request", lambda r: sent.append(r.url) if r.method == "POST" else None)
    keys = Keys(page)
    keys.press("n")
    for name, feeds, rest in HOUSE:
        enter(keys, name, feeds, rest)
    expect(page.locator("tr.saving")).to_have_count(0)
    expect(page.locator("#counted")).to_have_text("42 in 2 panels")
    expect(page.locator("#f-new-name")).to_be_focused()
    assert page.evaluate("pointed") == 0
    assert len(sent) == len(HOUSE) == 42
    assert keys.count / len(HOUSE) <= MOST_KEYSTROKES, keys.count
    site = planner.store.get(house_id).site
    assert Site.model_validate(site.model_dump(mode="json")) == site
    assert [c.name for c in site.circuits] == [name for name, _, _ in HOUSE]
    by_name = {c.name: c for c in site.circuits}
    assert all(c.appliances for c in site.circuits)
    assert (by_name["Dryer"].poles, by_name["Dryer"].breaker_a) == (2, 30)
    lights = by_name["Kitchen lights"]
    assert (lights.breaker_a, lights.wire_size) == (20, "12")
    assert by_name["Kiln"].appliances[0].load_w == 3600
    assert by_name["Chest freezer"].note == "garage wall"
    assert {c.panel_id for c in site.circuits} == {"main-panel", "barn"}
    page.reload()
    expect(page.locator('tr[id^="c-"]')).to_have_count(42)


def test_a_row_that_is_saved_renews_the_revision_in_the_title_block(
    page: Page, planner: Planner, house_id: str
):
    page.goto(f"/sites/{house_id}/circuits")
    kept = page.locator("#saved-revision")
    expect(kept).to_contain_text("saved, revision 1")
    keys = Keys(page)
    keys.press("n")
    enter(keys, *HOUSE[0])
    expect(page.locator("#counted")).to_have_text("1 in 2 panels")
    expect(kept).to_contain_text("saved, revision 2")
    expect(kept).to_have_count(1)
    assert planner.store.get(house_id).revision == 2


def test_a_row_refused_as_stale_leaves_undo_to_what_the_page_knows(
    page: Page, planner: Planner, house_id: str
):
    page.goto(f"/sites/{house_id}/circuits")
    stored = planner.store.get(house_id)
    fuller = stored.site.model_copy(update={"people": stored.site.people + 1})
    saved = planner.store.save(house_id, fuller, base_revision=stored.revision, label="Other")
    keys = Keys(page)
    keys.press("n")
    enter(keys, "Kitchen counter", "kitch", {})
    expect(page.locator("tr.strip .problems, tr.strip .problem").first).to_contain_text(
        "Somebody saved first"
    )
    undo = page.locator("form[data-key=undo] input[name=revision]")
    expect(undo).to_have_value(str(stored.revision))
    assert planner.store.get(house_id).site == saved.site


def test_refused_row_stays_open_and_is_mended_while_others_are_saved(
    page: Page, planner: Planner, house_id: str
):
    page.goto(f"/sites/{house_id}/circuits")
    keys = Keys(page)
    keys.press("n")
    enter(keys, "Kiln", "", {"load_w": "lots"})
    wrong = page.locator("#f-again-1-load_w")
    expect(wrong).to_be_focused()
    expect(wrong).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#p-again-1-load_w")).to_contain_text("Write the watts as a number")
    expect(page.get_by_role("status")).to_contain_text("Not saved: Kiln.")
    keys.write("1800")
    keys.press("Enter")
    expect(page.locator("#counted")).to_have_text("1 in 2 panels")
    expect(page.locator("#f-new-name")).to_be_focused()
    (kiln,) = planner.store.get(house_id).site.circuits
    assert (kiln.name, kiln.appliances[0].load_w) == ("Kiln", 1800)


def test_row_that_never_arrived_is_kept_and_sent_again(page: Page, planner: Planner, house_id: str):
    page.goto(f"/sites/{house_id}/circuits")
    down = [True]

    def broken(route: Route) -> None:
        if down[0]:
            route.abort()
        else:
            route.continue_()

    page.route("**/circuit-rows", broken)
    keys = Keys(page)
    keys.press("n")
    enter(keys, "Attic", "lights", {})
    strip = page.locator("#row-again-1")
    expect(strip.get_by_role("alert")).to_contain_text("Nothing is lost")
    expect(strip.locator("input[name=name]")).to_have_value("Attic")
    assert planner.store.get(house_id).site.circuits == ()
    down[0] = False
    expect(strip.locator("input[name=name]")).to_be_focused()
    keys.press("Enter")
    expect(page.locator("#counted")).to_have_text("1 in 2 panels")
    assert planner.store.get(house_id).site.circuits[0].name == "Attic"


def test_arrows_walk_the_table_and_a_letter_opens_the_cell(
    page: Page, planner: Planner, house_id: str
):
    page.goto(f"/sites/{house_id}/circuits")
    keys = Keys(page)
    keys.press("n")
    enter(keys, "Attic", "lights", {})
    enter(keys, "Cellar", "lights", {})
    expect(page.locator("#counted")).to_have_text("2 in 2 panels")
    keys.press("ArrowUp")
    cellar = page.locator("#c-cellar")
    expect(cellar.locator("[data-col=name]")).to_be_focused()
    keys.press("ArrowUp")
    expect(page.locator("#c-attic [data-col=name]")).to_be_focused()
    keys.press("ArrowDown")
    keys.press("ArrowRight", 3)
    expect(cellar.locator("[data-col=breaker_a]")).to_be_focused()
    keys.write("20")
    keys.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Saved Cellar")
    expect(cellar.locator("[data-col=breaker_a]")).to_have_text("20")
    assert planner.store.get(house_id).site.circuit("cellar").breaker_a == 20
    expect(cellar.locator("[data-col=breaker_a]")).to_be_focused()
    keys.press("F2")
    keys.write("90")
    keys.press("Escape")
    expect(cellar.locator("[data-col=breaker_a]")).to_be_focused()
    undo = page.get_by_role("button", name="Undo: Change Cellar")
    expect(undo).to_be_enabled()
    keys.press("Control+z")
    expect(page.get_by_role("status")).to_contain_text("Undone: Change Cellar")
    assert planner.store.get(house_id).site.circuit("cellar").breaker_a == 15


def test_circuit_is_added_to_the_table_without_script(
    open_context: Contexts, planner: Planner, house_id: str
):
    page = open_context(java_script_enabled=False).new_page()
    page.goto(f"/sites/{house_id}/circuits")
    page.locator("#f-new-name").fill("Attic")
    page.locator("#f-new-feeds").fill("lights")
    page.locator("#f-new-space").fill("x")
    page.locator("#f-new-name").press("Enter")
    expect(page.locator("#f-again-space")).to_have_value("x")
    expect(page.locator("#p-again-space")).to_be_visible()
    page.locator("#f-again-space").fill("12")
    page.locator("#f-again-space").press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Added Attic: Main panel, space 12.")
    (attic,) = planner.store.get(house_id).site.circuits
    assert (attic.spaces, attic.appliances[0].kind) == ((12,), "lighting")


PASTE = """text => {
    const data = new DataTransfer();
    data.setData("text/plain", text);
    const paste = { clipboardData: data, bubbles: true, cancelable: true };
    document.activeElement.dispatchEvent(new ClipboardEvent("paste", paste));
}"""


def test_block_pasted_into_the_table_is_shown_then_taken_and_undone_in_one_step(
    page: Page, planner: Planner, house_id: str
):
    page.goto(f"/sites/{house_id}/circuits")
    page.keyboard.press("n")
    page.evaluate(PASTE, "Hall\tlights\t300\nBath\tnonsense\t\nStair\tlights\t\n")
    expect(page.get_by_text("2 of 3 rows can be read; 1 cannot yet.")).to_be_visible()
    expect(page.locator(".wrongrow .problem")).to_contain_text("Feeds: No kind of appliance")
    assert faults(page) == []
    assert planner.store.get(house_id).site.circuits == ()
    page.get_by_role("button", name="Add the 2 circuits that can be read").click()
    expect(page.get_by_role("status")).to_contain_text("Added 2 circuits in one step.")
    assert [c.name for c in planner.store.get(house_id).site.circuits] == ["Hall", "Stair"]
    page.get_by_role("button", name="Undo: Add 2 circuits").click()
    expect(page.get_by_role("status")).to_contain_text("Undone: Add 2 circuits.")
    assert planner.store.get(house_id).site.circuits == ()


def test_question_mark_shows_every_key_and_escape_closes_it(page: Page, house_id: str):
    page.goto(f"/sites/{house_id}/circuits")
    page.keyboard.press("n")
    page.keyboard.type("?")
    expect(page.locator("#f-new-name")).to_have_value("?")
    page.keyboard.press("Control+a")
    page.keyboard.press("Delete")
    page.locator("h1").click()
    page.keyboard.press("?")
    box = page.get_by_role("dialog", name="Keys")
    expect(box).to_contain_text("begin the next circuit")
    assert faults(page) == []
    page.keyboard.press("Escape")
    expect(box).to_be_hidden()


def test_rows_are_chosen_by_keyboard_and_changed_together(
    page: Page, planner: Planner, house_id: str
):
    page.goto(f"/sites/{house_id}/circuits")
    keys = Keys(page)
    keys.press("n")
    for name in ("Attic", "Bath", "Cellar"):
        enter(keys, name, "lights", {})
    expect(page.locator("#counted")).to_have_text("3 in 2 panels")
    expect(page.locator("#bulk")).to_be_hidden()
    keys.press("ArrowUp")
    keys.press("Space")
    keys.press("ArrowUp")
    keys.press("Space")
    expect(page.locator("#chosen")).to_have_text("2 chosen")
    page.locator("#bulk select[name=to_panel]").select_option(label="Barn panel")
    page.locator("#bulk").get_by_role("button", name="Move").press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Moved 2 circuits to Barn panel.")
    panels = {c.name: c.panel_id for c in planner.store.get(house_id).site.circuits}
    assert panels == {"Attic": "main-panel", "Bath": "barn", "Cellar": "barn"}


@pytest.mark.parametrize("width", [390, 768, 1280])
def test_200_circuits_with_long_names_do_not_scroll_the_page_sideways(
    open_context: Contexts, planner: Planner, farm: Site, width: int
):
    large = grown(farm, circuits=200, name="behind the hedge by the barn")
    site_id = planner.store.create(large).id
    page = open_context(viewport={"width": width, "height": 844}).new_page()
    for path in ("circuits", "spaces"):
        page.goto(f"/sites/{site_id}/{path}")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    planner.store.delete(site_id)
