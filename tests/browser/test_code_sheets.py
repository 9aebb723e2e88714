"""The code sheets in a browser: printed whole, and a bench that answers while one types."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect


def test_print_shows_every_worksheet_also_those_that_are_folded(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/demand")
    folded = page.locator("details.sheet:not(.same):not([open])")
    same = page.locator("details.sheet.same:not([open])")
    assert folded.count() > 5
    assert same.count() > 5
    inside = folded.first.locator("tfoot").first
    expect(inside).not_to_be_visible()
    page.emulate_media(media="print")
    for sheet in folded.all():
        expect(sheet.locator("tfoot").first).to_be_visible()
    for sheet in same.all():
        expect(sheet.get_by_text("Line for line and leg for leg")).to_be_visible()


def printed_pages(page: Page, address: str) -> int:
    page.goto(address)
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True)))


def test_worksheets_and_findings_print_in_two_columns_on_few_pages(page: Page, site_id: str):
    # In one column the worksheets of the farm took 21 pages, its findings 12.
    assert printed_pages(page, f"/sites/{site_id}/demand") <= 13
    assert printed_pages(page, f"/sites/{site_id}/findings") <= 9
    page.emulate_media(media="print")
    for place in (".caution.onpaper", ".findheads"):
        expect(page.locator(place).first).to_be_visible()


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


def test_the_bench_answers_while_one_types_and_keeps_its_address(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/wiring/bench")
    expect(page.locator("#bench")).to_contain_text("Nothing stands on the bench yet")
    page.get_by_label("Load", exact=True).fill("40")
    page.get_by_label("One-way length").first.fill("280")
    expect(page.locator("#bench .lead")).to_contain_text("4 copper on a 40 A device")
    page.wait_for_url("**/wiring/bench?*pieces.0.run_ft=280*")
    page.reload()
    expect(page.locator("#bench .lead")).to_contain_text("4 copper on a 40 A device")
    expect(page.get_by_label("One-way length").first).to_have_value("280")


def test_the_answer_stays_in_sight_on_a_phone_while_one_types(page: Page, site_id: str):
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"/sites/{site_id}/wiring/bench")
    short = page.locator("#benchshort")
    page.get_by_label("Load", exact=True).fill("40")
    expect(short).to_contain_text("Still to be told: the one-way length")
    page.get_by_label("One-way length").first.fill("280")
    expect(short).to_contain_text("4 copper, 40 A device, drop")
    expect(short).to_have_count(1)
    expect(page.locator("#bench .lead")).not_to_be_in_viewport()
    expect(short).to_be_in_viewport(ratio=1)
    at, foot = short.bounding_box(), page.locator(".foot").bounding_box()
    assert at is not None
    assert foot is not None
    assert at["y"] + at["height"] <= foot["y"] + 1
    page.get_by_label("One-way length").first.fill("280000")
    expect(short).to_have_text("Cannot be worked out yet")


def test_the_bench_names_the_range_beside_the_field_while_one_types(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/wiring/bench?noncontinuous_a=40&pieces.0.run_ft=280")
    length = page.get_by_label("One-way length").first
    length.fill("280000")
    beside = page.locator("[id='p-pieces.0.run_ft']")
    expect(beside).to_contain_text("0.1 to 20,000 ft")
    expect(length).to_have_attribute("aria-invalid", "true")
    expect(length).to_have_value("280000")
    length.fill("28")
    expect(page.locator("#bench .lead")).to_contain_text("8 copper on a 40 A device")
    expect(beside).to_have_count(0)
    expect(length).not_to_have_attribute("aria-invalid", "true")
    expect(length).to_have_attribute("aria-describedby", "h-pieces.0.run_ft")


def test_a_second_segment_is_one_fold_away(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/wiring/bench?noncontinuous_a=40&pieces.0.run_ft=280")
    page.get_by_text("Segment 2, of another wire").click()
    second = page.locator("[id='f-pieces.1.run_ft']")
    second.fill("60")
    expect(page.locator("#bench")).to_contain_text("The whole run drops")
    page.emulate_media(media="print")
    expect(second).to_be_visible()
    expect(page.locator("[id='f-pieces.3.run_ft']")).not_to_be_visible()
    expect(page.locator("#bench details tbody").first).to_be_visible()
