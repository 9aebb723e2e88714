"""Editing a site in the browser: what is typed arrives, comes back on undo, and is never lost."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from server.domain.site import Site
from tests.browser.conftest import Planner

Contexts = Callable[..., BrowserContext]


def add_greenhouse_fan(page: Page, site_id: str) -> None:
    page.goto(f"/sites/{site_id}/circuits")
    page.get_by_role("link", name="Add a circuit", exact=True).click()
    page.get_by_label("Name of the circuit").fill("Greenhouse fan")
    page.get_by_label("Panel", exact=True).select_option(label="Main panel")
    page.get_by_role("button", name="Add", exact=True).click()


def circuit_names(planner: Planner, site_id: str) -> list[str]:
    return [circuit.name for circuit in planner.store.get(site_id).site.circuits]


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_added_circuit_is_stored_told_and_undone(
    open_context: Contexts, planner: Planner, site_id: str, script: bool
):
    page = open_context(java_script_enabled=script).new_page()
    add_greenhouse_fan(page, site_id)
    expect(page.get_by_role("heading", name="Greenhouse fan")).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("Added Greenhouse fan to Main panel")
    assert "Greenhouse fan" in circuit_names(planner, site_id)
    page.get_by_role("button", name="Undo: Add Greenhouse fan").click()
    expect(page.get_by_role("button", name="Redo: Add Greenhouse fan")).to_be_visible()
    assert "Greenhouse fan" not in circuit_names(planner, site_id)
    page.get_by_role("button", name="Redo: Add Greenhouse fan").click()
    expect(page.get_by_role("button", name="Undo: Add Greenhouse fan")).to_be_visible()
    assert "Greenhouse fan" in circuit_names(planner, site_id)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_bad_figure_is_named_and_nothing_typed_is_lost(
    open_context: Contexts, planner: Planner, site_id: str, script: bool
):
    page = open_context(java_script_enabled=script).new_page()
    page.goto(f"/sites/{site_id}/new-circuit")
    page.get_by_label("Name of the circuit").fill("Greenhouse fan")
    page.get_by_label("Breaker", exact=True).fill("twenty")
    page.get_by_role("button", name="Add", exact=True).click()
    field = page.get_by_label("Breaker", exact=True)
    expect(field).to_have_value("twenty")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Name of the circuit")).to_have_value("Greenhouse fan")
    expect(page.get_by_role("alert").get_by_role("link")).to_have_attribute("href", "#f-breaker_a")
    assert "Greenhouse fan" not in circuit_names(planner, site_id)


def test_stale_form_is_told_and_keeps_what_was_typed(page: Page, planner: Planner, site_id: str):
    page.goto(f"/sites/{site_id}/new-circuit")
    stored = planner.store.get(site_id)
    renamed = stored.site.model_copy(update={"people": stored.site.people + 1})
    planner.store.save(site_id, renamed, base_revision=stored.revision, label="Somebody else")
    page.get_by_label("Name of the circuit").fill("Greenhouse fan")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_role("button", name="Save on the newer version")).to_be_visible()
    expect(page.get_by_label("Name of the circuit")).to_have_value("Greenhouse fan")
    page.get_by_role("button", name="Save on the newer version").click()
    expect(page.get_by_role("heading", name="Greenhouse fan")).to_be_visible()
    assert planner.store.get(site_id).site.people == renamed.people


def test_downloaded_site_file_opens_again_as_the_same_site(
    page: Page, planner: Planner, farm: Site, site_id: str, tmp_path: Path
):
    page.goto("/sites")
    row = page.get_by_role("row").filter(has=page.locator(f"a[href='/sites/{site_id}']"))
    with page.expect_download() as download:
        row.get_by_role("link", name="Download").click()
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    assert file.suffix == ".json"
    assert json.loads(file.read_text(encoding="utf-8"))["format"] == "threebus-site"
    page.get_by_label("Site file (.json)").set_input_files(file)
    page.get_by_role("button", name="Open it").click()
    expect(page.get_by_role("link", name=farm.name).first).to_be_visible()
    opened_id = page.url.partition("/sites/")[2].partition("?")[0]
    assert opened_id != site_id
    opened, sent = planner.store.get(opened_id).site, planner.store.get(site_id).site
    assert opened.name.startswith(f"{farm.name} ")
    assert opened.model_copy(update={"name": sent.name}) == sent
    planner.store.delete(opened_id)


def test_file_that_is_no_site_is_refused_with_the_reason(page: Page, tmp_path: Path):
    file = tmp_path / "shopping.json"
    file.write_text('{"bread": 2}', encoding="utf-8")
    page.goto("/sites")
    page.get_by_label("Site file (.json)").set_input_files(file)
    page.get_by_role("button", name="Open it").click()
    expect(page.get_by_role("alert")).to_contain_text("shopping.json could not be opened")


def test_deleted_site_can_be_brought_back(page: Page, planner: Planner, farm: Site):
    copy_id = planner.store.create(farm.model_copy(update={"name": "To be deleted"})).id
    page.goto("/sites")
    page.get_by_role("button", name="Delete To be deleted").click()
    expect(page.locator(f"a[href='/sites/{copy_id}']")).to_have_count(0)
    page.get_by_role("button", name="Bring back To be deleted").click()
    page.goto("/sites")
    expect(page.locator(f"a[href='/sites/{copy_id}']").first).to_be_visible()
    planner.store.delete(copy_id)


def test_chosen_paper_is_kept(page: Page):
    page.goto("/sites")
    before = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.get_by_role("button", name="Dark", exact=True).click()
    expect(page.get_by_role("button", name="Dark", exact=True)).to_have_attribute(
        "aria-pressed", "true"
    )
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != before
