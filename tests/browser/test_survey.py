"""A photo taken at the panel: made smaller before it is sent, shown, and refused in place."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from server.domain.site import Site
from tests.browser.conftest import Planner
from tests.photos import png

DRAWN = """async () => {
  const sheet = Object.assign(document.createElement("canvas"), { width: 3200, height: 800 });
  sheet.getContext("2d").fillRect(0, 0, 1600, 800);
  const blob = await new Promise((done) => sheet.toBlob(done, "image/png"));
  return [...new Uint8Array(await blob.arrayBuffer())];
}"""


def test_a_photo_is_made_smaller_sent_and_shown(
    page: Page, planner: Planner, site_id: str, farm: Site
):
    circuit = farm.circuits[0]
    here = f"/sites/{site_id}/survey/breakers/{circuit.id}"
    page.goto(here)
    large = bytes(page.evaluate(DRAWN))
    picture = {"name": "panel.png", "mimeType": "image/png", "buffer": large}
    page.get_by_label("Photo", exact=True).set_input_files(picture)
    expect(page.get_by_alt_text("The photo you chose")).to_be_visible()
    page.get_by_role("button", name="Save", exact=False).first.click()
    page.wait_for_url(lambda url: not url.endswith(circuit.id))
    page.goto(here)
    shown = page.get_by_alt_text(circuit.name, exact=False)
    expect(shown).to_be_visible()
    sent = "(img) => [img.naturalWidth, img.naturalHeight, img.complete]"
    page.wait_for_function("document.querySelector('.photo img').complete")
    assert shown.evaluate(sent) == [1600, 400, True]
    photo = planner.store.get(site_id).site.circuit(circuit.id).photo
    assert photo
    assert photo in (shown.get_attribute("src") or "")


def test_a_file_that_is_no_photo_is_refused_beside_its_field(page: Page, site_id: str, farm: Site):
    page.goto(f"/sites/{site_id}/survey/breakers/{farm.circuits[0].id}")
    page.get_by_label("What went dark").fill("Hall and stair")
    wrong = {"name": "panel.jpg", "mimeType": "image/jpeg", "buffer": png(9, 9)[:40]}
    page.get_by_label("Photo", exact=True).set_input_files(wrong)
    page.get_by_role("button", name="Save", exact=False).first.click()
    expect(page.locator("#p-photo")).to_contain_text("broken")
    expect(page.get_by_label("What went dark")).to_have_value("Hall and stair")


def test_a_note_typed_and_skipped_is_told_until_it_is_saved(
    page: Page, planner: Planner, site_id: str
):
    page.goto(f"/sites/{site_id}/survey")
    page.get_by_role("link", name="Next to trace", exact=False).click()
    here = page.url
    name = page.get_by_label("Name of the circuit").input_value()
    told = page.get_by_text("Typed on this device and not saved yet", exact=False)
    expect(told).to_be_hidden()
    page.get_by_label("Note").fill("Its label says attic")
    page.locator(".save a").click()
    page.wait_for_url(lambda url: url != here)
    expect(told).to_contain_text(name)
    page.goto(f"/sites/{site_id}/survey")
    told.get_by_role("link", name=name).click()
    expect(page.get_by_label("Note")).to_have_value("Its label says attic")
    page.get_by_role("button", name="Save", exact=False).first.click()
    page.wait_for_url(lambda url: url != here)
    expect(told).to_be_hidden()
    noted = [c for c in planner.store.get(site_id).site.circuits if c.note]
    assert "Its label says attic" in [c.note for c in noted]


def test_a_dropped_network_keeps_the_form_and_all_that_is_typed(
    page: Page, planner: Planner, site_id: str
):
    page.goto(f"/sites/{site_id}/survey")
    page.get_by_role("link", name="Next to trace", exact=False).click()
    here = page.url
    name = page.get_by_label("Name of the circuit").input_value()
    page.get_by_label("Note").fill("Its label says attic")
    page.context.set_offline(True)
    page.get_by_role("button", name="Save", exact=False).first.click()
    expect(page.locator(".notsent")).to_contain_text("Not saved: nothing answers")
    expect(page.get_by_label("Note")).to_have_value("Its label says attic")
    assert page.url == here
    page.context.set_offline(False)
    page.locator(".save a").click()
    page.wait_for_url(lambda url: url != here)
    other = page.url
    page.get_by_label("Note").fill("Another")
    page.get_by_role("button", name="Save", exact=False).first.click()
    page.wait_for_url(lambda url: url != other)
    page.goto(f"/sites/{site_id}/survey")
    told = page.get_by_text("Typed on this device and not saved yet", exact=False)
    told.get_by_role("link", name=name).click()
    expect(page.get_by_label("Note")).to_have_value("Its label says attic")
    page.get_by_role("button", name="Save", exact=False).first.click()
    page.wait_for_url(lambda url: url != here)
    expect(told).to_be_hidden()
    noted = {c.note for c in planner.store.get(site_id).site.circuits if c.note}
    assert {"Its label says attic", "Another"} <= noted


def test_the_printed_list_has_lines_to_write_on_and_the_screen_has_none(page: Page, site_id: str):
    page.goto(f"/sites/{site_id}/survey")
    row = page.locator(".trace li.not-yet").first
    lines = row.locator(".write")
    expect(lines).to_have_count(3)
    expect(lines.first).to_be_hidden()
    expect(page.locator(".trace .found").first).to_be_hidden()
    page.emulate_media(media="print")
    for line in lines.all():
        expect(line).to_be_visible()
        box = line.bounding_box()
        assert box is not None
        assert box["width"] > 40
    expect(page.locator(".tracehead").first).to_contain_text("What went dark, and its name")
    expect(page.locator(".trace .found").first).to_be_visible()


def test_the_note_in_focus_stands_clear_of_the_bar_that_saves(page: Page, site_id: str, farm: Site):
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"/sites/{site_id}/survey/breakers/{farm.circuits[0].id}")
    page.evaluate("scrollTo(0, 0)")
    page.get_by_label("Name of the circuit").focus()
    page.keyboard.press("Tab")
    note = page.get_by_label("Note")
    expect(note).to_be_focused()
    box, bar = note.bounding_box(), page.locator(".atpanel .save").bounding_box()
    assert box is not None
    assert bar is not None
    assert box["y"] + box["height"] <= bar["y"]
