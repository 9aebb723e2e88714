"""Beside the board: what the other scenarios say of the assignment that stands there."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest

from server.domain.scenario import Window
from server.simulate.run import simulate
from server.web.without import answer_words
from tests.builders import START, backed_up_site, scenario, with_parts

OUT = Window(start=START + timedelta(hours=1), end=START + timedelta(hours=4))


@pytest.fixture
def two_days(sites):
    """A house that holds on one day and, kept dark, fails on the other."""
    base = backed_up_site()
    needed = base.circuit("a").model_copy(update={"load_class": "must_serve"})
    days = (
        scenario(id="calm", name="A calm day"),
        scenario(id="dark", name="A dark day", outages=(OUT,), generator="fails"),
    )
    circuits = tuple(needed if c.id == "a" else c for c in base.circuits)
    return sites.create(with_parts(base, circuits=circuits, scenarios=days))


def test_the_board_names_the_other_days_and_asks_for_them(browser, two_days):
    page = html.unescape(browser.get(f"/sites/{two_days.id}/buses?scenario=calm").text)
    part = page[page.index('id="elsewhere"') :]
    part = part[: part.index("</section>")]
    assert "A dark day" in part
    assert "A calm day" not in part
    assert "not run yet" in part
    address = re.search(r'hx-get="([^"]+)"', part)
    assert address is not None
    told = html.unescape(browser.get(address[1]).text)
    run = simulate(two_days.site, two_days.site.scenarios[1])
    assert not run.verdict.fits
    assert answer_words(run) in told
    assert "#m-over" in told
    assert "hx-get" not in told


def test_what_is_tried_is_what_the_other_days_are_run_with(browser, two_days):
    other = next(p.id for p in two_days.site.panels if p.id != two_days.site.circuit("a").panel_id)
    trial = {"scenario": "calm", "try": f"on,a~panel:{other}"}
    text = browser.get(f"/sites/{two_days.id}/buses", params=trial).text
    part = html.unescape(text[text.index('id="elsewhere"') :])
    assert f"a%7Epanel%3A{other}" in part[: part.index("</section>")].replace("~", "%7E")


def test_one_scenario_has_no_other(browser, stored):
    one = len(stored.site.scenarios) == 1
    page = browser.get(f"/sites/{stored.id}/buses").text
    assert ('id="elsewhere"' not in page) == one
