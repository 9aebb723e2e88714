"""What is typed and not saved is there again, after a lost network as after a closed page."""

from __future__ import annotations

import re

from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Planner

PUT_BACK = "What you typed here and did not save is back in the form."


def open_first_circuit(page: Page, planner: Planner, site_id: str) -> None:
    page.goto(f"/sites/{site_id}/circuits/{planner.store.get(site_id).site.circuits[0].id}")


def test_a_save_without_network_loses_nothing(page: Page, planner: Planner, site_id: str):
    open_first_circuit(page, planner, site_id)
    name = page.get_by_label("Name of the circuit")
    name.fill("Strip heat, upper coil")
    page.get_by_label("Breaker", exact=True).fill("35")
    page.get_by_label("Class").select_option("deferrable")
    page.route("**/circuits/*", lambda route: route.abort("internetdisconnected"))
    with page.expect_event("requestfailed", lambda request: request.method == "POST"):
        page.get_by_role("button", name="Save", exact=True).click()
    page.unroute("**/circuits/*")
    open_first_circuit(page, planner, site_id)
    expect(name).to_have_value("Strip heat, upper coil")
    expect(page.get_by_label("Breaker", exact=True)).to_have_value("35")
    expect(page.get_by_label("Class")).to_have_value("deferrable")
    expect(page.get_by_text(PUT_BACK)).to_be_visible()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("Saved Strip heat, upper coil")
    saved = planner.store.get(site_id).site.circuits[0]
    assert (saved.name, saved.breaker_a) == ("Strip heat, upper coil", 35)
    open_first_circuit(page, planner, site_id)
    expect(page.get_by_text(PUT_BACK)).to_have_count(0)


def test_what_is_typed_before_the_script_runs_is_kept_too(
    page: Page, planner: Planner, site_id: str
):
    typed = []

    def late(route: Route) -> None:
        page.get_by_label("Name of the circuit").fill("Typed early")
        typed.append(route.request.url)
        route.continue_()

    page.route("**/static/joined/base*.js*", late)
    open_first_circuit(page, planner, site_id)
    assert typed
    page.route("**/static/mark.svg", lambda route: route.abort("internetdisconnected"))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Not saved: nothing answers")).to_be_visible()
    page.unroute_all()
    open_first_circuit(page, planner, site_id)
    expect(page.get_by_label("Name of the circuit")).to_have_value("Typed early")
    expect(page.get_by_text(PUT_BACK)).to_be_visible()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("Saved Typed early")


def test_what_was_typed_can_be_dropped(page: Page, planner: Planner, site_id: str):
    open_first_circuit(page, planner, site_id)
    name = planner.store.get(site_id).site.circuits[0].name
    page.get_by_label("Name of the circuit").fill("Something else")
    page.goto(f"/sites/{site_id}/circuits")
    open_first_circuit(page, planner, site_id)
    expect(page.get_by_label("Name of the circuit")).to_have_value("Something else")
    page.get_by_role("button", name="Drop it").click()
    expect(page.get_by_label("Name of the circuit")).to_have_value(name)
    page.reload()
    expect(page.get_by_text(PUT_BACK)).to_have_count(0)


def test_leaving_it_as_it_was_drops_what_was_typed(page: Page, planner: Planner, site_id: str):
    open_first_circuit(page, planner, site_id)
    name = planner.store.get(site_id).site.circuits[0].name
    page.get_by_label("Name of the circuit").fill("Something else")
    page.get_by_role("link", name="Leave it as it was").click()
    expect(page).to_have_url(re.compile(r"/circuits$"))
    open_first_circuit(page, planner, site_id)
    expect(page.get_by_label("Name of the circuit")).to_have_value(name)
    expect(page.get_by_text(PUT_BACK)).to_have_count(0)


def test_what_is_back_is_in_sight_where_a_link_lands_far_below_it(
    page: Page, planner: Planner, site_id: str
):
    circuit = planner.store.get(site_id).site.circuits[0]
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 700})
        open_first_circuit(page, planner, site_id)
        page.get_by_label("Name of the circuit").fill("Half typed")
        page.goto(f"/sites/{site_id}/circuits")
        page.goto(f"/sites/{site_id}/circuits/{circuit.id}#f-own_battery_h")
        beside = page.get_by_text("Save also takes what you typed before: Name of the circuit.")
        expect(beside).to_be_in_viewport(ratio=0.99)
        field = page.locator("#f-own_battery_h").bounding_box()
        notice = beside.bounding_box()
        assert field is not None
        assert notice is not None
        assert field["y"] + field["height"] <= notice["y"]
        page.get_by_role("button", name="Leave that out").click()
        expect(page.get_by_label("Name of the circuit")).to_have_value(circuit.name)
        expect(page.locator(".kept")).to_have_count(0)


def type_a_name_then(page: Page, planner: Planner, site_id: str, **changed: object) -> None:
    """Type a name, leave, have something saved meanwhile, come back and save."""
    open_first_circuit(page, planner, site_id)
    page.get_by_label("Name of the circuit").fill("Typed before")
    stored = planner.store.get(site_id)
    first, *others = stored.site.circuits
    note = changed.pop("note", first.note)
    circuits = (first.model_copy(update={"note": note}), *others)
    site = stored.site.model_copy(update={"circuits": circuits, **changed})
    planner.store.save(site_id, site, base_revision=stored.revision, label="Meanwhile")
    open_first_circuit(page, planner, site_id)
    page.get_by_role("button", name="Save", exact=True).click()


def test_a_draft_older_than_what_is_saved_is_told_so(page: Page, planner: Planner, site_id: str):
    type_a_name_then(page, planner, site_id, note="Seen meanwhile")
    expect(page.get_by_role("alert")).to_contain_text("Somebody saved first")
    expect(page.get_by_label("Name of the circuit")).to_have_value("Typed before")


def test_a_draft_whose_form_nobody_changed_is_saved_at_once(
    page: Page, planner: Planner, site_id: str
):
    type_a_name_then(page, planner, site_id, name="Renamed meanwhile")
    expect(page.get_by_role("status")).to_contain_text("Saved Typed before")
    saved = planner.store.get(site_id).site
    assert (saved.name, saved.circuits[0].name) == ("Renamed meanwhile", "Typed before")


def test_going_back_from_a_refusal_finds_what_was_typed(page: Page, planner: Planner, site_id: str):
    open_first_circuit(page, planner, site_id)
    here = page.url
    page.get_by_label("Name of the circuit").fill("Typed and refused")
    page.get_by_label("Breaker", exact=True).fill("twenty")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("This could not be saved yet.")
    page.goto(here)
    expect(page.get_by_text(PUT_BACK)).to_be_visible()
    expect(page.get_by_label("Name of the circuit")).to_have_value("Typed and refused")
    page.get_by_label("Breaker", exact=True).fill("25")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("Saved Typed and refused")
    open_first_circuit(page, planner, site_id)
    expect(page.get_by_text(PUT_BACK)).to_have_count(0)
