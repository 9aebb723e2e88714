"""What the board says of a change that its run cannot show."""

from __future__ import annotations

import html
from datetime import timedelta

from server.domain.catalogue import KINDS
from server.domain.scenario import ApplianceEvent
from server.rules.check import check_site
from server.simulate.run import simulate
from server.web.board_beyond import newly_past, unshown_words
from server.web.board_edits import give_role, move_to
from tests.builders import START, backed_up_site, circuit, generator, scenario, with_parts

SPAN_H = 8


def house(*, plugged_after_h: float):
    """A car charger on normal that is plugged in once on a day with an outage from 13 to 16."""
    base = backed_up_site(generators=(generator(rated_kw=10),))
    car = KINDS["car-charger-32"].appliance("car")
    plugged = ApplianceEvent(appliance_id="car", at=START + timedelta(hours=plugged_after_h))
    day = scenario("out", span_h=SPAN_H, outage_h=(1, 4), events=(plugged,))
    charger = circuit("charger", "main", 9, 11, appliances=(car,), breaker_a=40)
    return with_parts(base, circuits=(*base.circuits, charger), scenarios=(day,))


def words_of(site) -> str:
    moved = move_to(site, "charger", "panel:backed").site
    return unshown_words(simulate(moved, moved.scenario("out")), ("charger",))


def test_a_start_in_the_last_minute_of_a_run_shows_nothing_of_its_circuit():
    assert words_of(house(plugged_after_h=SPAN_H)) == (
        "Circuit charger asks for no power on this day, so it shows nothing of it: look at the "
        "other days too."
    )


def test_what_starts_as_the_power_returns_does_not_show_whether_the_set_carries_it():
    assert words_of(house(plugged_after_h=4)) == (
        "Circuit charger asks for no power while the utility is out on this day, so it does not "
        "show whether the generator carries it."
    )


def test_what_asks_in_the_outage_is_shown_and_what_no_set_feeds_is_not_looked_for():
    assert words_of(house(plugged_after_h=2)) == ""
    site = house(plugged_after_h=4)
    day = site.scenario("out")
    assert unshown_words(simulate(site, day), ("charger", "gone")) == ""
    moved = move_to(site, "charger", "panel:backed").site
    off = give_role(moved, "charger", "off").site
    assert unshown_words(simulate(off, day), ("charger",)) == ""


def test_what_a_move_takes_past_its_rating_is_what_findings_then_say():
    site = house(plugged_after_h=4)
    moved = move_to(site, "charger", "panel:backed").site
    over = {
        f.element_id
        for f in check_site(moved, edition=moved.code_edition).findings
        if f.code == "demand-above-rating"
    }
    past = newly_past(site, moved)
    assert over
    assert {words.partition(", ")[0] for words in past} == {moved.name_of[e] for e in over}
    assert newly_past(moved, moved) == ()
    assert newly_past(moved, site) == ()


def test_the_board_and_its_preview_say_both(browser, sites):
    stored = sites.create(house(plugged_after_h=SPAN_H))
    query = "scenario=out&circuit=charger&to=panel:backed"
    preview = html.unescape(browser.get(f"/sites/{stored.id}/buses/preview?{query}").text)
    tried = "scenario=out&try=on,charger~panel:backed"
    board = html.unescape(browser.get(f"/sites/{stored.id}/buses?{tried}").text)
    for text in (preview, board):
        assert "asks for no power on this day" in text
        assert "Over by the code calculation:" in text
        assert "Generator set, " in text
        assert f'href="/sites/{stored.id}/demand"' in text
    assert "No limit in amps got worse in this run." in board
