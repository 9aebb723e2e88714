"""Two runs side by side: every difference is the difference of the two runs."""

from __future__ import annotations

import html
from datetime import timedelta

import pytest

from server.domain.behaviour import RoomUnit, Zone
from server.domain.edits import put_scenario
from server.simulate.run import cached_run
from server.web.compare import comparison
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    normal_only_site,
    scenario,
)


def url_of(stored, **asked: str) -> str:
    query = "&".join(f"{k}={v}" for k, v in asked.items())
    return f"/sites/{stored.id}/compare?{query}"


def test_the_page_shows_both_verdicts_and_links_to_the_minutes(browser, stored):
    page = html.unescape(browser.get(url_of(stored, first="day", second="out")).text)
    for scenario_id in ("day", "out"):
        run = cached_run(stored.site, stored.site.scenario(scenario_id))
        assert run.verdict.sentence.partition(". ")[2] in page.replace("\N{NO-BREAK SPACE}", " ")
        assert f"/scenarios/{scenario_id}?at=" in page
    assert page.count('<svg class="wide"') == 2


def test_differences_are_those_of_the_two_runs():
    site = double_throw_site()
    one, two = (cached_run(site, site.scenario(i)) for i in ("day", "out"))
    view = comparison(one, two, "")
    assert view.limits
    for row in view.limits:
        was = one.limit(row.point_id).worst.peak_a
        now = two.limit(row.point_id).worst.peak_a
        assert row.first.startswith(f"{was:.1f} A")
        assert row.second.startswith(f"{now:.1f} A")
        assert float(row.gap.replace("−", "-").replace("same", "0")) == round(now - was, 1)
    assert len(view.limits) + view.same == len(one.limits)
    ran = next(r for r in view.sources if r.name.endswith(" ran"))
    assert (ran.first, ran.gap) == ("0.0 h", f"+{ran.second}")
    dark = {r.name for r in view.without}
    assert "Circuit a" in dark
    assert {r.name for r in view.inputs} >= {"Utility", "Utility out in all"}


def test_natural_gas_stands_in_therms_too():
    site = double_throw_site()
    gas = site.generators[0].model_copy(update={"fuel": "natural_gas", "tank": None})
    site = site.model_copy(update={"generators": (gas,)})
    one, two = (cached_run(site, site.scenario(i)) for i in ("day", "out"))
    burnt = next(r for r in comparison(one, two, "").sources if r.name.endswith("fuel about"))
    kbtu, therms = (part.split()[0].replace(",", "") for part in burnt.second.split(", "))
    assert float(therms) == round(float(kbtu) / 100, 1) > 0
    assert burnt.gap.endswith("kBtu")


def test_a_limit_passed_in_one_alone_is_named(browser, sites):
    site = double_throw_site()
    longer = site.scenario("out").model_copy(
        update={
            "id": "all",
            "name": "All day",
            "outages": (
                site.scenario("out")
                .outages[0]
                .model_copy(update={"end": site.scenario("out").end - timedelta(minutes=30)}),
            ),
        }
    )
    stored = sites.create(put_scenario(site, longer))
    page = browser.get(url_of(stored, first="out", second="all")).text
    assert "What was asked differently" in page
    same = browser.get(url_of(stored, first="out", second="out")).text
    assert "Both are the same run." in same


def test_a_bus_can_be_chosen_and_an_unknown_one_is_no_fault(browser, stored):
    page = browser.get(url_of(stored, first="day", second="out", bus="throw")).text
    assert '<option value="throw" selected' in page
    assert browser.get(url_of(stored, bus="nowhere")).status_code == 200
    assert browser.get(url_of(stored, first="nothing")).status_code == 404


def test_without_scenarios_the_page_teaches(browser, sites):
    stored = sites.create(normal_only_site(scenarios=()))
    page = browser.get(url_of(stored)).text
    assert "There is no scenario yet" in page
    assert f"/sites/{stored.id}/scenarios/new" in page


def test_two_begins_are_told_and_harms_are_compared_by_their_hours():
    """A room at 68 °F in 40 °F with 25 h passes 55 °F after 25 ln(28 / 15) = 15.6 h, in both."""
    house = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=25)
    heat = appliance("heat", 12_000, volts=240, behaviour=RoomUnit(zone_id="house", mode="heat"))
    own = circuit("heat", "main", 1, 3, breaker_a=60, appliances=(heat,), load_class="important")
    days = (
        scenario("all", span_h=30, outage_h=(1, 25), generator="absent"),
        scenario("inside", span_h=6, outage_h=(-20, 4), generator="absent"),
    )
    site = backed_up_site(circuits=(own,), zones=(house,), scenarios=days)
    view = comparison(*(cached_run(site, day) for day in days), "")
    assert "Scenario inside begins Thu 26 Nov 12:00, 20 h into an outage" in view.begun
    (cold,) = (row for row in view.harms if "below 55" in row.name)
    hours = [
        float(words.partition("begin, ")[2].partition(" h")[0] or words.partition(" h")[0])
        for words in (cold.first, cold.second)
    ]
    assert hours == pytest.approx([15.6, 15.6], abs=0.9)
    assert cold.second.startswith("before its begin, ")
    alike = comparison(*(cached_run(site, days[0]) for _ in days), "")
    assert alike.begun == ""


def test_it_opens_on_the_day_that_was_worked_on(browser, sites):
    site = backed_up_site()
    stored = sites.create(site)
    days = [one.id for one in site.scenarios]
    browser.get(f"/sites/{stored.id}?scenario={days[-1]}")
    page = browser.get(f"/sites/{stored.id}/compare").text
    picked = page[page.index('id="pick-first"') :].partition("</select>")[0]
    assert f'<option value="{days[-1]}" selected>' in picked
    second = page[page.index('id="pick-second"') :].partition("</select>")[0]
    assert f'<option value="{days[0]}" selected>' in second
