"""What a form takes over that somebody else saved first, and what it keeps as typed."""

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.meanwhile import begun_text, merged
from tests.web.conftest import form_in

OPENED = {
    "name": "Gale",
    "deliveries.0.at": "2027-01-15T08:00",
    "deliveries.0.gallons": "5",
    "deliveries.1.at": "2027-01-16T08:00",
    "deliveries.1.gallons": "5",
}
SPARE = {"deliveries.2.at": "", "deliveries.2.gallons": ""}


def posted(**typed: str) -> dict[str, str]:
    changed = {name.replace("__", "."): text for name, text in typed.items()}
    return {**OPENED, **SPARE, **changed, "begun": begun_text(OPENED)}


def test_list_left_alone_takes_rows_that_came_and_went():
    fewer = {name: text for name, text in OPENED.items() if not name.startswith("deliveries.1")}
    both = merged(posted(name="Storm"), fewer)
    assert "deliveries.1.gallons" not in both.values
    assert both.values["name"] == "Storm"
    assert set(both.taken) == {"deliveries"}
    more = OPENED | {"deliveries.2.at": "2027-01-17T08:00", "deliveries.2.gallons": "9"}
    both = merged(posted(name="Storm"), more)
    assert both.values["deliveries.2.gallons"] == "9"


def test_same_rows_are_taken_field_by_field():
    theirs = OPENED | {"deliveries.0.gallons": "7"}
    both = merged(posted(deliveries__0__at="2027-01-15T09:00"), theirs)
    assert both.values["deliveries.0.at"] == "2027-01-15T09:00"
    assert both.values["deliveries.0.gallons"] == "7"
    assert both.both == frozenset()


def test_list_typed_into_stays_as_typed_where_rows_went():
    fewer = {name: text for name, text in OPENED.items() if not name.startswith("deliveries.1")}
    both = merged(posted(deliveries__0__gallons="6"), fewer)
    assert both.values["deliveries.1.gallons"] == "5"
    assert both.both == {"deliveries.1.at", "deliveries.1.gallons"}
    assert not both.taken


def test_choice_in_an_empty_row_is_no_row():
    opened = {"switch_moves.0.switch_id": "a", "switch_moves.0.position": "utility"}
    mine = {**opened, "switch_moves.1.switch_id": "", "switch_moves.1.position": "utility"}
    both = merged(mine | {"begun": begun_text(opened)}, opened | {"switch_moves.0.switch_id": "b"})
    assert both.values["switch_moves.0.switch_id"] == "b"


def test_behaviour_left_alone_takes_another_model_whole():
    opened = {"behaviour.model": "steady", "behaviour.share": "1"}
    theirs = {"behaviour.model": "cycling", "behaviour.on_min": "9"}
    mine = opened | {"name": "Fan", "begun": begun_text(opened | {"name": "Old"})}
    both = merged(mine, theirs | {"name": "Old"})
    kept = {name: text for name, text in both.values.items() if name.startswith("behaviour.")}
    assert kept == theirs
    mine = opened | {"behaviour.share": "0.5", "begun": begun_text(opened)}
    assert merged(mine, theirs).values["behaviour.share"] == "0.5"


def test_field_left_alone_takes_what_somebody_else_saved(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table = f"/sites/{stored.id}/circuits"
    path = f"{table}/b"
    opened = form_in(browser.get(path).text, path)
    browser.post(path, data=opened | {"own_battery_h": "7", "area": "Hall"})
    answer = browser.post(path, data=opened | {"name": "Scullery", "area": "Attic"})
    assert answer.status_code == 409
    assert '<a href="#f-area">Rooms it serves</a>: typed here' in answer.text
    assert "saved meanwhile: <b>Hall</b>" in answer.text
    assert '<a href="#f-own_battery_h">Battery of its device</a>: left alone here' in answer.text
    assert "taken over; before: <b>nothing</b>" in answer.text
    assert "#f-name" not in answer.text
    assert browser.post(path, data=form_in(answer.text, path)).status_code == 303
    saved = sites.get(stored.id).site.circuit("b")
    assert (saved.name, saved.own_battery_min, saved.area) == ("Scullery", 420, "Attic")


def test_form_that_nobody_else_changed_says_so(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table = f"/sites/{stored.id}/circuits"
    mine = form_in(browser.get(f"{table}/b").text, f"{table}/b") | {"name": "Scullery"}
    other = form_in(browser.get(f"{table}/a").text, f"{table}/a") | {"note": "Seen"}
    assert browser.post(f"{table}/a", data=other).status_code == 303
    answer = browser.post(f"{table}/b", data=mine)
    assert answer.status_code == 409
    assert "No field of this form was changed by it: save again." in answer.text


def test_form_that_does_not_say_what_it_began_with_keeps_all_of_its_fields(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table = f"/sites/{stored.id}/circuits"
    path = f"{table}/b"
    opened = form_in(browser.get(path).text, path)
    browser.post(path, data=opened | {"name": "Scullery"})
    answer = browser.post(path, data={**opened, "begun": ""})
    assert "saved meanwhile: <b>Scullery</b>" in answer.text
    assert form_in(answer.text, path)["name"] == opened["name"]
