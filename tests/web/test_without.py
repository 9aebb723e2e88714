from __future__ import annotations

import re
from html import unescape

import pytest
from fastapi.testclient import TestClient

from server.simulate.run import cached_run
from server.store.sites import SiteStore
from server.web.without import answer_words, goes_without
from tests.builders import (
    EVERY_SITE,
    appliance,
    backed_up_site,
    circuit,
    handle_set_site,
    with_parts,
)


def test_circuits_on_a_dead_bus_are_named_with_the_time_they_asked():
    site = backed_up_site()
    found = goes_without(cached_run(site, site.scenario("out")))
    assert [bus.name for bus in found.buses] == ["Normal"]
    assert found.buses[0].sentence == "Normal: Circuit a (3 h)."
    assert found.head == "1 circuit asks for power and gets none, up to 3 h in all."


def test_circuits_that_only_wait_for_a_start_are_counted_apart_from_those_that_stay_dark():
    """Started by hand, the set leaves its own circuits dark for the first minutes only."""
    base = backed_up_site()
    sets = tuple(g.model_copy(update={"start": "by_hand"}) for g in base.generators)
    site = with_parts(base, generators=sets)
    found = goes_without(cached_run(site, site.scenario("out")))
    waiting = {c.circuit_id for bus in found.buses for c in bus.circuits} - {"a"}
    assert waiting
    assert found.head == (
        f"{len(waiting) + 1} circuits ask for power and get none at times, up to 3 h in all; 1 of "
        "them has none as long as the utility is out."
    )


def test_a_medical_device_is_named_before_what_asked_longer():
    base = backed_up_site()
    device = appliance("breather", 300, kind="oxygen-concentrator")
    bed = circuit("bed", "main", 9, appliances=(device,))
    site = with_parts(base, circuits=(*base.circuits, bed))
    (normal, *_) = goes_without(cached_run(site, site.scenario("out"))).buses
    assert normal.sentence.startswith("Normal: Circuit bed")


def test_answer_says_when_it_fits_only_because_something_waits():
    site = backed_up_site()
    assert cached_run(site, site.scenario("out")).verdict.fits
    assert (
        answer_words(cached_run(site, site.scenario("out")))
        == "Holds, but some circuits get no power."
    )
    assert answer_words(cached_run(site, site.scenario("day"))) == "Holds."


def test_answer_of_what_does_not_fit_stays_as_it_is():
    base = backed_up_site()
    heavy = circuit("e", "backed", 9, 11, load_w=30_000, breaker_a=150)
    site = with_parts(base, circuits=(*base.circuits, heavy))
    assert answer_words(cached_run(site, site.scenario("out"))) == "Does not hold."


@pytest.mark.parametrize("name", EVERY_SITE)
def test_every_circuit_that_asked_in_vain_is_counted_once(name: str):
    site = EVERY_SITE[name]()
    for scenario in site.scenarios:
        run = cached_run(site, scenario)
        told = [c.circuit_id for bus in goes_without(run).buses for c in bus.circuits]
        assert sorted(told) == sorted(s.circuit_id for s in run.service if s.unserved_min >= 1)


def test_circuits_on_handles_are_told_under_their_set():
    site = handle_set_site()
    names = {b.name for b in goes_without(cached_run(site, site.scenario("out"))).buses}
    assert not any(name.startswith("Handle,") for name in names)


def test_what_is_taken_as_off_is_named_in_an_outage_and_only_there():
    base = backed_up_site()
    off = circuit("e", "backed", 9, 11, load_w=3_000).model_copy(update={"outage_role": "off"})
    hand = circuit("f", "backed", 10, 12, load_w=2_000).model_copy(
        update={"outage_role": "by_hand"}
    )
    site = with_parts(base, circuits=(*base.circuits, off, hand))
    assert goes_without(cached_run(site, site.scenario("out"))).presumed == (
        "Circuit e is taken as switched off while the generator runs.",
        "Circuit f is taken as switched on by hand, at set hours only.",
    )
    assert goes_without(cached_run(site, site.scenario("day"))).presumed == ()
    dead = site.scenario("out").model_copy(update={"generator": "fails"})
    assert goes_without(cached_run(site, dead)).presumed == ()


def test_the_overview_says_what_is_taken_as_off_and_where_to_change_it(
    browser: TestClient, sites: SiteStore
):
    fields = {"way": "portable", "have.range-oven": "on", "have.dryer": "on", "generator_kw": "5"}
    place = browser.post("/start", data=fields).headers["location"]
    page = unescape(browser.get(place).text)
    assert "Electric range and Clothes dryer are taken as switched off while the generator" in page
    (link,) = re.findall(r'<a href="([^"]+)">Change what is off in an outage</a>', page)
    board = browser.get(link)
    assert board.status_code == 200
    assert '<select name="role">' in board.text
