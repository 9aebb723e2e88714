"""A breaker above what all of its panel may carry is not saved without a word."""

from __future__ import annotations

import pytest

from server.web.odd_rating import past_main
from tests.builders import double_throw_site
from tests.web.conftest import form_in

WORDS = "Look at its handle again: 1,000 A is more than the 200 A that all of Panel main may carry."


def test_a_new_circuit_with_such_a_breaker_is_saved_with_a_warning_at_its_field(browser, stored):
    path = f"/sites/{stored.id}/new-circuit"
    fields = form_in(browser.get(path).text, path)
    sent = fields | {"name": "Slip", "breaker_a": "1000", "panel_id": "main", "spaces": "15"}
    answer = browser.post(path, data=sent)
    assert answer.status_code == 303
    page = browser.get(answer.headers["location"]).text
    hint = page[page.index('id="h-breaker_a"') :].partition("</p>")[0]
    assert WORDS in hint
    assert page.count(WORDS) == 2  # said at the top of the page as well


def test_a_saved_one_says_so_on_the_page_that_follows(browser, stored):
    path = f"/sites/{stored.id}/circuits/a"
    fields = form_in(browser.get(path).text, path)
    answer = browser.post(path, data=fields | {"breaker_a": "1000"})
    assert answer.status_code == 303
    assert "Saved Circuit a. Look at its handle again" in (
        browser.get(answer.headers["location"]).text
    )


def test_a_row_of_the_table_says_so_too(browser, stored):
    path = f"/sites/{stored.id}/circuit-rows"
    sent = {"revision": str(stored.revision), "name": "Slip", "feeds": "", "panel_id": "main"}
    sent |= {"poles": "1", "spaces": "15", "breaker_a": "1000"}
    answer = browser.post(path, data=sent, headers={"Accept": "application/json"})
    assert WORDS in answer.json()["said"]


@pytest.mark.parametrize("text", ["20", "200", "", "large", "nan"])
def test_what_a_panel_may_carry_is_not_warned_of(text):
    assert past_main(double_throw_site(), "main", text) == ""
    assert past_main(double_throw_site(), "gone", "1000") == ""
