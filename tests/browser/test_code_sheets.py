"""The code sheets in a browser: printed whole, and a bench that answers while one types."""

from __future__ import annotations

from playwright.sync_api import Page, expect


def test_print_shows_every_worksheet_also_those_that_are_folded(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/demand")
    folded = page.locator("details.sheet:not([open])")
    assert folded.count() > 5
    inside = folded.first.locator("tfoot").first
    expect(inside).not_to_be_visible()
    page.emulate_media(media="print")
    for sheet in folded.all():
        expect(sheet.locator("tfoot").first).to_be_visible()


def test_print_shows_how_every_feeder_and_finding_was_worked_out(page: Page, site_id: str):
    page.emulate_media(media="print")
    for sheet, folded, inside in (
        ("wiring", "details.sheet", "p.note"),
        ("findings", "details.rule", "dl"),
    ):
        page.goto(f"/sites/{site_id}/{sheet}")
        found = page.locator(f"{folded}:not([open])")
        assert found.count() > 5
        for one in found.all():
            expect(one.locator(inside).first).to_be_visible()


def test_the_bench_answers_while_one_types_and_names_the_range(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/wiring")
    page.get_by_label("One-way length").fill("280")
    expect(page.locator("#bench .lead")).to_contain_text("4 copper on a 40 A device")
    page.get_by_label("One-way length").fill("280000")
    expect(page.locator("#bench")).to_contain_text("0 to 20,000 ft")
