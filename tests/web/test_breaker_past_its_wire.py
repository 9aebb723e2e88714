"""A breaker too large for its wire is told of at once, wherever a circuit is entered."""

from __future__ import annotations

import html

from server.web.odd_rating import past_wire
from tests.builders import circuit, double_throw_site, with_parts
from tests.web.conftest import form_in

WORDS = "has a 30 A breaker on 14 copper wire; 15 A is the most that protects it"


def test_a_row_of_the_table_says_so_as_it_is_saved(browser, stored):
    path = f"/sites/{stored.id}/circuit-rows"
    sent = {"revision": str(stored.revision), "name": "Slip", "feeds": "", "panel_id": "main"}
    sent |= {"poles": "1", "spaces": "15", "breaker_a": "30", "wire_size": "14"}
    answer = browser.post(path, data=sent, headers={"Accept": "application/json"})
    assert f"Slip {WORDS}" in answer.json()["said"]
    sent |= {"revision": str(stored.revision + 1), "name": "Right", "breaker_a": "15"}
    sent |= {"spaces": "17"}
    answer = browser.post(path, data=sent, headers={"Accept": "application/json"})
    assert "wire" not in answer.json()["said"]


def test_a_row_of_a_spreadsheet_says_so_before_it_is_taken_in(browser, stored):
    path = f"/sites/{stored.id}/paste-circuits"
    block = "Circuit\tBreaker\tWire\nSlip\t30\t14\nRight\t15\t14"
    page = html.unescape(browser.post(path, data={"block": block}).text)
    assert page.count(WORDS) == 1
    assert f"Slip {WORDS}" in page


def test_the_form_of_a_circuit_says_so_at_its_wire(browser, stored):
    path = f"/sites/{stored.id}/circuits/a"
    fields = form_in(browser.get(path).text, path)
    answer = browser.post(path, data=fields | {"breaker_a": "30", "wire_size": "14"})
    assert answer.status_code == 303
    assert WORDS in browser.get(answer.headers["location"]).text
    page = browser.get(path).text
    assert WORDS in page[page.index('id="h-wire_size"') :].partition("</p>")[0]


def test_what_its_wire_bears_is_not_warned_of():
    site = double_throw_site()
    for breaker_a, size in ((15, "14"), (30, "10"), (30, None)):
        one = circuit("x", "main", 15, breaker_a=breaker_a, wire_size=size, load_w=100)
        assert past_wire(with_parts(site, circuits=(*site.circuits, one)), one) == ""
    assert past_wire(site, None) == ""
