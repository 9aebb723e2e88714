"""The main job from end to end, as a newcomer does it in the browser."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from server.domain.site import Site
from server.simulate.run import simulate
from tests.browser.conftest import Planner

Contexts = Callable[..., BrowserContext]
SHUTOFF = "three-day-shutoff"


def bars(page: Page) -> dict[str, str]:
    """What every leg bar of the board says of this run, by the name of its limit.

    What many draws say comes by itself when they were made.
    """
    names = page.locator("#board .lim .nm").all_inner_texts()
    told = [bar.get_attribute("aria-label") or "" for bar in page.locator("#board .legbar").all()]
    labels = [label.partition("; of many draws")[0] for label in told]
    assert len(names) == len(labels) > 0
    return dict(zip(names, labels, strict=True))


def mover(page: Page, circuit_id: str) -> Locator:
    row = page.locator(f"#c-{circuit_id}")
    row.locator("summary").click()
    return row


def move(page: Page, circuit_id: str, panel: str) -> None:
    """Open the circuit's mover, press the button of that panel, and wait for the new board."""
    told = page.get_by_role("status")
    mover(page, circuit_id).locator("button.go").filter(has_text=panel).first.click()
    expect(told).to_contain_text(f"moved to {panel}")
    expect(page.get_by_role("region", name="What the change did")).to_be_visible()


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_added_circuit_is_moved_and_the_bars_follow(
    open_context: Contexts, planner: Planner, site_id: str, script: bool
):
    page = open_context(java_script_enabled=script).new_page()
    page.goto("/sites")
    page.locator(f"a[href='/sites/{site_id}']").first.click()
    expect(page.get_by_role("region", name="Verdict")).to_be_visible()

    page.get_by_role("navigation", name="Sheets", exact=True).get_by_text("Circuits").click()
    page.get_by_role("link", name="Add a circuit", exact=True).click()
    page.locator("select[name=kind]").select_option("home-server")
    page.get_by_role("button", name="Fill in what is usual").click()
    page.get_by_label("Name of the circuit").fill("Office server")
    page.get_by_label("Panel", exact=True).select_option(label="Main panel")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_role("heading", name="Office server")).to_be_visible()
    circuit_id = page.url.rpartition("/")[2].partition("?")[0]

    page.goto(f"/sites/{site_id}/buses?scenario={SHUTOFF}")
    before = bars(page)
    move(page, circuit_id, "Backed-up panel")
    after = bars(page)
    assert planner.store.get(site_id).site.circuit(circuit_id).panel_id == "backed"
    assert after != before

    page.get_by_role("button", name=re.compile("^Undo: Moved Office server")).click()
    expect(
        page.get_by_role("button", name=re.compile("^Redo: Moved Office server"))
    ).to_be_visible()
    page.goto(f"/sites/{site_id}/buses?scenario={SHUTOFF}")
    assert bars(page) == before
    assert planner.store.get(site_id).site.circuit(circuit_id).panel_id == "main"


def test_two_moves_turn_the_answer_of_the_shutoff(page: Page, planner: Planner, site_id: str):
    page.goto(f"/sites/{site_id}/buses?scenario={SHUTOFF}")
    outcome = page.get_by_role("region", name="What the change did")
    move(page, "dryer", "Main panel")
    expect(page).to_have_url(re.compile("moved=dryer"))
    expect(outcome).to_contain_text("No")
    move(page, "range", "Main panel")
    expect(page).to_have_url(re.compile("moved=range"))
    expect(outcome.locator(".res b")).to_have_text(re.compile(r"^(Yes|It holds|Holds)"))
    site = planner.store.get(site_id).site
    assert simulate(site, site.scenario(SHUTOFF)).verdict.fits


def test_pinned_circuit_offers_no_move(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/buses?scenario={SHUTOFF}")
    mover(page, "dryer").get_by_role("button", name="Pin to this bus").click()
    expect(page.locator("#c-dryer summary")).to_have_text("Pinned")
    expect(page.locator("#c-dryer button.go")).to_have_count(0)


def test_every_scenario_runs_and_says_its_verdict(page: Page, farm: Site, site_id: str):
    page.goto(f"/sites/{site_id}/scenarios")
    for scenario in farm.scenarios:
        cell = page.locator(f"#verdict-{scenario.id}")
        expect(cell).not_to_have_text("Run it")
        page.locator(f"h2 a[href='/sites/{site_id}/scenarios/{scenario.id}']").click()
        expect(page.get_by_role("heading", level=1)).to_have_text(scenario.name)
        expect(page.locator("#inspector")).to_be_visible()
        page.go_back()


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_typed_minute_says_who_was_on(
    open_context: Contexts, farm: Site, site_id: str, script: bool
):
    scenario = farm.scenario(SHUTOFF)
    run = simulate(farm, scenario)
    worst = run.verdict.worst
    assert worst is not None
    page = open_context(java_script_enabled=script).new_page()
    page.goto(f"/sites/{site_id}/scenarios/{SHUTOFF}")
    inspector = page.locator("#inspector")
    inspector.locator("#minute-at").fill(f"{worst.worst.at:%Y-%m-%dT%H:%M}")
    inspector.locator("#minute-point").select_option(worst.point.id)
    inspector.get_by_role("button", name="Show").click()
    expect(inspector).to_have_attribute("data-at", re.compile(f"{worst.worst.at:%Y-%m-%dT%H:%M}"))
    expect(inspector).to_have_attribute("data-point", worst.point.id)
    for contributor in worst.worst.contributors[:2]:
        expect(inspector).to_contain_text(contributor.appliance_name)
    leg = int(worst.worst.leg.removeprefix("L")) - 1
    shown = inspector.locator(".big .v").nth(leg).inner_text()
    assert float(shown.replace(",", "")) == pytest.approx(worst.worst.peak_a, abs=0.51)


def test_plot_is_drawn_and_a_click_in_it_picks_a_minute(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/scenarios/{SHUTOFF}")
    plot = page.locator("#plots canvas").first
    expect(plot).to_be_visible()
    inspector = page.locator("#inspector")
    before = inspector.get_attribute("data-at")
    over = page.locator("#plots .u-over").first
    box = over.bounding_box()
    assert box is not None
    over.click(position={"x": box["width"] * 0.37, "y": box["height"] * 0.5})
    expect(inspector).not_to_have_attribute("data-at", before or "")


def test_series_can_be_taken_away(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/scenarios/{SHUTOFF}")
    with page.expect_download() as download:
        page.get_by_role("link", name="CSV").click()
    assert download.value.suggested_filename.endswith(".csv")
