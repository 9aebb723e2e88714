"""What stands against a run that holds is said with its answer."""

from __future__ import annotations

import html
import re
from dataclasses import replace

import pytest

from server.domain.behaviour import Constant
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.chance import Chance
from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from server.simulate.odds_words import failing_clause
from server.simulate.run import cached_run, simulate
from server.web import against as module
from server.web.against import against, past_rating
from server.web.board_limits import outcome
from server.web.overview import verdict_of_run
from server.web.without import answer_words
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    interlock_site,
    with_parts,
)
from tests.rules.check_sites import of_kind

KILN = of_kind("kiln", "main", (9, 11), "kiln", load_w=9_000, breaker_a=60)


@pytest.fixture
def no_draws(monkeypatch):
    monkeypatch.setattr(module, "kept_odds", lambda site, scenario: None)


@pytest.fixture
def drawn(monkeypatch):
    """Draws of the day, three of four of them past a limit."""

    def kept(site, scenario):
        odds = odds_of(site, scenario, run_draws(site, scenario, draws=range(4)))
        return replace(odds, any_over=Chance(3, 4))

    monkeypatch.setattr(module, "kept_odds", kept)


def head(text: str) -> str:
    found = re.search(r"<h1>(.*?)</h1>", text, re.S)
    return html.unescape(re.sub(r"<[^>]+>", "", found[1])).replace("\N{NO-BREAK SPACE}", " ")


def blocked():
    """Both halves of a multiwire pair on one leg."""
    base = double_throw_site()
    pair = (
        circuit("one", "main", 15, load_w=50, multiwire_partner_id="two"),
        circuit("two", "main", 19, load_w=50, multiwire_partner_id="one"),
    )
    return with_parts(base, circuits=(*base.circuits, *pair))


@pytest.mark.usefixtures("no_draws")
def test_findings_that_block_stand_in_the_head_of_the_overview_and_of_the_run(browser, sites):
    stored = sites.create(blocked())
    text = browser.get(f"/sites/{stored.id}?scenario=out").text
    assert re.match(r"Holds in this run, but \d+ findings? blocks? it", head(text))
    assert "<b>Holds.</b>" not in text
    assert "#m-over" in text[: text.index("</h1>")].rpartition("<h1>")[2]
    days = browser.get(f"/sites/{stored.id}/elsewhere?scenario=out").text
    assert "stands on each of them too" in days
    title = re.search(r"<title>(.*?)</title>", text)[1]
    assert "holds in this run, but " in title
    run = browser.get(f"/sites/{stored.id}/scenarios/out").text
    word = re.search(r'id="runword"[^>]*>(.*?)</p>', run, re.S)[1]
    assert re.search(r"Holds in this run, but \d+ findings? blocks? it", word)


@pytest.mark.usefixtures("no_draws")
def test_what_the_code_forbids_of_a_set_stands_in_the_head(browser, sites):
    base = interlock_site()
    seldom = KILN.appliances[0].model_copy(update={"behaviour": Constant(share=0.01)})
    kiln = KILN.model_copy(update={"appliances": (seldom,)})
    stored = sites.create(with_parts(base, circuits=(*base.circuits, kiln)))
    said = head(browser.get(f"/sites/{stored.id}?scenario=day").text)
    assert "by the code Generator set may not be run with all that is set to stay on" in said
    assert said.startswith("Holds in this run, but ")


def test_parts_past_their_rating_are_named_or_counted():
    site = double_throw_site()
    run = cached_run(site, site.scenario("out"))
    assert past_rating(site) == ()
    one, many = (against(run, (), parts).clauses for parts in (("Barn",), tuple("abcd")))
    assert one[0] == "by the code Barn carries more than its rating"
    assert many[0] == "by the code 4 parts carry more than their rating"


@pytest.mark.usefixtures("no_draws")
def test_the_run_page_gives_the_answer_of_the_overview(browser, sites):
    stored = sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))
    day = stored.site.scenarios[0].id
    said = head(browser.get(f"/sites/{stored.id}?scenario={day}").text)
    assert "by the code" in said
    assert said.startswith(
        verdict_of_run(cached_run(stored.site, stored.site.scenario(day))).answer
    )
    run_page = re.sub(r"\s+", " ", browser.get(f"/sites/{stored.id}/scenarios/{day}").text)
    assert said.partition(".")[0] in run_page


@pytest.mark.usefixtures("drawn")
def test_draws_past_a_limit_stand_in_every_answer_of_the_day(browser, sites):
    stored = sites.create(double_throw_site())
    for path in ("?scenario=out", "/scenarios/out", "/scenarios", "/buses?scenario=out"):
        text = browser.get(f"/sites/{stored.id}{path}").text
        assert "a limit is passed in 3 of 4 draws" in text, path
        assert "Holds." not in text, path
    assert "#m-close" in browser.get(f"/sites/{stored.id}?scenario=out").text


@pytest.mark.usefixtures("no_draws")
def test_nothing_against_it_leaves_the_answer_as_it_is():
    run = cached_run(double_throw_site(), double_throw_site().scenario("out"))
    assert against(run, ()).clauses == ()
    assert verdict_of_run(run).answer == answer_words(run)
    assert " in this run" not in answer_words(run)


def test_a_clause_of_draws_names_what_fails_beside_a_limit():
    site = double_throw_site()
    day = site.scenario("out")
    odds = odds_of(site, day, run_draws(site, day, draws=range(8)))
    assert failing_clause(replace(odds, any_over=Chance(0, 8), service=())) == ""
    spilt = replace(odds.service[0], pit_over=Chance(2, 8))
    both = replace(odds, any_over=Chance(5, 8), service=(spilt,))
    assert failing_clause(both) == "a limit is passed in 5 of 8 draws and a pit runs over in 2"


def test_the_answer_before_a_change_keeps_its_condition():
    """80 A locked rotor at 240 V is 19 kVA, far past what a set of 5 kVA bears."""
    pump = appliance("pump", 300, volts=240, load_type="motor", locked_rotor_a=80)
    base = with_parts(
        backed_up_site(),
        generators=(generator(rated_kw=5.0, rated_kva=5.0),),
        circuits=(circuit("p", "backed", 5, 7, appliances=(pump,)),),
    )
    before = simulate(base, base.scenario("out"))
    assert outcome(before, before, "p").before.startswith("Holds, if the motors start")
