"""Panel spaces in the browser: a breaker moved by keys, by drag and without script."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.web.new_site import empty_house
from tests.browser.conftest import Planner

Contexts = Callable[..., BrowserContext]


@pytest.fixture
def wall_id(planner: Planner):
    """A panel with breakers in spaces 1, 2, and 5 over 7."""
    house = empty_house("Panel on the wall")
    panel_id = house.panels[0].id
    circuits = (
        Circuit(id="hall", name="Hall", panel_id=panel_id, spaces=(1,)),
        Circuit(id="bath", name="Bath", panel_id=panel_id, spaces=(2,)),
        Circuit(id="range", name="Range", panel_id=panel_id, poles=2, spaces=(5, 7)),
    )
    data = {name: getattr(house, name) for name in Site.model_fields} | {"circuits": circuits}
    made = planner.store.create(Site.model_validate(data)).id
    yield made
    planner.store.delete(made)


def spaces(planner: Planner, site_id: str) -> dict[str, tuple[int, ...]]:
    return {c.id: c.spaces for c in planner.store.get(site_id).site.circuits}


def test_breaker_is_moved_by_keys(page: Page, planner: Planner, wall_id: str):
    page.goto(f"/sites/{wall_id}/spaces")
    page.locator("#b-hall").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#b-bath")).to_be_focused()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#b-range")).to_be_focused()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#carrying")).to_contain_text("Space 3, L2: free.")
    page.keyboard.press("Escape")
    expect(page.locator("#carrying")).to_have_text("It stays where it was.")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Hall is in space 3 of Main panel, on L2.")
    expect(page.locator("#b-hall")).to_be_focused()
    assert spaces(planner, wall_id)["hall"] == (3,)
    page.keyboard.press("Control+z")
    expect(page.get_by_role("status")).to_contain_text("Undone: Move Hall.")
    assert spaces(planner, wall_id)["hall"] == (1,)


def test_breaker_is_dragged_onto_another_and_they_change_places(
    page: Page, planner: Planner, wall_id: str
):
    page.goto(f"/sites/{wall_id}/spaces")
    page.locator("#b-range").drag_to(page.locator('.slot[data-space="2"]'))
    expect(page.get_by_role("status")).to_contain_text("Range is in space 2, 4 of Main panel")
    assert spaces(planner, wall_id) == {"hall": (1,), "bath": (5,), "range": (2, 4)}


def test_breaker_is_moved_without_script(open_context: Contexts, planner: Planner, wall_id: str):
    page = open_context(java_script_enabled=False).new_page()
    page.goto(f"/sites/{wall_id}/spaces")
    page.get_by_label("Breaker", exact=True).select_option("bath")
    page.get_by_label("Space, or the upper of two").fill("12")
    page.get_by_role("button", name="Move", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("Bath is in space 12")
    assert spaces(planner, wall_id)["bath"] == (12,)


@pytest.fixture
def loaded_id(planner: Planner):
    """A panel with 1,200 W in space 1."""
    house = empty_house("Panel with a heater")
    heater = Appliance(id="heat", name="Heater", volts=120, load_w=1200)
    panel_id = house.panels[0].id
    hall = Circuit(id="hall", name="Hall", panel_id=panel_id, spaces=(1,), appliances=(heater,))
    data = {name: getattr(house, name) for name in Site.model_fields} | {"circuits": (hall,)}
    made = planner.store.create(Site.model_validate(data)).id
    yield made
    planner.store.delete(made)


def test_legs_are_ghosted_before_a_breaker_is_put_down(page: Page, loaded_id: str):
    page.goto(f"/sites/{loaded_id}/spaces")
    saved = page.locator(".legs").first
    before = saved.bounding_box()
    page.locator("#b-hall").focus()
    page.keyboard.press("Space")
    page.keyboard.press("ArrowDown")
    ghost = page.locator(".legs.ghosted")
    expect(ghost).to_have_count(1)
    expect(ghost.locator("i")).to_have_text(["0.0 A", "10.0 A"])
    expect(ghost.get_by_role("img")).to_have_attribute("aria-label", re.compile("then L1 0.0 A"))
    expect(page.locator("#carrying")).to_contain_text("L1 10.0 to 0.0 A, L2 0.0 to 10.0 A.")
    assert ghost.bounding_box() == before
    page.keyboard.press("Escape")
    expect(page.locator(".legs.ghosted")).to_have_count(0)
