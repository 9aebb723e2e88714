from __future__ import annotations

import html
import re

import pytest
from fastapi.testclient import TestClient

from server.domain.scenario import Scenario
from server.domain.supply import FuelTank
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.house import read_minute
from server.web.limit_table import limit_groups, shared_limits, who_was_on
from server.web.new_site import empty_house
from server.web.overview import facts, overview_view
from server.web.without import answer_words
from tests.builders import (
    EVERY_SITE,
    START,
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    interlock_site,
    normal_only_site,
    scenario,
    service,
    with_parts,
)


def over_site() -> object:
    base = backed_up_site()
    heavy = circuit("e", "backed", 9, 11, load_w=30_000, breaker_a=150)
    return with_parts(base, circuits=(*base.circuits, heavy))


@pytest.mark.parametrize("name", EVERY_SITE)
def test_every_way_of_feeding_a_house_has_an_overview(
    name: str, browser: TestClient, sites: SiteStore
) -> None:
    stored = sites.create(EVERY_SITE[name]())
    for day in stored.site.scenarios:
        answer = browser.get(f"/sites/{stored.id}", params={"scenario": day.id})
        assert answer.status_code == 200
        run = cached_run(stored.site, day)
        assert run.verdict.sentence.partition(". ")[2] in answer.text.replace(
            "\N{NO-BREAK SPACE}", " "
        )
        assert "Simulation never replaces the demand calculation" in answer.text
        for row in shared_limits(run):
            assert f'id="limit-{row.point.id}"' in answer.text


def test_an_overloaded_generator_is_told_in_the_first_sentence_and_carries_its_caution(
    browser: TestClient, sites: SiteStore
) -> None:
    stored = sites.create(over_site())
    text = browser.get(f"/sites/{stored.id}", params={"scenario": "out"}).text
    assert "<b>Does not hold.</b>" in text
    assert "does not hold" in re.search(r"<title>(.*?)</title>", text)[1]
    assert "A tripped breaker is a message." in text
    assert 'class="over"' in text


def test_cautions_of_death_stand_on_the_page_of_any_site_with_a_generator(
    browser: TestClient, stored: StoredSite
) -> None:
    text = browser.get(f"/sites/{stored.id}").text
    for words in ("Planning aid only", "two-ended cord", "Exhaust kills", "Working CO alarms"):
        assert words in text


def test_a_minute_can_be_asked_for_and_nonsense_falls_back_to_the_worst(
    browser: TestClient, stored: StoredSite
) -> None:
    path = f"/sites/{stored.id}"
    asked = browser.get(path, params={"scenario": "out", "at": "2026-11-26T15:00"}).text
    assert "The house at Thu 26 Nov 15:00" in asked
    assert "a chosen minute" in asked
    assert "the worst minute" in browser.get(path, params={"at": "soon"}).text


def test_a_minute_outside_the_run_is_clipped_to_it() -> None:
    site = double_throw_site()
    run = cached_run(site, site.scenario("day"))
    assert read_minute("1999-01-01T00:00", run) == START
    assert read_minute("2999-01-01T00:00", run) == run.time_of(run.steps - 1)
    assert read_minute("2026-11-26T12:00+05:00", run) == START
    assert read_minute("noon", run) is None


def test_a_site_without_scenario_says_what_a_scenario_is(
    browser: TestClient, sites: SiteStore
) -> None:
    stored = sites.create(normal_only_site(scenarios=()))
    text = browser.get(f"/sites/{stored.id}").text
    assert "There is no scenario yet." in text
    assert "Choose a scenario" in text
    assert "Add a circuit" not in text


@pytest.mark.parametrize("sheet", ["", "/buses", "/spaces", "/demand", "/survey"])
def test_a_house_just_begun_is_led_to_its_first_circuit(
    browser: TestClient, sites: SiteStore, sheet: str
) -> None:
    stored = sites.create(empty_house("Fern Cottage"))
    text = browser.get(f"/sites/{stored.id}{sheet}").text
    first = re.findall(r'<a class="btn first" href="([^"]+)"', text)
    assert first == [f"/sites/{stored.id}/new-circuit"]


def test_an_unknown_scenario_is_a_plain_page(browser: TestClient, stored: StoredSite) -> None:
    assert browser.get(f"/sites/{stored.id}", params={"scenario": "no"}).status_code == 404


def test_blocking_findings_come_first(browser: TestClient, sites: SiteStore) -> None:
    base = double_throw_site(solar=True)
    on_set = base.solar[0].model_copy(update={"panel_id": "backed", "spaces": (18, 20)})
    stored = sites.create(with_parts(base, solar=(on_set,)))
    text = browser.get(f"/sites/{stored.id}").text
    words = re.findall(r"</svg>(blocking|warning|note)</span>", text)
    assert words[0] == "blocking"
    assert words == sorted(words, key=["blocking", "warning", "note"].index)


def test_who_was_on_sums_to_the_peak_of_the_limit() -> None:
    site = double_throw_site()
    run = cached_run(site, site.scenario("out"))
    for result in shared_limits(run):
        if result.point.kind == "feeder_neutral" or result.worst.peak_a == 0:
            continue
        who = who_was_on(run, result.point.id, run.step_of(result.legs[0].at))
        assert float(who.l1) == pytest.approx(result.legs[0].peak_a, abs=0.06), result.point.id


@pytest.mark.parametrize(("loads", "words"), [(8, "1 smaller row,"), (9, "2 smaller rows,")])
def test_rows_left_to_the_run_page_are_counted(
    browser: TestClient, sites: SiteStore, loads: int, words: str
) -> None:
    some = tuple(circuit(f"c{n}", "main", n, load_w=1400) for n in range(1, loads + 1))
    stored = sites.create(normal_only_site(circuits=some))
    page = browser.get(f"/sites/{stored.id}").text.replace("\N{NO-BREAK SPACE}", " ")
    assert f"{words} on the run page" in page


def test_every_shared_limit_is_in_one_group_once() -> None:
    for make in EVERY_SITE.values():
        site = make()
        run = cached_run(site, site.scenarios[-1])
        rows = [
            row.id
            for group in limit_groups(run)
            for row in (*group.rows, *group.looser)
            if not row.id.startswith("circuit_breaker")
        ]
        assert sorted(rows) == sorted(r.point.id for r in shared_limits(run))


def test_facts_tell_gap_hours_fuel_and_guesses() -> None:
    base = backed_up_site()
    medical = base.circuits[1].model_copy(update={"load_class": "must_serve"})
    site = with_parts(base, circuits=(base.circuits[0], medical, *base.circuits[2:]))
    outage: Scenario = site.scenario("out")
    run = cached_run(site, outage)
    facts = {f.name: f for f in overview_view("x", run, "").facts}
    hours = sum(s.run_h for s in run.sources)
    assert 3 < hours < 3.5
    assert facts["Longest time a must-serve circuit is dark"].note.startswith("Circuit b")
    assert facts["Generator runs"].figure == f"{hours:.1f}"
    assert facts["Propane used"].guess
    assert facts["Circuits with a guess"].figure == "4 of 4"


def test_the_tile_of_fuel_tells_the_reserve_to_a_tenth() -> None:
    tank = FuelTank(capacity_gal=10.0, fill_share=1.0, reserve_share=0.25)
    site = with_parts(backed_up_site(), generators=(generator(fuel="gasoline", tank=tank),))
    facts = {
        f.name: f for f in overview_view("x", cached_run(site, site.scenario("out")), "").facts
    }
    assert facts["Gasoline used"].note == "of 10 when full, 2.5 of it a reserve"


def test_the_slider_asks_for_a_step_and_the_house_says_who_feeds_whom(browser, sites) -> None:
    site = double_throw_site()
    stored = sites.create(site)
    run = cached_run(site, site.scenario("out"))
    page = browser.get(f"/sites/{stored.id}?scenario=out").text
    assert f'name="step_at" min="0" max="{run.steps - 1}"' in page
    hatched = {}
    for step, backed, normal in (
        (10, "fed by Service grid", "fed by Service grid"),
        (200, "fed by Generator set since Thu 14:00", "dead since Thu 14:00"),
    ):
        part = browser.get(f"/sites/{stored.id}/house?scenario=out&step_at={step}").text
        assert part.lstrip().startswith('<div id="house"')
        assert "<html" not in part
        feeds = dict(re.findall(r"</svg><b>([^<]*)</b> ([^<]*)</li>", part))
        assert feeds["Backed-up"].startswith(backed)
        assert feeds["Normal"].startswith(normal)
        hatched[step] = part.count('class="ol-hatch"')
        whole = browser.get(f"/sites/{stored.id}?scenario=out&step_at={step}").text
        assert part.strip() in whole
    assert hatched[200] > hatched[10]


def test_a_step_past_the_end_is_the_last_and_nonsense_is_the_worst(browser, sites) -> None:
    stored = sites.create(double_throw_site())
    last = browser.get(f"/sites/{stored.id}/house?scenario=out&step_at=99999").text
    assert "The house at Thu 26 Nov 17:59" in last
    worst = browser.get(f"/sites/{stored.id}/house?scenario=out&step_at=soon").text
    assert "the worst minute" in worst
    empty = sites.create(double_throw_site(scenarios=()))
    assert browser.get(f"/sites/{empty.id}/house").status_code == 404


def test_a_house_of_one_panel_is_not_told_to_move_a_circuit(browser, sites) -> None:
    site = interlock_site(services=(service(main_a=5),))
    stored = sites.create(site)
    page = browser.get(f"/sites/{stored.id}").text
    assert "Does not hold" in page
    assert "Move a circuit" not in page
    assert "Choose what runs in an outage" in page
    relief = browser.get(f"/sites/{stored.id}/scenarios/{site.scenarios[0].id}/relief").text
    assert "Moving a circuit" not in relief


def test_the_overview_says_what_the_other_days_say(browser: TestClient, sites: SiteStore) -> None:
    """The first scenario stands there unasked: one that fails beside it is told there too."""
    base = backed_up_site()
    needed = base.circuit("a").model_copy(update={"load_class": "must_serve"})
    circuits = tuple(needed if c.id == "a" else c for c in base.circuits)
    days = (
        scenario(id="calm", name="A calm day"),
        scenario(id="mild", name="A mild day"),
        scenario("dark", name="A dark day", span_h=8, outage_h=(1, 4), generator="fails"),
    )
    stored = sites.create(with_parts(base, circuits=circuits, scenarios=days))
    page = html.unescape(browser.get(f"/sites/{stored.id}").text)
    part = page[page.index('id="elsewhere"') :].partition("</section>")[0]
    assert "A calm day" not in part
    assert part.count("not run yet") == 2
    address = re.search(r'hx-get="([^"]+)"', part)
    assert address is not None
    told = html.unescape(browser.get(address[1]).text)
    assert answer_words(cached_run(stored.site, days[2])) in told
    assert f'href="/sites/{stored.id}?scenario=dark"' in told
    assert "hx-get" not in told
    assert told.index("A dark day") < told.index("A mild day"), "what fails is first"
    again = html.unescape(browser.get(f"/sites/{stored.id}").text)
    part = again[again.index('id="elsewhere"') :].partition("</section>")[0]
    assert "not run yet" not in part
    assert "hx-get" not in part


def test_one_scenario_has_no_other_days(browser: TestClient, sites: SiteStore) -> None:
    base = backed_up_site()
    stored = sites.create(with_parts(base, scenarios=base.scenarios[:1]))
    assert 'id="elsewhere"' not in browser.get(f"/sites/{stored.id}").text
    empty = browser.get(f"/sites/{stored.id}/elsewhere")
    assert empty.status_code == 200
    assert empty.text == ""


def test_natural_gas_is_told_as_a_bill_has_it_too():
    site = backed_up_site()
    (piped,) = (g.model_copy(update={"fuel": "natural_gas", "tank": None}) for g in site.generators)
    run = cached_run(with_parts(site, generators=(piped,)), site.scenarios[-1])
    fact = next(f for f in facts(run) if f.name == "Natural gas used")
    (source,) = (s for s in run.sources if s.kind == "generator")
    assert source.fuel_used is not None
    assert fact.unit == "kBtu"
    assert fact.note.startswith(f"{source.fuel_used.value / 100:.1f} therms as a bill has it")
